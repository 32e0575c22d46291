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
				t.Logf("%s: %d times, such as %s", name, differences[name], examples[name])
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

// someArrangements draws arrangements of the first chord, whatever it doubles.
func someArrangements(q *Question, random *rand.Rand, n int) (rows [][]theory.Pitch) {
	first := arrangeWith(Choice{Reading: q.From.Reading}, &Slot{}, &q.Style, lenient(q.From.Reading, &q.Style))
	for range min(n, len(first.arrangements)) {
		a := &first.arrangements[random.IntN(len(first.arrangements))]
		var row []theory.Pitch
		for v := range q.Style.Voices {
			row = append(row, first.tones[v][a.tone[v]].pitch)
		}
		rows = append(rows, row)
	}
	return rows
}
