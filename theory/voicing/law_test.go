package voicing

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

var lawChanges = flag.Int("law-changes", 20, "pairs of chords for which every pair of sonorities is compared with the rules, in each texture")

// lawWords are chords that ask something of their neighbors.
var lawWords = [2][]string{
	theory.MajorMode: {"I", "I6", "ii", "ii6", "ii65", "iii", "IV", "IV6", "V", "V6", "V7", "V65", "V43", "V42", "vi", "vi6", "viio6", "viio", "Cad64", "I64", "IV64", "V/V", "V7/V", "V65/V", "viio7/V", "bVII", "bVI", "iv", "N6", "Ger65", "It6", "IV7", "IM7", "ii42"},
	theory.MinorMode: {"i", "i6", "iio6", "iiø65", "III", "iv", "iv6", "V", "V6", "V7", "V65", "V43", "V42", "VI", "viio6", "viio7", "viio65", "Cad64", "V7/iv", "N6", "Ger65", "Fr43", "It6", "VII", "v6"},
}

// TestSolverAndRulesForbidTheSame goes from arrangements of one chord to every
// arrangement of the next: what the solver bars is what the rules call a fault, and
// nothing else.
func TestSolverAndRulesForbidTheSame(t *testing.T) {
	random := rand.New(rand.NewPCG(71, 73))
	for _, style := range []Style{Chorale(), Keyboard(), ThreeVoices()} {
		t.Run(style.Name, func(t *testing.T) {
			differences, examples, compared := map[string]int{}, map[string]string{}, 0
			for range *lawChanges {
				q := randomChange(t, random, style)
				for _, from := range someArrangements(&q, random, 5) {
					q.From.Pitches = from
					for _, o := range Options(q) {
						compared++
						if (o.barred > 0) == (o.Severity() == partwriting.Fault) {
							continue
						}
						name := "barred by the solver alone"
						if o.barred == 0 {
							name = string(o.Findings[0].Rule) + " by the rules alone"
						}
						differences[name]++
						examples[name] = fmt.Sprintf("%v %v to %v %v", q.From.Reading, q.From.Pitches, q.To, o.Pitches)
					}
				}
			}
			var names []string
			for name := range differences {
				names = append(names, name)
			}
			slices.Sort(names)
			for _, name := range names {
				t.Errorf("%s: %d times, such as %s", name, differences[name], examples[name])
			}
			t.Logf("%d options compared", compared)
		})
	}
}

// randomChange draws two chords of one key.
func randomChange(t *testing.T, random *rand.Rand, style Style) Question {
	tonic := theory.PitchClassAtFifths(random.IntN(9) - 4)
	key := theory.MajorKey(tonic)
	if random.IntN(2) == 0 {
		key = theory.MinorKey(tonic)
	}
	words := lawWords[key.Mode]
	read := func() harmony.Reading {
		word := words[random.IntN(len(words))]
		n, err := harmony.ParseNumeral(word, key.Mode)
		if err != nil {
			t.Fatal(err)
		}
		return harmony.Reading{Key: key, Numeral: n}
	}
	return Question{From: Chord{Reading: read()}, To: read(), Style: style}
}

// standsOpen reports whether something is wrong with a sonority that may go on in the
// next one, where it is not told again: a member is missing, a gap too wide.
func (s *set) standsOpen(a *arrangement, style *Style) bool {
	count := make([]int, s.chord.Size())
	for v := range style.Voices {
		count[s.tones[v][a.tone[v]].member]++
		if v > 0 && v+1 < len(style.Voices) && s.tones[v-1][a.tone[v-1]].semitones-s.tones[v][a.tone[v]].semitones > 12 {
			return true
		}
	}
	if len(style.Voices) == 3 { // what three voices may leave out
		return count[1] == 0 || len(count) == 3 && count[0] == 0 || len(count) == 4 && count[3] == 0
	}
	return slices.Contains(count, 0)
}

// someArrangements draws arrangements of the first chord, whatever it doubles.
func someArrangements(q *Question, random *rand.Rand, n int) (rows [][]theory.Pitch) {
	first := arrangeWith(Choice{Reading: q.From.Reading}, &Slot{}, &q.Style, anyhow)
	for range min(n, len(first.arrangements)) {
		a := &first.arrangements[random.IntN(len(first.arrangements))]
		if first.standsOpen(a, &q.Style) {
			continue
		}
		var row []theory.Pitch
		for v := range q.Style.Voices {
			row = append(row, first.tones[v][a.tone[v]].pitch)
		}
		rows = append(rows, row)
	}
	return rows
}

// A teacher's own set steers what is composed: a spacing that may not exceed a fifth
// keeps neighbors together, thirds that may not be doubled are not, and what a set is
// silent about is free.
func TestRuleSetSteers(t *testing.T) {
	widest := func(rules *partwriting.RuleSet) (gap int) {
		p := progression(Chorale(), phrase16...)
		p.Style.Rules = rules
		top := theory.MustPitch("E5")
		p.Slots[0].Fixed = []*theory.Pitch{&top}
		s, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range s.Chords {
			for v := range 2 {
				gap = max(gap, theory.Between(c.Pitches[v+1], c.Pitches[v]).Semitones)
			}
		}
		return gap
	}
	narrow := &partwriting.RuleSet{Name: "narrow", Limits: partwriting.Limits{UpperSpacing: theory.PerfectFifth}}
	if by, usual := widest(narrow), widest(nil); by > theory.PerfectFifth.Semitones || usual <= by {
		t.Errorf("neighbors stand %d semitones apart where a fifth is the most, %d without that limit", by, usual)
	}
	parallel := Question{From: chord(one, "G4", "E4", "C4", "C3"), To: reading(two), Style: Chorale()}
	for name, want := range map[string]int{partwriting.DefaultRuleSet: 1, "free": 0} {
		parallel.Style.Rules = partwriting.RuleSetByName(name)
		for _, o := range Options(parallel) {
			if fmt.Sprint(o.Pitches) == "[A4 F4 D4 D3]" && min(o.barred, 1) != want {
				t.Errorf("%s: parallel fifths and octaves are barred for %d rules", name, o.barred)
			}
		}
	}
}
