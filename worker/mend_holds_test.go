package worker

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

// mendingTally is what many mendings came to.
type mendingTally struct {
	scores, before, left, edits               int
	newFaults, newConsecutives, wrongAccident int
}

func (m *mendingTally) String() string {
	return fmt.Sprintf("%d scores, %d faults before, %d left, %d notes changed; new faults %d, new consecutives %d, wrong accidentals %d",
		m.scores, m.before, m.left, m.edits, m.newFaults, m.newConsecutives, m.wrongAccident)
}

// add mends a score and judges the written result from scratch: it is read and
// checked as if it had just come in, its bars are read note by note, and its
// consecutives are looked for by the definition alone.
func (m *mendingTally) add(t *testing.T, name string, data []byte, set *partwriting.RuleSet) {
	t.Helper()
	english, _ := partwriting.CatalogFor("en")
	plan := &request.MendPlan{Law: request.Law{RuleSet: set}, Catalog: english, Severity: partwriting.Fault, Alternatives: 1}
	result, err := (&Engine{}).mend(t.Context(), Input{Name: name, Data: data}, plan)
	if err != nil {
		t.Fatal(err)
	}
	said := result.Report.(*report.Mending)
	before, after := checkAfresh(t, name, data, set), checkAfresh(t, name, scoreOf(result, answer.Mended), set)
	m.scores++
	m.before += len(before.faults)
	m.edits += len(said.Edits)
	m.left += len(after.faults)
	if said.After != len(after.faults) {
		t.Errorf("%s: the report says %d faults are left, a fresh check finds %d", name, said.After, len(after.faults))
	}
	for f := range after.faults {
		if !before.faults[f] {
			m.newFaults++
			t.Errorf("%s: %s is new", name, f)
		}
	}
	for c := range after.consecutives {
		if !before.consecutives[c] {
			m.newConsecutives++
			t.Errorf("%s: consecutives %s are new", name, c)
		}
	}
	for w := range after.misread {
		if !before.misread[w] {
			m.wrongAccident++
			t.Errorf("%s: %s reads otherwise than it sounds", name, w)
		}
	}
}

// afresh is what a written score holds.
type afresh struct{ faults, consecutives, misread map[string]bool }

func checkAfresh(t *testing.T, name string, data []byte, set *partwriting.RuleSet) afresh {
	t.Helper()
	r, err := (&Engine{}).read(t.Context(), &Input{Name: name, Data: data}, harmonyWish{})
	if err != nil {
		t.Fatal(err)
	}
	a := afresh{map[string]bool{}, consecutivesOf(r.texture), misreadNotes(t, data)}
	for _, f := range partwriting.Check(r.texture, r.harmony, set) {
		if f.Severity == partwriting.Fault {
			a.faults[fmt.Sprint(f.Rule, " at ", f.Onset, f.Voices)] = true
		}
	}
	return a
}

// consecutivesOf looks at each pair of voices at each two neighboring moments for two
// fifths, octaves or unisons in a row, whatever ends between them.
func consecutivesOf(t *theory.Texture) map[string]bool {
	out := map[string]bool{}
	for m := 1; m < len(t.Moments); m++ {
		for u := range t.Voices {
			for l := u + 1; l < len(t.Voices); l++ {
				a, b, c, d := t.Sounding(m-1, u), t.Sounding(m, u), t.Sounding(m-1, l), t.Sounding(m, l)
				if a == nil || b == nil || c == nil || d == nil || !t.IsStruck(m, u) || !t.IsStruck(m, l) ||
					a.Pitch.Semitones() == b.Pitch.Semitones() || c.Pitch.Semitones() == d.Pitch.Semitones() {
					continue
				}
				was, is := simple(c.Pitch, a.Pitch), simple(d.Pitch, b.Pitch)
				same := a.Pitch.Class() == b.Pitch.Class() && c.Pitch.Class() == d.Pitch.Class()
				if was == is && (is == 0 || is == 7) && !same {
					out[fmt.Sprintf("%d in voices %d and %d at %v", is, u, l, t.Moments[m].Onset)] = true
				}
			}
		}
	}
	return out
}

// simple is the size of a perfect interval within the octave, 0 or 7 semitones, -1
// for any other.
func simple(low, high theory.Pitch) int {
	steps, semitones := (high.Diatonic()-low.Diatonic())%7, (high.Semitones()-low.Semitones())%12
	if steps == 0 && semitones == 0 || steps == 4 && semitones == 7 {
		return semitones
	}
	return -1
}

// misreadNotes reads the bars of a document by themselves: a sign holds for its line
// or space in its staff until the bar line (W3C MusicXML 4.0, accidental; Butterfield,
// Integrated Music Theory, unit 1).
func misreadNotes(t *testing.T, data []byte) map[string]bool {
	t.Helper()
	var score struct {
		Parts []struct {
			ID       string `xml:"id,attr"`
			Measures []struct {
				Number  string      `xml:"number,attr"`
				Content []barObject `xml:",any"`
			} `xml:"measure"`
		} `xml:"part"`
	}
	if err := xml.Unmarshal(scoreText(t, data), &score); err != nil {
		t.Fatal(err)
	}
	out := map[string]bool{}
	for _, part := range score.Parts {
		fifths := 0
		for _, measure := range part.Measures {
			now, last := 0, 0
			var notes []barNote
			for _, o := range measure.Content {
				switch o.XMLName.Local {
				case "attributes":
					if o.Fifths != nil {
						fifths = *o.Fifths
					}
				case "backup":
					now -= o.Duration
				case "forward":
					now += o.Duration
				case "note":
					if o.Chord == nil {
						last = now
						now += o.Duration
					}
					if o.Step != "" {
						notes = append(notes, barNote{o, last})
					}
				}
			}
			slices.SortStableFunc(notes, func(a, b barNote) int { return a.at - b.at })
			for _, wrong := range readBar(notes, fifths) {
				out["part "+part.ID+" measure "+measure.Number+" "+wrong] = true
			}
		}
	}
	return out
}

type barNote struct {
	barObject
	at int
}

type barObject struct {
	XMLName  xml.Name
	Fifths   *int      `xml:"key>fifths"`
	Duration int       `xml:"duration"`
	Chord    *struct{} `xml:"chord"`
	Step     string    `xml:"pitch>step"`
	Alter    int       `xml:"pitch>alter"`
	Octave   int       `xml:"pitch>octave"`
	Staff    string    `xml:"staff"`
	Sign     string    `xml:"accidental"`
	Ties     []struct {
		Type string `xml:"type,attr"`
	} `xml:"tie"`
}

func readBar(notes []barNote, fifths int) (wrong []string) {
	said := map[string]int{}
	alters := map[string]int{"flat-flat": -2, "flat": -1, "natural": 0, "sharp": 1, "double-sharp": 2}
	for _, n := range notes {
		place := n.Staff + n.Step + strconv.Itoa(n.Octave)
		reads, ok := said[place]
		if !ok {
			if i := strings.Index("FCGDAEB", n.Step); fifths > i {
				reads = 1
			} else if fifths < i-6 {
				reads = -1
			}
		}
		if n.Sign != "" {
			reads = alters[n.Sign]
		}
		if n.at == 0 && len(n.Ties) > 0 && n.Ties[0].Type == "stop" {
			continue
		}
		if reads != n.Alter {
			wrong = append(wrong, fmt.Sprintf("%s at %d", place, n.at))
		}
		said[place] = reads
	}
	return wrong
}

// scoreText is the score of a document, unpacked if it is a container.
func scoreText(t *testing.T, data []byte) []byte {
	t.Helper()
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return data
	}
	for _, f := range archive.File {
		if strings.HasPrefix(f.Name, "META-INF") || f.Name == "mimetype" {
			continue
		}
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	t.Fatal("there is no score in the container")
	return nil
}

// exercisePhrases are what the faulty exercises are made of.
var exercisePhrases = []string{
	"C: I V6 I IV V7 I", "G: I vi ii6 V I || I IV I6 V7 I", "d: i iv V7 VI iiø65 V i", "a: i V65 i iv6 V || V43 i iv V7 i",
	"F: I IV viio6 I6 ii65 V7 I", "Bb: I V43 I6 IV V7/V V7 I", "e: i VI iiø65 V7 i || i V6 i V", "A: I iii vi ii V7 I",
	"Eb: I vi IV V42 I6 V7 I", "g: i N6 V7 i || iv V i",
}

// spoiled is an exercise of its own with wrong notes: a phrase is voiced, then some
// notes are moved to another note of the chord, an octave, a step or a semitone away.
func spoiled(t *testing.T, random *rand.Rand, style string) []byte {
	t.Helper()
	data, _ := spoiledBy(t, random, style)
	return data
}

// spoiledBy is [spoiled] with the number of notes that were made wrong.
func spoiledBy(t *testing.T, random *rand.Rand, style string) ([]byte, int) {
	t.Helper()
	pairs := []string{"progression", exercisePhrases[random.IntN(len(exercisePhrases))], "style", style}
	if random.IntN(2) == 0 {
		pairs = append(pairs, "annotate", "none")
	}
	voiced, err := do(Input{}, &request.Voice{}, pairs...)
	if err != nil {
		return spoiledBy(t, random, style) // not every chord stands in every style
	}
	doc, err := musicxml.Read("exercise.musicxml", scoreOf(voiced, answer.Voiced), musicxml.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	pitches := map[theory.NoteID]theory.Pitch{}
	for len(pitches) < 1+random.IntN(4) {
		id := theory.NoteID(random.IntN(len(doc.Score.Notes)))
		n := &doc.Score.Notes[id]
		if !n.Sounds() || n.Flags.Any(theory.TieStart|theory.TieStop) {
			continue
		}
		other := doc.Score.Notes[random.IntN(len(doc.Score.Notes))]
		switch random.IntN(4) {
		case 0:
			pitches[id] = n.Pitch.Transpose(theory.PerfectOctave.Invert())
		case 1:
			pitches[id] = n.Pitch.Transpose(theory.MajorSecond)
		default:
			if other.Onset == n.Onset && other.Sounds() {
				p := other.Pitch
				p.Octave = n.Pitch.Octave
				pitches[id] = p
			}
		}
	}
	out, err := doc.Repitch(pitches)
	if err != nil {
		t.Fatal(err)
	}
	return out, len(pitches)
}

// TestMendingHolds mends faulty exercises of our own in three textures. None of the
// results has a fault that was not there, nor new consecutives, nor a note that reads
// otherwise than it sounds.
func TestMendingHolds(t *testing.T) {
	random := rand.New(rand.NewPCG(101, 7))
	for _, style := range []string{"chorale", "keyboard", "three-voices"} {
		tally := &mendingTally{}
		set := partwriting.RuleSetByName(map[string]string{"keyboard": "keyboard"}[style])
		for i := range *mendedExercises {
			tally.add(t, fmt.Sprintf("%s-%d.musicxml", style, i), spoiled(t, random, style), set)
		}
		t.Logf("%s: %v", style, tally)
		if tally.left*5 > tally.before {
			t.Errorf("%s: %d of %d faults are left", style, tally.left, tally.before)
		}
	}
}

// mendedExercises is how many exercises are mended in each texture, mutantsMended that
// every so many mutants are: more of both takes minutes.
var (
	mendedExercises = flag.Int("mended-exercises", 12, "how many exercises of each texture are mended")
	mutantsMended   = flag.Int("mutants-every", 10, "mend every so many mutants")
)

// TestMendingOfMutantsHolds does the same with chorales into which a fault was put.
func TestMendingOfMutantsHolds(t *testing.T) {
	folder := measuringData(t, "mutants")
	files, _ := filepath.Glob(filepath.Join(folder, "*.mxl"))
	tally := &mendingTally{}
	for i, file := range files {
		if i%*mutantsMended != 0 {
			continue
		}
		data, err := os.ReadFile(file) // #nosec G304 -- a file of the measuring data
		if err != nil {
			t.Fatal(err)
		}
		tally.add(t, filepath.Base(file), data, nil)
	}
	t.Log(tally)
}
