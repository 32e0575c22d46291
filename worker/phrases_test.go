package worker

import (
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
	"partwright/theory/voicing"
	"partwright/worker/settings"
)

var (
	phrasesVoiced = flag.Int("phrases", 25, "how many random phrases are voiced in each texture")
	phrasesProved = flag.Int("phrases-proved", 1, "how many of those without a voicing are proved to have none, in each texture of four voices")
	phrasesFolder = flag.String("phrases-out", "", "folder for the voiced phrases as MusicXML, each in open score with its text beside it")
)

// successors are the chords that usually follow each chord, the commoner ones more than
// once (Hutchinson, Music Theory for the 21st-Century Classroom, section 13.4, the circle
// of fifths and its substitutes; the weights are ours). Phrases of them are musical, but
// nobody has chosen them for being easy.
var successors = map[bool]map[string]string{
	true: {
		"I":    "IV V V7 vi ii ii6 I6 iii V43 viio6 V65/IV V6 V42 V65 V7/IV V65/V V7/ii",
		"I6":   "IV ii6 V V43 viio6 I ii65 V65/V",
		"ii":   "V V7 V6 V42 viio6 V65 Cad64",
		"ii6":  "V V7 Cad64 V42 V65 viio7/V",
		"ii65": "V V7 Cad64 V42",
		"iii":  "vi IV ii6",
		"IV":   "V V7 I ii ii6 viio6 Cad64 V42 I6 V65/V iv",
		"IV6":  "V V65 I V43 V6",
		"iv":   "I V Cad64 V7",
		"V":    "I vi I6 V7 V42 IV6",
		"V6":   "I vi V65",
		"V7":   "I vi I",
		"V65":  "I", "V43": "I I6", "V42": "I6",
		"vi":    "ii IV ii6 V iii ii65 V7/V vi6 V65/V IV6",
		"vi6":   "ii V7/V IV",
		"viio6": "I I6", "Cad64": "V V7",
		"V7/V": "V V7", "V65/V": "V V7 Cad64", "viio7/V": "V Cad64",
		"V7/IV": "IV", "V65/IV": "IV", "V7/ii": "ii", "V65/ii": "ii", "V65/vi": "vi",
	},
	false: {
		"i":    "iv V V7 VI iiø65 iio6 i6 V43 viio6 V6 V42 V65 viio7 V65/iv III VII v6",
		"i6":   "iv iio6 V V43 viio6 i iiø65 N6",
		"iio6": "V V7 Cad64 viio7", "iiø65": "V V7 Cad64 V42",
		"N6":  "V Cad64 V7 viio7/V",
		"III": "VI iv VII", "VII": "III i", "v6": "iv6 VI",
		"iv":    "V V7 i iio6 Cad64 V42 i6 N6",
		"iv6":   "V i V65",
		"V":     "i VI V7 V42 i6",
		"V6":    "i V65",
		"V7":    "i VI i",
		"V65":   "i",
		"V43":   "i i6",
		"V42":   "i6",
		"VI":    "iv iio6 V N6 iiø65 III Ger65 It6",
		"viio6": "i i6", "viio7": "i", "Cad64": "V V7",
		"viio7/V": "V Cad64", "V65/iv": "iv", "Ger65": "Cad64", "It6": "V",
	},
}

var closings = map[bool][]string{
	true:  {"ii6 V7 I", "IV V I", "ii65 V7 I", "ii6 Cad64 V7 I", "IV Cad64 V I", "ii V", "V7 vi", "IV I", "V7 I"},
	false: {"iio6 V7 i", "iv V i", "iiø65 V7 i", "iv Cad64 V7 i", "iv6 V", "V7 VI", "iv i", "N6 V7 i", "V7 i"},
}

// randomPhrase is a phrase of 4 to 12 chords in one of 24 keys.
func randomPhrase(random *rand.Rand) string {
	majors, minors := strings.Fields("C G D A E F Bb Eb Ab B Db F#"), strings.Fields("a e b f# c# d g c f bb g# eb")
	isMajor := random.IntN(5) > 1
	key, chord := minors[random.IntN(12)], "i"
	if isMajor {
		key, chord = majors[random.IntN(12)], "I"
	}
	words, first := []string{chord}, chord
	for range 1 + random.IntN(8) {
		next := strings.Fields(successors[isMajor][chord])
		chord = next[random.IntN(len(next))]
		words = append(words, chord)
	}
	ends := strings.Fields(closings[isMajor][random.IntN(len(closings[isMajor]))])
	// What leads on in the phrase leads into its cadence, too.
	for !follows(isMajor, chord, ends[0]) {
		if len(words) > 9 {
			words, chord = words[:1], first
		}
		next := strings.Fields(successors[isMajor][chord])
		chord = next[random.IntN(len(next))]
		words = append(words, chord)
	}
	return key + ": " + strings.Join(append(words, ends...), " ")
}

func follows(isMajor bool, chord, next string) bool {
	return strings.Contains(" "+successors[isMajor][chord]+" ", " "+next+" ")
}

// firstYear is a teacher's own law, at once more lenient and stricter than the one it is
// based on.
const firstYear = `name: first year
based-on: strict-chorale
rules:
  voice-overlap: off
  parallel-fifths: caution
  cross-relation: fault
  third-doubled: fault
`

// phraseTexture is a texture that phrases are voiced in, and the rules they are judged by.
type phraseTexture struct {
	name  string
	style voicing.Style
	set   *partwriting.RuleSet
}

// phraseTextures are all textures, and the chorale under a teacher's own law.
func phraseTextures(t *testing.T) []phraseTexture {
	t.Helper()
	own, err := settings.ReadRuleSet("first-year.yaml", []byte(firstYear))
	if err != nil {
		t.Fatal(err)
	}
	strict := partwriting.RuleSetByName(partwriting.DefaultRuleSet)
	return []phraseTexture{
		{"chorale", voicing.Chorale(), strict},
		{"first-year", voicing.Chorale(), own},
		{"keyboard", voicing.Keyboard(), partwriting.RuleSetByName("keyboard")},
		{"three", voicing.ThreeVoices(), strict},
		{"five", voicing.FiveVoices(), strict},
	}
}

// TestRandomPhrasesInEveryTexture voices random phrases in every texture, and under a
// teacher's own law. What is voiced is written as MusicXML, read again and judged by the
// rules, the chords known. What is not voiced names the rule that is in the way, and
// has no voicing by a search that the rules alone judge.
func TestRandomPhrasesInEveryTexture(t *testing.T) {
	for _, texture := range phraseTextures(t) {
		t.Run(texture.name, func(t *testing.T) {
			texture.style.Rules = texture.set
			random := rand.New(rand.NewPCG(311, 313))
			tally := &phraseTally{rules: map[partwriting.RuleID]int{}}
			for i := range *phrasesVoiced {
				tally.add(t, fmt.Sprintf("%s-%d", texture.name, i), randomPhrase(random), texture.style, random)
			}
			t.Log(tally)
			if texture.name == "chorale" && tally.turns*3 > tally.moves*2 {
				t.Errorf("the top voice turns back %d times in %d moves, in chorales in half of them", tally.turns, tally.moves)
			}
			if tally.voiced*20 < tally.phrases*17 {
				t.Errorf("only %d of %d phrases are voiced", tally.voiced, tally.phrases)
			}
		})
	}
}

// phraseTally is what many phrases came to.
type phraseTally struct {
	phrases, voiced, faults, proved, opened int
	rules                                   map[partwriting.RuleID]int // in the way
	// changes from chord to chord, with the semitones that the upper voices move, and
	// those of the nearest position over the same bass.
	changes, semitones, nearest int
	// nearestBreaks counts phrases in which the nearest position breaks a rule.
	nearestBreaks int
	// stays counts notes that the top voice repeats, turns where it turns back between
	// two moves of so many.
	stays, turns, moves int
}

func (p *phraseTally) String() string {
	per := func(n int) float64 { return float64(n) / float64(max(p.changes, 1)) }
	return fmt.Sprintf("%d phrases, %d voiced with %d faults, %d not (%d of them told what opens the way, %d proved); in the way: %v; %.2f semitones a change, nearest position %.2f, which breaks rules in %d; the top voice stays in %.2f of the changes and turns back after %.2f of its moves",
		p.phrases, p.voiced, p.faults, p.phrases-p.voiced, p.opened, p.proved, p.rules, per(p.semitones), per(p.nearest), p.nearestBreaks,
		per(p.stays), float64(p.turns)/float64(max(p.moves, 1)))
}

func (p *phraseTally) add(t *testing.T, name, text string, style voicing.Style, random *rand.Rand) {
	t.Helper()
	progression, err := voicing.ReadProgression(text)
	if err != nil {
		t.Fatalf("%s: %v", text, err)
	}
	problem := progression.Problem(style)
	search, err := voicing.NewSearch(t.Context(), problem)
	if err != nil {
		t.Errorf("%s: %v", text, err)
		return
	}
	p.phrases++
	ways, err := search.Alternatives(t.Context(), 1)
	var none *voicing.ImpossibleError
	switch {
	case errors.As(err, &none):
		p.hindered(t, text, search, progression, style, random)
		return
	case err != nil:
		t.Fatal(err)
	}
	p.voiced++
	for _, f := range faultsAsWritten(t, name, text, problem, progression, ways[0]) {
		p.faults++
		t.Errorf("%s: %s at %v: %v", text, f.Rule, f.Onset, ways[0].Chords)
	}
	p.compare(problem, progression, ways[0])
}

// hindered looks at what is said of a phrase without a voicing.
func (p *phraseTally) hindered(t *testing.T, text string, search *voicing.Search, phrase *voicing.Progression, style voicing.Style, random *rand.Rand) {
	t.Helper()
	breaks, opens := search.Obstacle(t.Context(), style.Rules)
	if len(breaks) == 0 {
		t.Errorf("%s: no voicing and no rule in the way", text)
	}
	for _, b := range breaks {
		p.rules[b.Rule]++
	}
	if opens != nil {
		p.opened++
	}
	t.Logf("%s: %v, opened by %v", text, breaks, opens)
	if len(style.Voices) == 4 && p.proved < *phrasesProved {
		p.proved++
		proveImpossible(t, text, phrase, style, random)
	}
}

// faultsAsWritten are the faults that a fresh reading of the written score finds.
func faultsAsWritten(t *testing.T, name, text string, problem *voicing.Problem, p *voicing.Progression, s *voicing.Solution) []partwriting.Finding {
	t.Helper()
	_, found := findingsAsWritten(t, name, text, problem, p, s)
	return faultsOfLeading(found)
}

// findingsAsWritten are all that a fresh reading of the written score finds, and the score as
// it was read.
func findingsAsWritten(t *testing.T, name, text string, problem *voicing.Problem, p *voicing.Progression, s *voicing.Solution) (*theory.Texture, []partwriting.Finding) {
	t.Helper()
	texture := s.Texture(&problem.Style, p.Layout)
	data, err := sheet.Write(&sheet.Sheet{Texture: texture, Staves: sheet.Open(texture)})
	if err != nil {
		t.Fatal(err)
	}
	if *phrasesFolder != "" {
		for end, data := range map[string][]byte{".musicxml": data, ".txt": []byte(text + "\n")} {
			if err := os.WriteFile(filepath.Join(*phrasesFolder, name+end), data, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	doc, err := musicxml.Read("phrase.musicxml", data, musicxml.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	read := separation.FindVoices(doc.Score)
	var labels []harmony.Label
	for _, h := range s.Harmony(texture, p.Layout).Harmonies {
		labels = append(labels, harmony.Label{Onset: h.Onset, Reading: h.Reading})
	}
	return read, partwriting.Check(read, harmony.Assume(read, labels), problem.Style.Rules)
}

// compare sets the motion of the upper voices beside that of the nearest position: from
// the same first chord, over the same bass, whole chords with the least motion at every
// change.
func (p *phraseTally) compare(problem *voicing.Problem, phrase *voicing.Progression, s *voicing.Solution) {
	p.changes += len(s.Chords) - 1
	p.line(s)
	near := &voicing.Solution{Chords: []voicing.Chord{s.Chords[0]}}
	for k := 1; k < len(s.Chords); k++ {
		p.semitones += upperMotion(&s.Chords[k-1], &s.Chords[k])
		next := nearest(&near.Chords[k-1], &s.Chords[k], &problem.Style)
		p.nearest += upperMotion(&near.Chords[k-1], &next)
		near.Chords = append(near.Chords, next)
	}
	texture := near.Texture(&problem.Style, phrase.Layout)
	if len(faultsOfLeading(partwriting.Check(texture, near.Harmony(texture, phrase.Layout), problem.Style.Rules))) > 0 {
		p.nearestBreaks++
	}
}

// line looks at the top voice. In the odd chorales of the 370 edited by C. Sapp, from beat
// to beat, it stays in 0.22 of the changes and turns back after 0.49 of its moves.
func (p *phraseTally) line(s *voicing.Solution) {
	last := 0
	for k := 1; k < len(s.Chords); k++ {
		move := s.Chords[k].Pitches[0].Semitones() - s.Chords[k-1].Pitches[0].Semitones()
		switch {
		case move == 0:
			p.stays++
		case last != 0:
			p.moves++
			if move*last < 0 {
				p.turns++
			}
		}
		last = move
	}
}

func upperMotion(a, b *voicing.Chord) int {
	sum := 0
	for v := range len(a.Pitches) - 1 {
		d := a.Pitches[v].Semitones() - b.Pitches[v].Semitones()
		sum += max(d, -d)
	}
	return sum
}

// nearest is the setting of a chord over its own bass note that moves the upper voices
// least and has all members of a triad and all but the fifth of a seventh chord.
func nearest(from, to *voicing.Chord, style *voicing.Style) voicing.Chord {
	last := len(to.Pitches) - 1
	best, least := *to, upperMotion(from, to)
	for _, c := range settingsOf(to.Reading, style) {
		if c.Pitches[last] != to.Pitches[last] || upperMotion(from, &c) >= least {
			continue
		}
		has, ordered := map[int]bool{}, true
		for v, pitch := range c.Pitches {
			has[to.Reading.MemberOf(pitch.Class())] = true
			ordered = ordered && (v == 0 || !pitch.Above(c.Pitches[v-1]))
		}
		if ordered && has[0] && has[1] && (to.Reading.Size() == 4 && has[3] || to.Reading.Size() == 3 && (has[2] || last < 3)) {
			best, least = c, upperMotion(from, &c)
		}
	}
	return best
}
