package worker

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

// exercise is a four-part exercise of our own in C major, a quarter a note.
var exercise = map[string]string{
	"S": "C5 C5 B4 C5 | E5 D5 D5 C5 | G4 A4 B4 C5 | D5 C5 B4 C5 | E5 F5 D5 C5 | A4 C5 B4 C5",
	"A": "E4 F4 D4 E4 | G4 A4 G4 G4 | E4 F4 G4 G4 | A4 E4 D4 E4 | G4 A4 G4 E4 | F4 E4 D4 E4",
	"T": "G3 A3 G3 G3 | C4 D4 B3 C4 | C4 C4 D4 E4 | F4 A3 G3 G3 | C4 D4 B3 A3 | C4 G3 G3 G3",
	"B": "C3 F3 G3 C3 | C3 F3 G3 E3 | C3 F3 G3 C3 | D3 A2 G2 C3 | C3 D3 G3 A3 | F3 G3 G2 C3",
}

// in minor with the leading tone as the signature has it: nowhere raised.
var minor = map[string]string{
	"S": "A4 A4 G4 A4 | C5 B4 B4 A4 | A4 D5 B4 C5 | B4 A4 G4 A4",
	"A": "E4 F4 E4 E4 | A4 G4 G4 E4 | E4 A4 G4 A4 | F4 E4 E4 E4",
	"T": "C4 D4 B3 C4 | E4 D4 E4 C4 | C4 F4 D4 E4 | D4 C4 B3 C4",
	"B": "A2 D3 E3 A2 | A3 G3 E3 A3 | A3 D3 G3 A3 | D3 A2 E3 A2",
}

// paper writes a hand-in as a document.
type paper struct {
	order  []string
	names  map[string]string
	music  map[string]string
	fifths int
	mode   string
}

func (p paper) document() []byte {
	var list, body strings.Builder
	for i, v := range p.order {
		name, ok := p.names[v]
		if !ok {
			name = map[string]string{"S": "Soprano", "A": "Alto", "T": "Tenor", "B": "Bass"}[v]
		}
		fmt.Fprintf(&list, `<score-part id="P%d"><part-name>%s</part-name></score-part>`, i+1, name)
		fmt.Fprintf(&body, `<part id="P%d">`, i+1)
		for m, bar := range strings.Split(p.music[v], "|") {
			fmt.Fprintf(&body, `<measure number="%d">`, m+1)
			if m == 0 {
				fmt.Fprintf(&body, `<attributes><divisions>1</divisions><key><fifths>%d</fifths>%s</key><time><beats>4</beats><beat-type>4</beat-type></time></attributes>`, p.fifths, p.mode)
			}
			body.WriteString(barOf(bar))
			if m == strings.Count(p.music[v], "|") {
				body.WriteString(`<barline location="right"><bar-style>light-heavy</bar-style></barline>`)
			}
			body.WriteString(`</measure>`)
		}
		body.WriteString(`</part>`)
	}
	return []byte(`<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0"><part-list>` + list.String() + `</part-list>` + body.String() + `</score-partwise>`)
}

// barOf writes the quarters of a measure; "-" is a measure of rest.
func barOf(bar string) string {
	var out strings.Builder
	for _, word := range strings.Fields(bar) {
		if word == "-" {
			out.WriteString(`<note><rest measure="yes"/><duration>4</duration></note>`)
			continue
		}
		q := theory.MustPitch(word)
		fmt.Fprintf(&out, `<note><pitch><step>%s</step><alter>%d</alter><octave>%d</octave></pitch><duration>1</duration><type>quarter</type></note>`, q.Step, q.Alter, q.Octave)
	}
	return out.String()
}

var fourVoices = []string{"S", "A", "T", "B"}

func (p paper) with(music map[string]string) paper {
	p.music = map[string]string{}
	for v, m := range exercise {
		p.music[v] = m
	}
	for v, m := range music {
		p.music[v] = m
	}
	return p
}

// bars replaces the measures from one to another, counted from 1, by text.
func bars(music string, from, to int, by string) string {
	all := strings.Split(music, "|")
	for i := from - 1; i < to; i++ {
		all[i] = by
	}
	return strings.Join(all, "|")
}

// moved moves every note by an interval.
func moved(music string, by theory.Interval) string {
	words := strings.Fields(music)
	for i, w := range words {
		if w != "|" && w != "-" {
			words[i] = theory.MustPitch(w).Transpose(by).String()
		}
	}
	return strings.Join(words, " ")
}

// inClef reads every note some steps away on the staff, in C major.
func inClef(music string, steps int) string {
	words := strings.Fields(music)
	for i, w := range words {
		if w != "|" {
			d := theory.MustPitch(w).Diatonic() + steps
			words[i] = theory.Pitch{Step: theory.Step(d % 7), Octave: int8(d / 7)}.String()
		}
	}
	return strings.Join(words, " ")
}

var (
	up   = theory.PerfectOctave
	down = theory.Interval{Steps: -7, Semitones: -12}
	// noNames leaves the parts without names.
	noNames = map[string]string{"S": "", "A": "", "T": "", "B": ""}
)

// Unfinished and misread hand-ins: what comes first says what is the matter, no mark
// is proposed, and nothing is praised. What a teacher would say of each is common
// practice, no source.
func TestHandInsThatAreNotComplete(t *testing.T) {
	four := paper{order: fourVoices}
	blank := func(from, to int, voices ...string) paper {
		music := map[string]string{}
		for _, v := range voices {
			music[v] = bars(exercise[v], from, to, " - ")
		}
		return four.with(music)
	}
	some := func(order ...string) paper {
		p := four.with(nil)
		p.order = order
		return p
	}
	unnamed := func(p paper) paper {
		p.names = noNames
		return p
	}
	shifted := func(v string, by theory.Interval) paper {
		return four.with(map[string]string{v: moved(exercise[v], by)})
	}
	swapped := func(a, b string) paper {
		return four.with(map[string]string{a: exercise[b], b: exercise[a]})
	}
	signed := func(fifths int) paper {
		p := four.with(nil)
		p.fifths = fifths
		return p
	}
	cases := []struct {
		name, want string
		paper      paper
	}{
		{"alto and tenor blank from measure 2", "voice-stops", blank(2, 6, "A", "T")},
		{"tenor blank from measure 3", "voice-stops", blank(3, 6, "T")},
		{"bass blank from measure 6", "voice-stops", blank(6, 6, "B")},
		{"soprano alone goes on", "voice-stops", blank(4, 6, "A", "T", "B")},
		{"without names, alto and tenor blank from measure 2", "voice-stops", unnamed(blank(2, 6, "A", "T"))},
		{"alto silent", "voice-silent", blank(1, 6, "A")},
		{"inner voices silent", "voice-silent", blank(1, 6, "A", "T")},
		{"all but the soprano silent", "voice-silent", blank(1, 6, "A", "T", "B")},
		{"bass silent", "voice-silent", blank(1, 6, "B")},
		{"soprano and bass alone", "voice-missing", some("S", "B")},
		{"no alto", "voice-missing", some("S", "T", "B")},
		{"no bass", "voice-missing", some("S", "A", "T")},
		{"outer voices without names", "inner-voices-missing", unnamed(some("S", "B"))},
		{"melody alone without a name", "melody-alone", unnamed(some("S"))},
		{"bass alone without a name", "melody-alone", unnamed(some("B"))},
		{"alto blank in measures 3 and 4", "voice-blank", blank(3, 4, "A")},
		{"tenor blank in measures 2 to 4", "voice-blank", blank(2, 4, "T")},
		{"measures 5 and 6 empty", "measures-empty", blank(5, 6, fourVoices...)},
		{"measure 3 empty", "measures-empty", blank(3, 3, fourVoices...)},
		{"measure 2 has three quarters", "measure-short", four.with(map[string]string{
			"S": bars(exercise["S"], 2, 2, " E5 D5 D5 "), "A": bars(exercise["A"], 2, 2, " G4 A4 G4 "), "T": bars(exercise["T"], 2, 2, " C4 D4 B3 "), "B": bars(exercise["B"], 2, 2, " C3 F3 G3 "),
		})},
		{"measure 4 has five quarters", "measure-long", four.with(map[string]string{
			"S": bars(exercise["S"], 4, 4, " D5 C5 B4 C5 C5 "), "A": bars(exercise["A"], 4, 4, " A4 E4 D4 E4 E4 "), "T": bars(exercise["T"], 4, 4, " F4 A3 G3 G3 G3 "), "B": bars(exercise["B"], 4, 4, " D3 A2 G2 C3 C3 "),
		})},
		{"a signature of three sharps", "key-signature", signed(3)},
		{"a signature of four flats", "key-signature", signed(-4)},
		{"a signature of two flats", "key-signature", signed(-2)},
		{"minor without its leading tone", "leading-tone-never-raised", paper{order: fourVoices, music: minor, mode: "<mode>minor</mode>"}},
		{"soprano and alto swapped", "voices-swapped", swapped("S", "A")},
		{"alto and tenor swapped", "voices-swapped", swapped("A", "T")},
		{"tenor an octave high", "octave-away", shifted("T", up)},
		{"alto an octave low", "octave-away", shifted("A", down)},
		{"bass an octave low", "octave-away", shifted("B", down)},
		{"soprano an octave low", "octave-away", shifted("S", down)},
		{"alto read in the bass clef", "clef", four.with(map[string]string{"A": inClef(exercise["A"], -12)})},
		{"bass read in the treble clef", "clef", four.with(map[string]string{"B": inClef(exercise["B"], 12)})},
	}
	if len(cases) < 30 {
		t.Errorf("%d hand-ins", len(cases))
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			in := Input{Name: "hand-in.musicxml", Data: c.paper.document()}
			_, r := done[*report.Report](t, in, &request.Check{}, "rubric", "hundred")
			if r.HandIn == nil || r.HandIn.Complete || r.Grade != nil || r.HandIn.Note == "" {
				t.Fatalf("complete, or a mark is proposed: %+v %+v; %s", r.HandIn, r.Grade, r.Texture.Kind)
			}
			if len(r.WellDone) > 0 {
				t.Errorf("praised: %q", r.WellDone)
			}
			if first := r.HandIn.Problems[0]; first.Kind != c.want || first.Finding != 1 || first.Message != r.Findings[0].Message {
				t.Errorf("first comes %+v, want %s", first, c.want)
			}
		})
	}
}

// What looks unfinished and is not.
func TestHandInsThatAreComplete(t *testing.T) {
	four := paper{order: fourVoices}
	counterpoint := paper{order: []string{"1", "2"}, names: map[string]string{"1": "", "2": ""}, music: map[string]string{
		"1": "A4 C5 B4 D5 | C5 B4 A4 G4 | A4 B4 C5 D5 | C5 B4 C5 C5", "2": "F4 A4 G4 B4 | A4 G4 F4 E4 | F4 G4 A4 B4 | A4 G4 A4 C4",
	}}
	dorian := paper{order: fourVoices, music: minor}
	for name, p := range map[string]paper{
		"the whole exercise": four.with(nil), "two-part counterpoint": counterpoint, "a mode without a raised seventh": dorian,
		"a signature with a sharp too few": func() paper { p := four.with(nil); p.fifths = -1; return p }(),
		"a voice that rests for a measure": four.with(map[string]string{"A": bars(exercise["A"], 3, 3, " - ")}),
	} {
		_, r := done[*report.Report](t, Input{Name: "hand-in.musicxml", Data: p.document()}, &request.Check{}, "rubric", "hundred")
		if !r.HandIn.Complete || r.Grade == nil || len(r.HandIn.Problems) > 0 {
			t.Errorf("%s: %+v", name, r.HandIn)
		}
	}
}

// The task gives the bass: it has to be there note for note.
func TestGivenLine(t *testing.T) {
	task := paper{order: []string{"B"}, music: map[string]string{"B": exercise["B"]}}
	four := paper{order: fourVoices}
	for _, c := range []struct {
		name, want string
		paper      paper
	}{
		{"as given", "", four.with(nil)},
		{"one note changed", "given-changed", four.with(map[string]string{"B": strings.Replace(exercise["B"], "D3 A2", "E3 A2", 1)})},
		{"another bass", "given-missing", four.with(map[string]string{"B": moved(exercise["B"], theory.MajorThird)})},
	} {
		_, r := done[*report.Report](t, Input{Name: "hand-in.musicxml", Data: c.paper.document()}, &request.Check{}, "task", string(task.document()))
		kinds := []string{}
		for _, p := range r.HandIn.Problems {
			kinds = append(kinds, p.Kind)
		}
		if (c.want == "") != r.HandIn.Complete || c.want != "" && !slices.Contains(kinds, c.want) {
			t.Errorf("%s: %v, want %q", c.name, kinds, c.want)
		}
	}
}

// An exercise whose staves are blank wants a voice in each: where fewer sound, the hand-in is
// not complete and no mark is proposed, also in closed score, where a silent voice has no
// staff of its own (common practice, no source).
func TestVoicesThatAnExerciseWants(t *testing.T) {
	sheets, _ := voiced(t, Input{}, "progression", "C: bass C3 F3 G3 C3", "exercise", "bass", "annotate", "none")
	task, whole := string(scoreOf(sheets, answer.Exercise)), string(scoreOf(sheets, answer.Voiced))
	at := strings.Index(whole, `<part id="P2">`)
	silent := whole[:at] + regexp.MustCompile(`(?s)<note>\s*<pitch>(.*?)</pitch>(\s*<duration>\d+</duration>\s*<voice>1<)`).ReplaceAllString(whole[at:], "<note><rest/>$2")
	for _, tt := range []struct {
		score    string
		complete bool
		note     string
	}{{whole, true, ""}, {silent, false, "3 of 4"}} {
		_, r := done[*report.Report](t, Input{Name: "hand-in.musicxml", Data: []byte(tt.score)}, &request.Check{}, "task", task, "rubric", "hundred")
		if r.HandIn.Complete != tt.complete || !strings.Contains(r.HandIn.Note, tt.note) || (r.Grade != nil) != tt.complete {
			t.Errorf("complete %v, %q, marked %v; want %v and %q", r.HandIn.Complete, r.HandIn.Note, r.Grade != nil, tt.complete, tt.note)
		}
	}
}
