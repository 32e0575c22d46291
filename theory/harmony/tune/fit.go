package tune

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
)

// Example is a phrase with the chords that stand under its notes.
type Example struct {
	Notes  []Note
	Chords []harmony.Reading
	// Key is the one in which the chords are counted.
	Key theory.Key
	// Weight is how often it counts.
	Weight float64
}

// Settings of the fit.
const (
	// rarest is how often a chord occurs at least; what is rarer counts as the most
	// frequent chord on its root.
	rarest = 24
	// rarestFeature is at how many notes a feature is met at least; what is rarer is not asked.
	rarestFeature = 50
	// pull draws every weight to nothing, as if so many phrases spoke against it.
	pull = 300
	// stride is the size of the first steps (AdaGrad), batch how many phrases make one.
	stride, batch = 0.15, 16
	rounds        = 2
	// The weights are the mean of those after each meanEvery-th step of the last round
	// (Polyak and Juditsky, SIAM Journal on Control and Optimization 30, 1992).
	meanEvery = 10
)

// Fit learns a model from examples.
func Fit(all []Example) *Model {
	m := &Model{}
	for _, mode := range []theory.Mode{theory.MajorMode, theory.MinorMode} {
		var own []Example
		for _, e := range all {
			if e.Key.Mode == mode {
				own = append(own, e)
			}
		}
		m.modes[mode] = fit(mode, own)
	}
	return m
}

// In is a chord counted in another key than that of its label, in the spelling in which
// the model has it.
func In(key theory.Key, r harmony.Reading) harmony.Numeral {
	n := harmony.ReadIn(key, harmony.Chord{Root: r.Root(), Quality: r.Quality(), Inversion: r.Inversion()}).Numeral
	n.Cadential = r.Numeral.Cadential && r.Key == key
	return n
}

// fitter is a chain that learns.
type fitter struct {
	*chain
	index map[harmony.Numeral]int
	near  map[theory.PitchClass]int // the most frequent chord on a root, over C
	// squares are sums of squared gradients, in the shape of the weights.
	singles [][kinds][]float64
	doubles [kinds][contexts + 1][]float64
	number  float64
	// sums are those of the weights that were remembered, summed how often.
	sums   [][]float64
	summed float64
}

func fit(mode theory.Mode, all []Example) *chain {
	counts, weights, sum := map[harmony.Numeral]int{}, map[harmony.Numeral]float64{}, 0.0
	for _, e := range all {
		for _, r := range e.Chords {
			n := In(e.Key, r)
			counts[n]++
			weights[n] += e.Weight
			sum += e.Weight
		}
	}
	var states []harmony.Numeral
	for n, count := range counts {
		if count >= rarest {
			states = append(states, n)
		}
	}
	slices.SortFunc(states, func(a, b harmony.Numeral) int {
		return cmp.Or(counts[b]-counts[a], cmp.Compare(a.Text(mode), b.Text(mode)))
	})
	shares := make([]float64, len(states))
	for s, n := range states {
		shares[s] = weights[n] / sum
	}
	f := &fitter{chain: newChain(mode, states, shares), index: map[harmony.Numeral]int{}, near: map[theory.PitchClass]int{}, number: float64(len(all))}
	for s, n := range states {
		f.index[n] = s
		if root := n.Root(overC(mode)); !has(f.near, root) {
			f.near[root] = s
		}
	}
	for k := range kinds {
		for at := range f.doubles[k] {
			f.doubles[k][at] = make([]float64, f.links[k])
		}
	}
	f.learn(mode, all)
	f.prune()
	return f.chain
}

// prune forgets the weights that say little; the table would be four times as long.
func (f *fitter) prune() {
	forget := func(weights []float64) {
		for i, x := range weights {
			if math.Abs(x) < least {
				weights[i] = 0
			}
		}
	}
	for id := range f.single {
		for k := range kinds {
			forget(f.single[id][k])
		}
	}
	for k := range kinds {
		for at := range f.double[k] {
			forget(f.double[k][at])
		}
	}
	f.join()
}

func has[K comparable, V any](m map[K]V, k K) bool {
	_, ok := m[k]
	return ok
}

func overC(mode theory.Mode) theory.Key {
	return theory.Key{Tonic: theory.PitchClass{Step: theory.C}, Mode: mode}
}

// lesson is an example in numbers.
type lesson struct {
	phrase
	names    [][]string
	features [][]int
	states   []int
	weight   float64
}

func (f *fitter) lesson(mode theory.Mode, e *Example) (lesson, bool) {
	l := lesson{phrase: phrase{e.Notes, e.Key}, weight: e.Weight}
	for i, r := range e.Chords {
		n := In(e.Key, r)
		s, ok := f.index[n]
		if !ok {
			s, ok = f.near[n.Root(overC(mode))]
		}
		if !ok {
			return l, false
		}
		l.states = append(l.states, s)
		l.names = append(l.names, l.phrase.features(i))
	}
	return l, true
}

// take numbers the features that are met often enough.
func (f *fitter) take(lessons []lesson) {
	met := map[string]int{}
	for i := range lessons {
		for _, names := range lessons[i].names {
			for _, name := range names {
				met[name]++
			}
		}
	}
	for i := range lessons {
		for _, names := range lessons[i].names {
			var ids []int
			for _, name := range names {
				if met[name] >= rarestFeature {
					ids = append(ids, f.feature(name))
				}
			}
			lessons[i].features = append(lessons[i].features, ids)
		}
		lessons[i].names = nil
	}
}

func (f *fitter) learn(mode theory.Mode, all []Example) {
	var lessons []lesson
	for i := range all {
		if l, ok := f.lesson(mode, &all[i]); ok {
			lessons = append(lessons, l)
		}
	}
	f.take(lessons)
	for id := range f.single {
		var squares [kinds][]float64
		for k := range squares {
			squares[k] = make([]float64, len(f.single[id][k]))
		}
		f.singles = append(f.singles, squares)
	}
	random := rand.New(rand.NewPCG(1, 2)) // #nosec G404 -- the order of examples is no secret
	for round := range rounds {
		order := random.Perm(len(lessons))
		for from := 0; from < len(order); from += batch {
			f.join()
			g := gradient{singles: map[int]*[kinds][]float64{}}
			for at := range g.pairs {
				g.pairs[at] = make([]float64, len(f.link[0]))
			}
			for _, i := range order[from:min(from+batch, len(order))] {
				f.teach(&lessons[i], &g)
			}
			f.step(&g)
			if round == rounds-1 && from/batch%meanEvery == 0 {
				f.remember()
			}
		}
	}
	f.settle()
}

// all are all weights.
func (c *chain) all() (out [][]float64) {
	for id := range c.single {
		out = append(out, c.single[id][:]...)
	}
	for k := range kinds {
		out = append(out, c.double[k][:]...)
	}
	return out
}

// remember adds the weights to those that the mean is of.
func (f *fitter) remember() {
	weights := f.all()
	if f.sums == nil {
		f.sums = make([][]float64, len(weights))
		for i := range weights {
			f.sums[i] = make([]float64, len(weights[i]))
		}
	}
	f.summed++
	for i := range weights {
		for j, x := range weights[i] {
			f.sums[i][j] += x
		}
	}
}

// settle sets the weights to the mean.
func (f *fitter) settle() {
	for i, weights := range f.all() {
		for j := range weights {
			weights[j] = f.sums[i][j] / f.summed
		}
	}
}

// gradient is what a batch asks for.
type gradient struct {
	singles map[int]*[kinds][]float64
	pairs   [contexts][]float64
}

// teach adds what an example asks for: more of what stands there, less of what was expected.
func (f *fitter) teach(l *lesson, g *gradient) {
	size := len(f.chain.states)
	alone := make([][]float64, len(l.features))
	for i, features := range l.features {
		alone[i] = f.alone(features)
	}
	expected := f.likely(&l.phrase, alone, func(note int, q []float64) {
		pairs := g.pairs[l.context(note)]
		for i, x := range q {
			pairs[i] -= l.weight * x
		}
		pairs[l.states[note-1]*size+l.states[note]] += l.weight
	})
	for i, features := range l.features {
		for _, id := range features {
			sums := g.singles[id]
			if sums == nil {
				sums = &[kinds][]float64{}
				for k := range sums {
					sums[k] = make([]float64, len(f.single[id][k]))
				}
				g.singles[id] = sums
			}
			for k := range kinds {
				if len(sums[k]) == 0 {
					continue
				}
				for s, x := range expected[i] {
					sums[k][f.group[k][s]] -= l.weight * x
				}
				sums[k][f.group[k][l.states[i]]] += l.weight
			}
		}
	}
}

// step goes uphill (AdaGrad: Duchi, Hazan and Singer, JMLR 12, 2011).
func (f *fitter) step(g *gradient) {
	back := pull * batch / f.number
	climb := func(weights, squares, uphill []float64) {
		for i, x := range uphill {
			x -= back * weights[i]
			squares[i] += x * x
			weights[i] += stride * x / math.Sqrt(1e-4+squares[i])
		}
	}
	for id, sums := range g.singles {
		for k := range kinds {
			climb(f.single[id][k], f.singles[id][k], sums[k])
		}
	}
	for k := range kinds {
		everywhere := make([]float64, f.links[k])
		for at, pairs := range g.pairs {
			here := make([]float64, f.links[k])
			for i, x := range pairs {
				here[f.link[k][i]] += x
				everywhere[f.link[k][i]] += x
			}
			climb(f.double[k][at], f.doubles[k][at], here)
		}
		climb(f.double[k][contexts], f.doubles[k][contexts], everywhere)
	}
}
