package harmony

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
)

// stacks are figures one after the other, a quarter each, each from the top.
func stacks(all ...[]theory.Figure) []FigureStack {
	var out []FigureStack
	for _, f := range all {
		out = append(out, FigureStack{Figures: f, Length: theory.Whole(1)})
	}
	return out
}

// Suspensions are those of Open Music Theory v1 ("Thoroughbass figures") and Butterfield,
// unit 10: 4-3, 7-6 and 9-8 over one bass, doubled ones, 2-3 in the bass; 7-8 is the
// retardation of Hutchinson, ch. 10.
func TestSuspensionsInFigures(t *testing.T) {
	for _, tt := range []struct {
		bass, key string
		stacks    []FigureStack
		chord     string
		late      string
	}{
		{"G", "C", stacks(figures("4"), figures("3")), "G", "C-B 1"},
		{"D", "C", stacks(figures("7"), figures("6")), "Bdim/D", "C-B 1"},
		{"C", "C", stacks(figures("9"), figures("8")), "C", "D-C 1"},
		{"G", "c", stacks(figures("5", "4"), figures("5", "n")), "G", "C-B 1"},
		{"C", "C", stacks(figures("9", "4"), figures("8", "3")), "C", "F-E 1, D-C 1"},
		{"C", "C", stacks(figures("9", "7"), figures("8", "6")), "Am/C", "B-A 1, D-C 1"},
		{"E", "C", stacks(figures("9", "6"), figures("8", "6")), "C/E", "F-E 1"},
		{"G", "C", stacks(figures("7", "4"), figures("7", "3")), "G7", "C-B 1"},
		{"C", "C", stacks(figures("7", "4", "2"), figures("8", "5", "3")), "C", "D-C 1, F-E 1, B-C 1"},
		{"D", "C", stacks(figures("7"), figures("6", "5")), "Bm7b5/D", "C-B 1"},
		{"C", "C", stacks(figures("8", "5", "2"), figures("8", "5", "3")), "C", "D-C 1"},
	} {
		chords, err := RealizeFigures([]FiguredNote{{Bass: class(tt.bass), Stacks: tt.stacks}}, func(int) theory.KeySignature {
			return theory.KeySignature{Fifths: int8(key(tt.key).Signature())}
		})
		if err != nil || len(chords) != 1 {
			t.Errorf("%s over %s: %v, %v", figureText(tt.stacks[0].Figures), tt.bass, chords, err)
			continue
		}
		var late []string
		for _, l := range chords[0].Late {
			late = append(late, fmt.Sprintf("%v-%v %v", l.From, l.To, l.For))
		}
		if got := strings.Join(late, ", "); got != tt.late || chords[0].Chord.Symbol() != tt.chord || chords[0].Length != theory.Whole(2) {
			t.Errorf("%s over %s: %s with %s for %v, want %s with %s", chords[0].Text, tt.bass, chords[0].Chord.Symbol(), got, chords[0].Length, tt.chord, tt.late)
		}
	}
}

// Figures that change under a note, lines that hold a chord, and a bass that is suspended.
func TestFiguredLines(t *testing.T) {
	hold := FigureStack{Holds: true, Length: theory.Whole(1)}
	for _, tt := range []struct {
		why   string
		notes []FiguredNote
		want  string
	}{
		{"6/4 to 5/3 are two chords", []FiguredNote{{class("G"), stacks(figures("6", "4"), figures("5", "3"))}}, "C/G 1, G 1"},
		{"so are 5 and 6", []FiguredNote{{class("C"), stacks(figures("5"), figures("6"))}}, "C 1, Am/C 1"},
		{"8-7 adds a seventh", []FiguredNote{{class("G"), stacks(figures("8"), figures("7"))}}, "G 1, G7 1"},
		{"the double cadence", []FiguredNote{{class("G"), stacks(figures("6", "4"), figures("5", "4"), figures("5", "3"))}}, "C/G 1, G 2 C-B"},
		{"a line holds the chord while the bass goes on", []FiguredNote{{class("C"), stacks(nil)}, {class("D"), []FigureStack{hold}}, {class("E"), stacks(figures("6"))}}, "C 2, C/E 1"},
		{"2-3 in the bass", []FiguredNote{{class("C"), stacks(nil)}, {class("C"), stacks(figures("5", "2"))}, {class("B"), stacks(figures("6"))}}, "C 1, G/B 2 below 1"},
		{"a sharp raises a flat of the signature in older prints", []FiguredNote{{class("G"), stacks(figures("#"))}}, "G 1"},
	} {
		signature := theory.KeySignature{}
		if strings.Contains(tt.why, "older") {
			signature.Fifths = -2
		}
		chords, err := RealizeFigures(tt.notes, func(int) theory.KeySignature { return signature })
		var got []string
		for _, c := range chords {
			text := fmt.Sprintf("%s %v", c.Chord.Symbol(), c.Length)
			for _, l := range c.Late {
				text += fmt.Sprintf(" %v-%v", l.From, l.To)
			}
			if c.Below.Sign() > 0 {
				text += fmt.Sprintf(" below %v", c.Below)
			}
			got = append(got, text)
		}
		if s := strings.Join(got, ", "); err != nil || s != tt.want {
			t.Errorf("%s: %s, %v, want %s", tt.why, s, err, tt.want)
		}
	}
}

func TestFiguresThatAreRefused(t *testing.T) {
	hold := FigureStack{Holds: true, Length: theory.Whole(1)}
	for want, notes := range map[string][]FiguredNote{
		"8 5 2 over C":       {{class("C"), stacks(figures("8", "5", "2"))}},
		"4 over G":           {{class("G"), stacks(figures("4"))}, {class("C"), stacks(nil)}},
		"19 is no figure":    {{class("G"), stacks([]theory.Figure{{Number: 19}})}},
		"quarter-sharp":      {{class("G"), stacks([]theory.Figure{{Number: 6, Prefix: "quarter-sharp"}})}},
		"no chord before it": {{class("G"), []FigureStack{hold}}},
	} {
		_, err := RealizeFigures(notes, func(int) theory.KeySignature { return theory.KeySignature{} })
		var wrong *FiguresError
		if !errors.As(err, &wrong) || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want an error about %q", err, want)
		}
	}
}
