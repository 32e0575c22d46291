package voicing

import (
	"context"
	"math"
	"testing"

	"partwright/theory/harmony/tune"
)

// shortTunes are phrases of our own.
var shortTunes = []string{
	"a: soprano E5 D5 C5 B4 A4 G4 A4 B4*2",
	"F: soprano A4 A4 G4 A4 Bb4 C5 D5 C5*2",
	"F: soprano C5 A4 D5 C5 Bb4 A4 G4 A4*2",
	"G: soprano D4 G4 A4 B4 A4 G4",
	"c: soprano C5 D5 Eb5 Eb5 D5 C5",
	"D: soprano F#4 G4 A4 D5 C#5 B4",
	"a: soprano A4 C5 B4 A4 G#4 A4",
	"Bb: soprano F4 Bb4 C5 D5 Eb5 D5",
	"E: soprano G#4 A4 B4 G#4 F#4 E4",
}

// TestLinesEqualEnumeration compares the voicing that is best in whole lines with every voicing
// of the same chords that breaks no rule, and what a harmonized tune is voiced with in the end.
func TestLinesEqualEnumeration(t *testing.T) {
	for _, text := range shortTunes {
		p, err := ReadProgression(text)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		harmonize(t, p, Applied)
		for k := range p.Chords {
			p.Chords[k].weary = nil
		}
		s, err := NewSearch(context.Background(), p.Problem(Chorale()))
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		style := &s.problem.Style
		found := s.sung()
		if got, want := found.Cost+sung(found, style), leastOf(s.lattice); got != want {
			t.Errorf("%s: whole lines cost %d, the least of all voicings %d", text, got, want)
		}
	}
}

// leastOf is the least that a voicing costs with what its lines count, of all that there are.
func leastOf(l *lattice) Cost {
	style, least := &l.problem.Style, Cost(math.MaxInt32)
	chords, steps := make([]Chord, len(l.layers)), map[state][]edge{}
	for k := range l.edges {
		for _, e := range l.edges[k] {
			at := state{slot: k - 1, index: int(e.from)}
			steps[at] = append(steps[at], e)
		}
	}
	var goOn func(k int, at int32, move sopranoMove, cost Cost)
	goOn = func(k int, at int32, move sopranoMove, cost Cost) {
		if cost >= least {
			return
		}
		chords[k] = l.layers[k].chord(int(at), len(style.Voices))
		if k+1 == len(l.layers) {
			least = min(least, cost+sung(&Solution{Chords: chords}, style))
			return
		}
		for _, e := range steps[state{slot: k, index: int(at)}] {
			goOn(k+1, e.to, e.move, cost+e.cost+Cost(l.after[move][e.move]))
		}
	}
	first := &l.layers[0]
	for index := range first.size {
		if cost := first.cost[first.at(index, sopranoFree)]; cost != unreachable {
			goOn(0, int32(index), sopranoFree, Cost(cost))
		}
	}
	return least
}

// TestHarmonizedTunesAreSung holds the voicing that is the cheapest in the end to the one that
// is best in whole lines.
func TestHarmonizedTunesAreSung(t *testing.T) {
	for _, text := range shortTunes {
		p, err := ReadProgression(text)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		pose := func() *Problem { return p.Problem(Chorale()) }
		if err := p.Harmonize(context.Background(), tune.Default, Applied, pose); err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		s, err := NewSearch(context.Background(), pose())
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		best, lines := s.best, s.sung()
		if got, want := best.Cost+sung(best, &s.problem.Style), lines.Cost+sung(lines, &s.problem.Style); got != want {
			t.Errorf("%s: the cheapest costs %d with its lines, the best lines %d", text, got, want)
		}
	}
}
