package voicing

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/tune"
)

const (
	// mostTried is how many chords are tried at a note, and as far behind the likeliest way
	// through the phrase as furthestTried at most, in natural logarithms.
	mostTried     = 28
	furthestTried = 8.0
	// waysKept is how many beginnings of ways are kept from note to note.
	waysKept = 64
	// drawn is how many ways are drawn to see which harmonies people might choose.
	drawn = 600
	// meetsRoot is how much likelier a chord is to count whose root is as good as certain at a
	// note, over all ways, in natural logarithms ([tune.Weighed.Roots]).
	meetsRoot = 7.7
)

// field holds the ways through one line.
type field struct {
	*openLine
	model  *tune.Model
	plain  *tune.Weighed
	manner manner
	// follows is the last chord of the phrase before, nil where there is none.
	follows *harmony.Reading
	// roots are how likely each root is at each note.
	roots []map[theory.PitchClass]float64
	// tries are the chords tried at each note, opening what the first ones are behind; behind and
	// counts are what each change to a note is behind, and counts beside: the first chord times
	// the number of second ones.
	tries          [][]harmony.Reading
	sounds         [][]sound
	opening        []float64
	behind, counts [][]float64
}

// foundWay is a way with what it counts: how far it is behind the likeliest way by the model
// alone, and worth with the manner too, the less the better.
type foundWay struct {
	chords        tune.Way
	behind, worth float64
}

// field weighs the ways through a line.
func (s *openLine) field(model func(tune.Line) *tune.Model) *field {
	f := &field{openLine: s, model: model(s.line), manner: manner{notes: s.notes(), line: s.line, inner: s.inner, counted: harmony.SuccessionsIn(s.chords[0].Reading.Key.Mode)}}
	f.plain = s.weigh(f.model, nil)
	f.roots = f.plain.Roots()
	options := f.plain.Options()
	f.behind, f.counts = make([][]float64, len(options)), make([][]float64, len(options))
	for i := range options {
		f.tries = append(f.tries, s.tried(i, options[i]))
		f.sounds = append(f.sounds, soundsOf(f.tries[i]))
		if i == 0 {
			f.opening = make([]float64, len(f.tries[0]))
			for k, r := range f.tries[0] {
				for _, o := range options[0] {
					if o.Reading == r {
						f.opening[k] = o.Behind
					}
				}
			}
			continue
		}
		for _, from := range f.tries[i-1] {
			for _, to := range f.tries[i] {
				f.behind[i] = append(f.behind[i], min(f.plain.Behind(i, from, to), outOfReach))
				f.counts[i] = append(f.counts[i], f.manner.change(i, from, to)-lift(to)-f.meets(i, to))
			}
		}
	}
	return f
}

// meets is how much likelier a chord is to count for its root.
func (f *field) meets(note int, r harmony.Reading) float64 {
	return meetsRoot * f.roots[note][r.Root()]
}

// met is what the roots of a way count in all.
func (f *field) met(way tune.Way) float64 {
	sum := 0.0
	for i, r := range way {
		sum += f.meets(i, r)
	}
	return sum
}

// tried are the chords to try at a note: those of the options that are not far behind, or
// what stands there.
func (s *openLine) tried(note int, options []tune.Option) []harmony.Reading {
	options = slices.Clone(options)
	slices.SortStableFunc(options, func(a, b tune.Option) int { return cmp.Compare(a.Behind, b.Behind) })
	var out []harmony.Reading
	for i, o := range options {
		if i > 0 && (o.Behind > furthestTried || i == mostTried) {
			break
		}
		out = append(out, o.Reading)
	}
	if len(out) > 0 {
		return out
	}
	if c := &s.chords[note]; len(c.Choices) > 0 {
		return []harmony.Reading{c.Choices[0].Reading}
	}
	return []harmony.Reading{s.chords[note].Reading}
}

// wayStep is a way up to a note: its last chord and the step before.
type wayStep struct {
	chord int
	last  *wayStep
	sum   float64
}

// best are the best ways, with a charge for chords at notes on top that may be nil, the best
// first. Only the best beginnings are followed, so that it may miss some.
func (f *field) best(n int, charge func(note int, r harmony.Reading) float64) []foundWay {
	var ends []*wayStep
	for k, r := range f.tries[0] {
		step := &wayStep{chord: k, sum: f.opening[k] + opens(r)}
		if f.follows != nil {
			step.sum += f.joins(*f.follows, r)
		}
		ends = append(ends, step)
	}
	for i := 1; i < len(f.tries); i++ {
		ends = f.follow(i, ends, charge)
	}
	type ended struct {
		chords tune.Way
		end    *wayStep
		sum    float64
	}
	all := make([]ended, len(ends))
	for j, end := range ends {
		chords := f.chordsOf(end)
		all[j] = ended{chords, end, end.sum + f.manner.ending(chords)}
	}
	slices.SortStableFunc(all, func(a, b ended) int { return cmp.Compare(a.sum, b.sum) })
	var out []foundWay
	for _, e := range all[:min(n, len(all))] {
		out = append(out, f.way(e.end))
	}
	return out
}

// joins is what the first chord of a phrase counts after the last one of the phrase before:
// against the functions, or, which is worse, in fifths or octaves of the melody with the bass.
func (f *field) joins(before, first harmony.Reading) (sum float64) {
	if before.Key == first.Key && backwards(before, first) {
		sum += goesBack
	}
	if f.line == tune.Melody && f.before != nil && inParallel(*f.before, f.manner.notes[0].Pitch, before, first) {
		sum += acrossSeam
	}
	return sum
}

func closesOn(r harmony.Reading) bool {
	return r.Numeral.IsTonic() || r.Numeral.Degree == 5 && isDominant(r)
}

// closing charges a line that ends the progression for every other last chord than tonic and
// dominant.
func (p *Progression) closing(f *field) charging {
	end := len(p.Chords) - 1 - f.first
	return func(note int, r harmony.Reading) float64 {
		if note == end && !closesOn(r) && !raisedTonic(r) {
			return heldTo
		}
		return 0
	}
}

// follow takes the best ways one note further.
func (f *field) follow(i int, ends []*wayStep, charge func(int, harmony.Reading) float64) []*wayStep {
	size := len(f.tries[i])
	charges := make([]float64, size)
	for k, r := range f.tries[i] {
		if charge != nil {
			charges[k] = charge(i, r)
		}
	}
	all := make([]wayStep, 0, len(ends)*size)
	for _, end := range ends {
		var past [staysLong]*sound
		for back, s := 1, end; back < staysLong && s != nil; back, s = back+1, s.last {
			past[back] = &f.sounds[i-back][s.chord]
		}
		for k := range size {
			at := end.chord*size + k
			past[0] = &f.sounds[i][k]
			all = append(all, wayStep{k, end, end.sum + f.behind[i][at] + f.counts[i][at] + course(&past, i >= len(f.tries)-2) + charges[k]})
		}
	}
	order := make([]int32, len(all))
	for j := range order {
		order[j] = int32(j) //nolint:gosec // a few thousand
	}
	slices.SortFunc(order, func(a, b int32) int { return cmp.Or(cmp.Compare(all[a].sum, all[b].sum), int(a-b)) })
	out := make([]*wayStep, 0, waysKept)
	for _, j := range order[:min(waysKept, len(order))] {
		kept := all[j]
		out = append(out, &kept)
	}
	return out
}

// way is the way that a step ends.
func (f *field) way(end *wayStep) foundWay {
	way := foundWay{chords: f.chordsOf(end)}
	for i := len(f.tries) - 1; i > 0; i-- {
		way.behind += f.behind[i][end.last.chord*len(f.tries[i])+end.chord]
		end = end.last
	}
	way.behind += f.opening[end.chord]
	way.worth = way.behind + f.manner.of(way.chords)
	return way
}

func (f *field) chordsOf(end *wayStep) tune.Way {
	out := make(tune.Way, len(f.tries))
	for i := len(out) - 1; i >= 0; i-- {
		out[i], end = f.tries[i][end.chord], end.last
	}
	return out
}

// draw draws ways, each as often as the model has it.
func (f *field) draw() []foundWay {
	random := rand.New(rand.NewPCG(3, uint64(len(f.tries)))) // #nosec G404 -- the same ways each time
	last := len(f.tries) - 1
	ahead := make([][]float64, last+1) // how likely the rest is after each chord
	for i := last; i >= 0; i-- {
		ahead[i] = make([]float64, len(f.tries[i]))
		for a := range ahead[i] {
			if i == last {
				ahead[i][a] = 1
				continue
			}
			size := len(f.tries[i+1])
			for b := range size {
				ahead[i][a] += math.Exp(-f.behind[i+1][a*size+b]) * ahead[i+1][b]
			}
		}
	}
	pick := func(weights []float64) int {
		sum := 0.0
		for _, w := range weights {
			sum += w
		}
		x := random.Float64() * sum
		for k, w := range weights {
			if x -= w; x < 0 {
				return k
			}
		}
		return len(weights) - 1
	}
	out := make([]foundWay, drawn)
	for j := range out {
		var end *wayStep
		for i := range f.tries {
			size := len(f.tries[i])
			weights := make([]float64, size)
			for k := range weights {
				if i == 0 {
					weights[k] = math.Exp(-f.opening[k]) * ahead[0][k]
				} else {
					weights[k] = math.Exp(-f.behind[i][end.chord*size+k]) * ahead[i][k]
				}
			}
			end = &wayStep{chord: pick(weights), last: end}
		}
		out[j] = f.way(end)
	}
	return out
}

// weighed is what a way counts that may hold chords which are not tried.
func (f *field) weighed(chords tune.Way) foundWay {
	way := foundWay{chords: chords}
	for i, r := range chords {
		if i > 0 {
			way.behind += min(f.plain.Behind(i, chords[i-1], r), outOfReach)
			continue
		}
		for _, o := range f.plain.Options()[0] {
			if o.Reading == r {
				way.behind += o.Behind
			}
		}
	}
	way.worth = way.behind + f.manner.of(chords)
	return way
}

// lineAt is the number of the line that has a chord, that of the last one without it.
func lineAt(fields []*field, slot int) int {
	for i, f := range fields {
		if slot < f.first+len(f.chords) {
			return i
		}
	}
	return len(fields) - 1
}

// without takes out the ways of a line that make the change which cannot be voiced, and
// reports whether any is left; where none is, all stay.
func without(f *field, impossible *ImpossibleError, ways *[]foundWay, at int) bool {
	k, bad := impossible.Slot-f.first, (*ways)[at].chords
	if k < 0 || k >= len(bad) || k == 0 && !impossible.Alone {
		return false
	}
	left := slices.DeleteFunc(slices.Clone(*ways), func(w foundWay) bool {
		return w.chords[k] == bad[k] && (impossible.Alone || w.chords[k-1] == bad[k-1])
	})
	if len(left) == 0 {
		return false
	}
	*ways = left
	return true
}
