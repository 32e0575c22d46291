package tune

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
)

// contexts of a change: how far the end of the phrase is, and whether it falls on a
// strong beat.
const contexts = 8

// kinds of groups that share a weight: chords of one root, of one root and inversion, and
// each by itself; for changes those of both chords, both roots, both bass notes.
const kinds = 3

// chain is the random field for one mode.
type chain struct {
	states []harmony.Numeral
	// shares are how much of all beats has each chord.
	shares []float64
	group  [kinds][]int // of each state
	size   [kinds]int
	link   [kinds][]int // of each pair of states, the first times the number of states
	links  [kinds]int

	features map[string]int
	single   [][kinds][]float64             // by feature and group
	double   [kinds][contexts + 1][]float64 // by context and link; the last counts everywhere
	// pairs are the sums for each context and pair, exps their exponentials.
	pairs, exps [contexts][]float64
}

func newChain(mode theory.Mode, states []harmony.Numeral, shares []float64) *chain {
	c := &chain{states: states, shares: shares, features: map[string]int{}}
	key := theory.MajorKey(theory.PitchClass{Step: theory.C})
	if mode == theory.MinorMode {
		key = theory.MinorKey(theory.PitchClass{Step: theory.C})
	}
	root := func(n harmony.Numeral) string { return n.Root(key).String() }
	names := [kinds]func(harmony.Numeral) string{
		root,
		func(n harmony.Numeral) string { return fmt.Sprint(root(n), n.Inversion, n.Cadential) },
		func(n harmony.Numeral) string { return fmt.Sprint(n) },
	}
	bass := func(n harmony.Numeral) string { return harmony.Reading{Key: key, Numeral: n}.Bass().String() }
	changes := [kinds]func(harmony.Numeral) string{names[2], root, bass}
	for k := range kinds {
		c.group[k], c.size[k] = number(len(states), func(i int) string { return names[k](states[i]) })
		n := len(states)
		c.link[k], c.links[k] = number(n*n, func(i int) string { return changes[k](states[i/n]) + ">" + changes[k](states[i%n]) })
		for at := range c.double[k] {
			c.double[k][at] = make([]float64, c.links[k])
		}
	}
	return c
}

// wide begins the names of features that look far and say something about roots only.
const wide = "wide "

// kindsOf is for how many of the kinds of groups a feature has weights.
func kindsOf(feature string) int {
	if strings.HasPrefix(feature, wide) {
		return 1
	}
	return kinds
}

// number gives each of n things a number, the same to those of one name.
func number(n int, name func(int) string) (numbers []int, count int) {
	known := map[string]int{}
	for i := range n {
		id, ok := known[name(i)]
		if !ok {
			id = len(known)
			known[name(i)] = id
		}
		numbers = append(numbers, id)
	}
	return numbers, len(known)
}

// feature is the number of a feature, made if it is new.
func (c *chain) feature(name string) int {
	id, ok := c.features[name]
	if !ok {
		id = len(c.single)
		c.features[name] = id
		var w [kinds][]float64
		for k := range kindsOf(name) {
			w[k] = make([]float64, c.size[k])
		}
		c.single = append(c.single, w)
	}
	return id
}

// known are the numbers of the features that have weights.
func (c *chain) known(names []string) []int {
	var out []int
	for _, name := range names {
		if id, ok := c.features[name]; ok {
			out = append(out, id)
		}
	}
	return out
}

// alone is what speaks for each chord under a note with these features.
func (c *chain) alone(features []int) []float64 {
	out := make([]float64, len(c.states))
	for k := range kinds {
		sums := make([]float64, c.size[k])
		for _, id := range features {
			for g, w := range c.single[id][k] {
				sums[g] += w
			}
		}
		for s, g := range c.group[k] {
			out[s] += sums[g]
		}
	}
	return out
}

// join sums the weights of changes up.
func (c *chain) join() {
	for at := range contexts {
		c.pairs[at], c.exps[at] = make([]float64, len(c.link[0])), make([]float64, len(c.link[0]))
		for k := range kinds {
			for i, link := range c.link[k] {
				c.pairs[at][i] += c.double[k][at][link] + c.double[k][contexts][link]
			}
		}
		for i, x := range c.pairs[at] {
			c.exps[at][i] = math.Exp(x)
		}
	}
}

// phrase is a melody on its way through the field.
type phrase struct {
	notes []Note
	key   theory.Key
}

// degree is a note in fifths above the tonic, "^" before the phrase and "$" after it.
func (p *phrase) degree(i int) string {
	switch {
	case i < 0:
		return "^"
	case i >= len(p.notes):
		return "$"
	}
	return fmt.Sprint(p.notes[i].Pitch.Class().Fifths() - p.key.Tonic.Fifths())
}

// move is how the melody comes to a note, in letter names.
func (p *phrase) move(i int) string {
	if i < 1 || i >= len(p.notes) {
		return "."
	}
	return fmt.Sprint(p.notes[i].Pitch.Diatonic() - p.notes[i-1].Pitch.Diatonic())
}

// farFromEnd is the distance from the end of a phrase from which on it is told no more.
const farFromEnd = 5

func (p *phrase) left(i int) int { return min(len(p.notes)-1-i, 3) }

// context is that of the change to a note.
func (p *phrase) context(i int) int {
	c := 2 * p.left(i)
	if p.notes[i].Strength > 1 {
		c++
	}
	return c
}

// features are what is asked about a note: itself, up to three notes after it and two before, how
// the line moves, where it stands in the measure and in the phrase, and how the phrase ends.
func (p *phrase) features(i int) []string {
	d, next, last, after, before := p.degree(i), p.degree(i+1), p.degree(i-1), p.degree(i+2), p.degree(i-2)
	left, strength := p.left(i), min(p.notes[i].Strength, 2)
	end := len(p.notes) - 1
	far := min(end-i, farFromEnd)
	return []string{
		"any", "note:" + d, "next:" + d + "," + next, "last:" + last + "," + d, "both:" + last + "," + d + "," + next,
		fmt.Sprintf("place:%d,%d,%d", strength, left, min(i, 1)),
		fmt.Sprintf("at:%d,%d,%s", strength, left, d),
		fmt.Sprintf("end:%d,%s,%s", left, d, next),
		fmt.Sprintf("came:%d,%s,%s", left, last, d),
		"in:" + p.move(i) + "," + d, "out:" + p.move(i+1) + "," + d,
		fmt.Sprintf("start:%d,%s,%s,%d", min(i, 1), d, next, strength),
		fmt.Sprintf(wide+"final:%s,%d,%s", p.degree(end), far, d),
		fmt.Sprintf(wide+"finals:%s,%s,%d", p.degree(end-1), p.degree(end), far),
		fmt.Sprintf(wide+"to:%s,%s,%s", d, next, after),
		fmt.Sprintf(wide+"from:%s,%s,%s", before, last, d),
		fmt.Sprintf(wide+"further:%s,%s,%s,%s", d, next, after, p.degree(i+3)),
		fmt.Sprintf(wide+"around:%s,%s,%s,%s,%s", before, last, d, next, after),
		fmt.Sprintf(wide+"beat:%d,%s,%s,%s", strength, last, d, next),
	}
}

// likely are how likely each chord is at each note, given what speaks for each alone, and calls
// pair, which may be nil, with how likely each change to a note is.
func (c *chain) likely(p *phrase, logs [][]float64, pair func(note int, q []float64)) [][]float64 {
	size, n := len(c.states), len(p.notes)
	alone, come := make([][]float64, n), make([][]float64, n)
	for i := range n {
		alone[i] = slices.Clone(logs[i])
		exponentials(alone[i])
		if i == 0 {
			come[0] = share(slices.Clone(alone[0]))
			continue
		}
		come[i] = make([]float64, size)
		for r, x := range come[i-1] {
			for s, e := range c.exps[p.context(i)][r*size : r*size+size] {
				come[i][s] += x * e
			}
		}
		for s := range size {
			come[i][s] *= alone[i][s]
		}
		share(come[i])
	}
	ahead := make([]float64, size)
	for s := range ahead {
		ahead[s] = 1
	}
	out := make([][]float64, n)
	for i := n - 1; i >= 0; i-- {
		out[i] = make([]float64, size)
		for s := range size {
			out[i][s] = come[i][s] * ahead[s]
		}
		share(out[i])
		if i == 0 {
			break
		}
		onward := make([]float64, size)
		for s := range size {
			onward[s] = alone[i][s] * ahead[s]
		}
		changes := c.exps[p.context(i)]
		if pair != nil {
			q := make([]float64, size*size)
			for r, x := range come[i-1] {
				for s, e := range changes[r*size : r*size+size] {
					q[r*size+s] = x * e * onward[s]
				}
			}
			pair(i, share(q))
		}
		back := make([]float64, size)
		for r := range size {
			for s, e := range changes[r*size : r*size+size] {
				back[r] += e * onward[s]
			}
		}
		ahead = share(back)
	}
	return out
}

// exponentials takes them, with the largest 1.
func exponentials(all []float64) {
	most := math.Inf(-1)
	for _, x := range all {
		most = max(most, x)
	}
	for i, x := range all {
		all[i] = math.Exp(x - most)
	}
}

// share divides by the sum.
func share(all []float64) []float64 {
	sum := 0.0
	for _, x := range all {
		sum += x
	}
	for i := range all {
		all[i] /= sum
	}
	return all
}
