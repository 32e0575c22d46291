package voicing

import (
	"errors"
	"strings"
	"testing"

	"partwright/theory"
)

func TestReadProgression(t *testing.T) {
	cases := []struct{ text, want, why string }{
		{"C: I vi ii6 V7*2 I", "C: I 1, C: vi 1, C: ii6 1, C: V7 2, C: I 1", "numerals in a row, a beat each"},
		{"C: I*1.5 V*.5 I*3/2", "C: I 3/2, C: V 1/2, C: I 3/2", "beats as decimals"},
		{"C: I, IV; V7*2, I", "C: I 1, C: IV 1, C: V7 2, C: I 1", "chords listed as in a sentence"},
		{"6/8 g: i V", "g: i 3/2, g: V 3/2", "the beat of 6/8 is a dotted quarter"},
		{"Bb: Bb Gm Cm7/Eb F7 Bb", "Bb: I 1, Bb: vi 1, Bb: ii65 1, Bb: V7 1, Bb: I 1", "chord symbols"},
		{"C: I V/V V || a: i", "C: I 1, C: V/V 1, C: V 1 end, a: i 1", "applied chords, a phrase end and another key"},
		{"3/4 C: I | vi*2 V | I*2", "C: I 1, C: vi 2, C: V 1, C: I 2", "bar lines where the measures end"},
		{"C: C | Am F | G7 | C", "C: I 4, C: vi 2, C: IV 2, C: V7 4, C: I 4", "a chord chart, whose bar lines tell how long chords last"},
		{"C: C | G || Am | F G | C", "C: I 4, C: V 4 end, C: vi 4, C: IV 2, C: V 2, C: I 4", "a chart in two phrases"},
		{"| C: I IV V I | I V |", "C: I 1, C: IV 1, C: V 1, C: I 1, C: I 1, C: V 1", "bar lines before all and behind all"},
		{"C: I vi IV | V", "C: I 1, C: vi 1, C: IV 1, C: V 1", "three beats of pickup, as three chords do not fill a measure"},
		{"3/4 g: bass D3 | G2 F#2/6 G2 | A2/#6*3", "g: v 1, g: i 1, g: V6 1, g: i 1, g: viio6 3", "a bass with a pickup"},
		{"Time Signature: 3/4\n\nm0 b3 G: I\nm1 IV b3 V\nm2 I", "G: I 1, G: IV 2, G: V 1, G: I 3", "RomanText with a pickup"},
	}
	for _, c := range cases {
		p, err := ReadProgression(c.text)
		if err != nil {
			t.Errorf("%s: %v", c.why, err)
			continue
		}
		var got []string
		for _, chord := range p.Chords {
			s := chord.Reading.String() + " " + chord.Duration.String()
			if chord.PhraseEnd {
				s += " end"
			}
			got = append(got, s)
		}
		if s := strings.Join(got, ", "); s != c.want {
			t.Errorf("%s: %s, want %s", c.why, s, c.want)
		}
	}
}

// A melody with an upbeat is written with bar lines, and its sheet begins with the upbeat
// (common practice, no source).
func TestBarLinesTellThePickup(t *testing.T) {
	for text, want := range map[string]theory.Fraction{
		"3/4 G: soprano D4 | G4*2 A4 | B4*2 A4 | G4*2":            theory.Whole(1),
		"G: soprano G4 A4 B4 G4 | A4*2 G4*2":                      {},
		"6/8 G: soprano D4*1/3 | G4 B4 | A4 G4*2/3":               theory.Frac(1, 2),
		"G: soprano G4*2 A4*2 | B4*4 || A4*4 | G4*4":              {},
		"3/4 G: soprano D4 | G4*2 A4 | B4*2 || A4 | G4*3 || A4*3": theory.Whole(1),
		"G: soprano G4*4 | A4*4 | G4*2":                           {},
		"C: I V | I V | I":                                        {},
	} {
		p, err := ReadProgression(text)
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if got := p.Layout.Pickup; got != want {
			t.Errorf("%q begins with a pickup of %v quarter notes, want %v", text, got, want)
		}
	}
}

func TestWhatIsNoProgressionIsRefused(t *testing.T) {
	for text, want := range map[string]string{
		"":                            "no chord",
		"I IV V":                      "before a key",
		"C: I IX":                     "line 1",
		"C: I\nC: H7":                 "line 2",
		"C: I*0":                      "beats after *",
		"C: I*0.0":                    "beats after *",
		"C: I*1.2.3":                  "beats after *",
		"C: I - V":                    "write I*2 for a chord of two beats",
		"C: I R V":                    "N.C.*2 for a rest of two",
		"C: I 3/4 V":                  "before the first chord",
		"C: I*99999999":               "beats after *",
		"Q: I":                        "not a key",
		"C: I*2 IV V | V I*2 | I*4":   "bar line 2 comes 3 beats after",
		"C: I*2 IV V\nvi | V*4 | I*4": "line 2: bar line 1 comes 5 beats after",
		"C: I IV V I | ii IV V | I":   "measure 2 has 3 chords",
		"m1 I b3 V":                   "line 1: the numeral \"I\" stands before any key",
		"m1":                          "line 1: the analysis holds no numeral",
		"\nm1 C: Q":                   "line 2: ",
	} {
		_, err := ReadProgression(text)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want something about %q", text, err, want)
		}
		if unreadable := (*ProgressionError)(nil); !errors.As(err, &unreadable) {
			t.Errorf("%q: %T is no error of the text", text, err)
		}
	}
}

func FuzzReadProgression(f *testing.F) {
	f.Add("4/4 G: I vi ii65 V7*2 I || e: i iv6 V")
	f.Add("3/4 G: soprano D4 | G4 | A4*2 B4 ||")
	f.Add("m0 b3 G: I\nm1 IV b3 V")
	f.Fuzz(func(t *testing.T, text string) {
		p, err := ReadProgression(text)
		if err != nil {
			return
		}
		if len(p.Chords) == 0 || len(p.Chords) != len(p.Layout.Durations) {
			t.Fatalf("%d chords, %d durations", len(p.Chords), len(p.Layout.Durations))
		}
		for _, c := range p.Chords {
			if c.Duration.Sign() <= 0 || c.Reading.Size() < 3 {
				t.Fatalf("%+v", c)
			}
		}
	})
}
