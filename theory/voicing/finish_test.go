package voicing

import (
	"math/rand/v2"
	"testing"

	"partwright/theory"
)

// TestFinishEachIsEachFinished holds each option of random phrases, and voices the rest
// by a search of its own: it costs the same and breaks as many rules. The rest that is
// named costs what is said of it.
func TestFinishEachIsEachFinished(t *testing.T) {
	random := rand.New(rand.NewPCG(91, 3))
	compared, broken := 0, 0
	for i := range 24 {
		style := []Style{Chorale(), Keyboard(), ThreeVoices()}[i%3]
		style.Rules = lawsOf()[i/3%len(lawsOf())]
		p := randomPhrase(t, random, 3+random.IntN(4))
		next := 1 + random.IntN(len(p.Chords)-1)
		first, _, err := p.Finish(t.Context(), style)
		if err != nil {
			continue
		}
		for k := range next {
			p.Hold(k, first.Chords[k].Pitches)
		}
		q := Question{From: first.Chords[next-1], To: p.Chords[next].Reading, Style: style, Best: 2}
		var ways [][]theory.Pitch
		for _, o := range Options(q) {
			ways = append(ways, o.Pitches)
		}
		all, err := p.FinishEach(t.Context(), style, next, ways)
		if err != nil {
			t.Fatal(err)
		}
		for w, got := range all {
			one := p.Copy()
			one.Hold(next, ways[w])
			want, faults, err := one.Finish(t.Context(), style)
			if err != nil {
				t.Fatal(err)
			}
			for j, c := range got.Rest {
				one.Hold(next+1+j, c.Pitches)
			}
			again, _, err := one.Finish(t.Context(), style)
			if err != nil {
				t.Fatal(err)
			}
			if got.Cost != want.Cost || got.Broken != faults || again.Cost != want.Cost || again.broken != faults {
				t.Errorf("%s, chord %d as %v: %d with %d broken, its rest %d with %d; by itself %d with %d",
					one.Row(), next+1, ways[w], got.Cost, got.Broken, again.Cost, again.broken, want.Cost, faults)
			}
			compared++
			broken += min(faults, 1)
		}
	}
	if broken == 0 || broken == compared {
		t.Errorf("of %d phrases %d break a rule", compared, broken)
	}
	t.Logf("%d ways on, %d with a fault", compared, broken)
}

// randomPhrase is a row of chords of one key.
func randomPhrase(t *testing.T, random *rand.Rand, n int) *Progression {
	q := randomChange(t, random, Chorale())
	key := q.To.Key
	text := key.Abbreviation() + ":"
	words := lawWords[key.Mode]
	for range n {
		text += " " + words[random.IntN(len(words))]
		if random.IntN(8) == 0 {
			text += " ||"
		}
	}
	return read(t, text)
}
