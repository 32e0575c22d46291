package musicxml

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"partwright/theory"
)

// FuzzRead asks of any bytes: reading ends, leaves no document behind an error,
// gives the same twice, and what it gives keeps the promises of theory.Score.
func FuzzRead(f *testing.F) {
	seeds, err := filepath.Glob(filepath.Join("..", "testdata", "class", "*.m*"))
	if err != nil || len(seeds) == 0 {
		f.Fatalf("no seeds in testdata/class: %v", err)
	}
	for _, path := range seeds {
		data, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Add(eveningExercise().partwise())
	f.Add(eveningExercise().timewise())
	f.Add(alone(common(2) + music("v1 G4/4~ ~G4/4 back/8 v2 gF4 D4/3 +B3/3 fwd/1 r/4")).partwise())
	f.Add(alone(attributes(divisions(3), key(-2), metre("3+2", "8"), "<transpose><chromatic>-3</chromatic></transpose>") +
		"<harmony><root><root-step>G</root-step></root><kind>dominant</kind><offset>-1.5</offset></harmony>" +
		`<harmony type="alternate"><numeral><numeral-root text="V">5</numeral-root><numeral-alter>-1</numeral-alter><numeral-key><numeral-fifths>2</numeral-fifths><numeral-mode>harmonic minor</numeral-mode></numeral-key></numeral><kind>dominant</kind><staff>2</staff></harmony>` +
		`<harmony color="` + labelColor + `"><function>V</function><kind>none</kind></harmony>` +
		"<figured-bass><figure><figure-number>6</figure-number></figure><duration>2</duration></figured-bass>" +
		note("F#4", "3", "quarter", "<dot/><notations><tied type=\"start\"/><fermata/></notations>"+lyric("so,")) +
		`<barline><ending number="1" type="start"/><repeat direction="backward"/></barline><sound dacapo="yes" segno="a" tocoda="b"/>`).partwise())
	f.Add([]byte("PK\x03\x04"))
	f.Add([]byte("0"))
	f.Fuzz(func(t *testing.T, data []byte) {
		limits := Limits{MaxBytes: 1 << 20, MaxElements: 20_000}
		d, err := Read("fuzz", data, limits)
		if err != nil {
			var input *InputError
			if d != nil || !errors.As(err, &input) || input.Problem == "" {
				t.Fatalf("document %v with error %#v", d, err)
			}
			return
		}
		again, err := Read("fuzz", data, limits)
		if err != nil || !reflect.DeepEqual(d.Score, again.Score) || !reflect.DeepEqual(d.Notices, again.Notices) || d.Counts != again.Counts {
			t.Fatalf("a second reading differs: %v", err)
		}
		checkScore(t, d)
	})
}

// checkScore checks what theory.Score promises.
func checkScore(t *testing.T, d *Document) {
	t.Helper()
	s := d.Score
	exact := func(what string, fractions ...theory.Fraction) {
		for _, f := range fractions {
			if s.Resolution <= 0 || s.Resolution > theory.MaxResolution || s.Resolution%f.Den() != 0 {
				t.Fatalf("%s %s does not fit the resolution %d", what, f, s.Resolution)
			}
			if f.Sign() < 0 || theory.Whole(theory.MaxQuarters).Less(f) {
				t.Fatalf("%s %s is out of bounds", what, f)
			}
		}
	}
	at := theory.Fraction{}
	for i, m := range s.Measures {
		if m.Index != i || m.Onset != at {
			t.Fatalf("measure %d begins at %s, the last one ended at %s", i, m.Onset, at)
		}
		exact("measure", m.Onset, m.Length, m.Into)
		at = m.Onset.Add(m.Length)
	}
	for i := range s.Notes {
		n := &s.Notes[i]
		if int(n.Part) >= len(s.Parts) || int(n.Measure) >= len(s.Measures) ||
			int(n.Layer) >= len(s.Parts[n.Part].Layers) || n.Staff < 1 || int(n.Staff) > s.Parts[n.Part].Staves {
			t.Fatalf("note %d points nowhere: %+v", i, n)
		}
		exact("note", n.Onset, n.Duration)
		if n.Onset.Less(s.Measures[n.Measure].Onset) || s.Measures[n.Measure].Onset.Add(s.Measures[n.Measure].Length).Less(n.Onset) {
			t.Fatalf("note %d at %s is outside its measure", i, n.Onset)
		}
		if n.Sounds() && (n.Written.Octave < 0 || n.Written.Octave > highestOctave || n.Written.Alter < -mostAlter || n.Written.Alter > mostAlter) {
			t.Fatalf("note %d is analyzed and out of range: %s", i, n.Written)
		}
		if l := d.Locate(theory.NoteID(i)); l.Line < 1 || l.Column < 1 {
			t.Fatalf("note %d stands nowhere: %+v", i, l)
		}
	}
	for _, k := range s.Keys {
		exact("key", k.Onset)
	}
	for _, c := range s.Times {
		exact("metre", c.Onset)
	}
	for _, c := range s.Chords {
		exact("chord", c.Onset)
	}
	for _, g := range s.Figures {
		exact("figures", g.Onset, g.Duration)
	}
	for _, j := range s.Jumps {
		if j.From < 0 || j.From >= len(s.Measures) || j.To < 0 || j.To >= len(s.Measures) || j.To == j.From+1 {
			t.Fatalf("jump %+v", j)
		}
	}
	perCode := map[string]int{}
	for _, n := range d.Notices {
		if perCode[n.Code]++; perCode[n.Code] > maxNotices+1 {
			t.Fatalf("more than %d notices %s", maxNotices, n.Code)
		}
		if n.Measure >= len(s.Measures) || n.Message == "" {
			t.Fatalf("notice %+v", n)
		}
	}
}

// FuzzLaws writes scores of notes that hold two laws: time order changes
// nothing, and a transposing part sounds a spelled interval away.
func FuzzLaws(f *testing.F) {
	f.Add([]byte("evening exercise in G"), uint8(1))
	f.Add([]byte{0, 1, 2, 3, 200, 201, 90, 17, 54, 255, 128, 64}, uint8(4))
	f.Fuzz(func(t *testing.T, notes []byte, size uint8) {
		if len(notes) > 400 {
			return
		}
		c := scribble(notes, int(size%4)+1, "")
		straight := readText(t, c.partwise())
		turned := readText(t, c.timewise())
		if a, b := sketch(straight.Score), sketch(turned.Score); a != b {
			t.Fatalf("partwise %s\ntimewise %s", a, b)
		}
		if straight.Counts != turned.Counts || !reflect.DeepEqual(straight.Score.Jumps, turned.Score.Jumps) {
			t.Fatalf("partwise %+v\ntimewise %+v", straight.Counts, turned.Counts)
		}
		moved := readText(t, scribble(notes, int(size%4)+1, "<transpose><diatonic>-2</diatonic><chromatic>-3</chromatic></transpose>").partwise())
		third := theory.Interval{Steps: -2, Semitones: -3}
		for i := range straight.Score.Notes {
			a, b := &straight.Score.Notes[i], &moved.Score.Notes[i]
			if a.Flags.Has(theory.Rest) {
				continue
			}
			if b.Written != a.Pitch || b.Pitch != a.Pitch.Transpose(third) || a.Onset != b.Onset || a.Duration != b.Duration {
				t.Fatalf("note %d: %+v, transposed %+v", i, a, b)
			}
		}
	})
}

// scribble writes every byte as one event, in turn for each part and measure.
func scribble(notes []byte, parts int, more string) composition {
	c := composition{}
	const perMeasure = 7
	for p := range parts {
		part := voicePart{id: fmt.Sprintf("P%d", p+1)}
		var words []string
		flush := func() {
			body := music(strings.Join(words, " "))
			if len(part.measures) == 0 {
				body = attributes(divisions(p+2), more) + body
			}
			part.measures = append(part.measures, barText{fmt.Sprintf(`number="%d"`, len(part.measures)), body})
			words = words[:0]
		}
		for i, b := range notes {
			pitch := theory.Pitch{Step: theory.Step(b % 7), Alter: int8(b/7%3) - 1, Octave: int8(3 + b/21%3)}
			length := 1 + int(b>>6) + p
			switch {
			case b%11 == 0:
				words = append(words, fmt.Sprintf("r/%d", length))
			case b%13 == 0:
				words = append(words, fmt.Sprintf("back/%d v%d", length, 1+b%3))
			case b%5 == 0:
				words = append(words, fmt.Sprintf("+%s/%d", pitch, length))
			case b%17 == 0:
				words = append(words, "g"+pitch.String())
			default:
				words = append(words, fmt.Sprintf("%s/%d", pitch, length))
			}
			if (i+1)%perMeasure == 0 {
				flush()
			}
		}
		flush()
		c.parts = append(c.parts, part)
	}
	return c
}
