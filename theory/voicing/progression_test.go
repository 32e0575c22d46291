package voicing

import (
	"errors"
	"strings"
	"testing"
)

func TestReadProgression(t *testing.T) {
	cases := []struct{ text, want, why string }{
		{"C: I vi ii6 V7*2 I", "C: I 1, C: vi 1, C: ii6 1, C: V7 2, C: I 1", "numerals in a row, a beat each"},
		{"C: I*1.5 V*.5 I*3/2", "C: I 3/2, C: V 1/2, C: I 3/2", "beats as decimals"},
		{"C: I, IV; V7*2, I", "C: I 1, C: IV 1, C: V7 2, C: I 1", "chords listed as in a sentence"},
		{"6/8 g: i V", "g: i 3/2, g: V 3/2", "the beat of 6/8 is a dotted quarter"},
		{"Bb: Bb Gm Cm7/Eb F7 Bb", "Bb: I 1, Bb: vi 1, Bb: ii65 1, Bb: V7 1, Bb: I 1", "chord symbols"},
		{"C: I V/V V || a: i", "C: I 1, C: V/V 1, C: V 1 end, a: i 1", "applied chords, a phrase end and another key"},
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

func TestWhatIsNoProgressionIsRefused(t *testing.T) {
	for text, want := range map[string]string{
		"":              "no chord",
		"I IV V":        "before a key",
		"C: I IX":       "line 1",
		"C: I\nC: H7":   "line 2",
		"C: I*0":        "beats after *",
		"C: I*0.0":      "beats after *",
		"C: I*1.2.3":    "beats after *",
		"C: I - V":      "write I*2 for a chord of two beats",
		"C: I R V":      "N.C.*2 for a rest of two",
		"C: I 3/4 V":    "before the first chord",
		"C: I*99999999": "beats after *",
		"Q: I":          "not a key",
		"m1 I b3 V":     "line 1: the numeral \"I\" stands before any key",
		"m1":            "line 1: the analysis holds no numeral",
		"\nm1 C: Q":     "line 2: ",
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
