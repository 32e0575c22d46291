package musicxml

import (
	"encoding/xml"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"partwright/theory"
)

// writtenScore is a partwise score as a reader without the package sees it.
type writtenScore struct {
	Parts []struct {
		Measures []struct {
			Fifths *int          `xml:"attributes>key>fifths"`
			Notes  []writtenNote `xml:"note"`
		} `xml:"measure"`
	} `xml:"part"`
}

type writtenNote struct {
	Step   string `xml:"pitch>step"`
	Alter  int    `xml:"pitch>alter"`
	Octave int    `xml:"pitch>octave"`
	Sign   string `xml:"accidental"`
	Ties   []struct {
		Type string `xml:"type,attr"`
	} `xml:"tie"`
}

// misreadings reads each measure from left to right by the rule that a sign holds for
// its line or space until the bar line (Butterfield, Integrated Music Theory, unit 1;
// W3C MusicXML 4.0, accidental) and lists the notes that read otherwise than they
// sound, and the signs that say nothing new.
func misreadings(t *testing.T, document []byte) (wrong, needless []string) {
	t.Helper()
	var s writtenScore
	if err := xml.Unmarshal(document, &s); err != nil {
		t.Fatal(err)
	}
	alters := map[string]int{"flat-flat": -2, "flat": -1, "natural": 0, "sharp": 1, "double-sharp": 2}
	for p, part := range s.Parts {
		fifths := 0
		for m, measure := range part.Measures {
			if measure.Fifths != nil {
				fifths = *measure.Fifths
			}
			said := map[string]int{}
			for n, note := range measure.Notes {
				if note.Step == "" {
					continue
				}
				tied := false
				for _, tie := range note.Ties {
					tied = tied || tie.Type == "stop"
				}
				if tied && n == 0 {
					continue
				}
				place := fmt.Sprint(note.Step, note.Octave)
				reads, ok := said[place]
				if !ok {
					reads = byKey(fifths, note.Step)
				}
				name := fmt.Sprintf("part %d measure %d note %d %s", p+1, m+1, n+1, place)
				if note.Sign != "" {
					if reads == alters[note.Sign] {
						needless = append(needless, name)
					}
					reads = alters[note.Sign]
				}
				if reads != note.Alter {
					wrong = append(wrong, name)
				}
				said[place] = reads
			}
		}
	}
	return wrong, needless
}

func byKey(fifths int, step string) int {
	if fifths > 0 && strings.Contains("FCGDAEB"[:fifths], step) {
		return 1
	}
	if fifths < 0 && strings.Contains("BEADGCF"[:-fifths], step) {
		return -1
	}
	return 0
}

// TestNewPitchesReadRight writes random measures with the signs they need, changes
// some notes and reads every measure of the result: no note reads otherwise than it
// sounds, and no sign stands that nothing calls for.
func TestNewPitchesReadRight(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 5))
	pitch := func() theory.Pitch {
		return theory.Pitch{Step: theory.Step(random.IntN(3)), Alter: int8(random.IntN(3) - 1), Octave: 4}
	}
	for range 400 {
		fifths := random.IntN(9) - 4
		document := randomMeasures(random, fifths, pitch)
		if wrong, needless := misreadings(t, document); len(wrong)+len(needless) > 0 {
			t.Fatalf("before any change: %v %v\n%s", wrong, needless, document)
		}
		doc, err := Read("measures.musicxml", document, Limits{})
		if err != nil {
			t.Fatal(err)
		}
		to := map[theory.NoteID]theory.Pitch{}
		for range 1 + random.IntN(4) {
			id := random.IntN(len(doc.Score.Notes))
			if doc.Score.Notes[id].Flags.Any(theory.TieStart | theory.TieStop) {
				continue
			}
			to[theory.NoteID(id)] = pitch()
		}
		out, err := doc.Repitch(to)
		if err != nil {
			t.Fatal(err)
		}
		if wrong, needless := misreadings(t, out); len(wrong)+len(needless) > 0 {
			t.Fatalf("%v: read wrong %v, needless %v, in\n%s\nfrom\n%s", to, wrong, needless, out, document)
		}
	}
}

func randomMeasures(random *rand.Rand, fifths int, pitch func() theory.Pitch) []byte {
	alterNames := map[int8]string{-1: "flat", 0: "natural", 1: "sharp"}
	var b strings.Builder
	b.WriteString(`<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>A</part-name></score-part></part-list><part id="P1">`)
	tied, held := false, theory.Pitch{}
	for m := range 3 {
		fmt.Fprintf(&b, `<measure number="%d">`, m+1)
		if m == 0 {
			fmt.Fprintf(&b, `<attributes><divisions>1</divisions><key><fifths>%d</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time></attributes>`, fifths)
		}
		said := map[string]int8{}
		for n := range 4 {
			p := pitch()
			stop := n == 0 && tied
			if stop {
				p = held
			}
			place := fmt.Sprint(p.Step.String(), p.Octave)
			reads, ok := said[place]
			if !ok {
				reads = int8(byKey(fifths, p.Step.String()))
			}
			fmt.Fprintf(&b, `<note><pitch><step>%v</step><alter>%d</alter><octave>%d</octave></pitch><duration>1</duration>`, p.Step, p.Alter, p.Octave)
			if stop {
				b.WriteString(`<tie type="stop"/>`)
			}
			if tied = n == 3 && m < 2 && random.IntN(2) == 0; tied {
				b.WriteString(`<tie type="start"/>`)
				held = p
			}
			b.WriteString(`<type>quarter</type>`)
			if !stop {
				if reads != p.Alter {
					fmt.Fprintf(&b, `<accidental>%s</accidental>`, alterNames[p.Alter])
				}
				said[place] = p.Alter
			}
			b.WriteString(`</note>`)
		}
		b.WriteString(`</measure>`)
	}
	b.WriteString(`</part></score-partwise>`)
	return []byte(b.String())
}

// TestCourtesySignsStay leaves a sign alone that nothing called for before the change
// either, and every sign in measures without one.
func TestCourtesySignsStay(t *testing.T) {
	note := func(step string, alter int, sign string) string {
		out := fmt.Sprintf(`<note><pitch><step>%s</step><alter>%d</alter><octave>4</octave></pitch><duration>1</duration><type>quarter</type>`, step, alter)
		if sign != "" {
			out += "<accidental>" + sign + "</accidental>"
		}
		return out + "</note>"
	}
	document := `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>A</part-name></score-part></part-list><part id="P1"><measure number="1"><attributes><divisions>1</divisions></attributes>` +
		note("F", 1, "sharp") + note("G", 0, "natural") + note("F", 1, "") + note("F", 0, "natural") + `</measure><measure number="2">` + note("F", 0, "natural") + `</measure></part></score-partwise>`
	doc, err := Read("courtesy.musicxml", []byte(document), Limits{})
	if err != nil {
		t.Fatal(err)
	}
	out, err := doc.Repitch(map[theory.NoteID]theory.Pitch{0: theory.MustPitch("E4")})
	if err != nil {
		t.Fatal(err)
	}
	var s writtenScore
	if err := xml.Unmarshal(out, &s); err != nil {
		t.Fatal(err)
	}
	var signs []string
	for _, m := range s.Parts[0].Measures {
		for _, n := range m.Notes {
			signs = append(signs, n.Sign)
		}
	}
	// The second F sharp takes over the sign, the natural after it is still needed.
	if got, want := strings.Join(signs, ","), ",natural,sharp,natural,natural"; got != want {
		t.Errorf("signs are %s, want %s", got, want)
	}
}
