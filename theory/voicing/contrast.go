package voicing

import (
	"context"
	"errors"
	"maps"
	"slices"

	"partwright/theory/harmony"
	"partwright/theory/harmony/tune"
)

// Harmonization is one choice of chords for a given line, voiced.
type Harmonization struct {
	Search   *Search
	Solution *Solution
}

const (
	// contrastNeeded is how much two harmonizations differ at least ([Progression.Contrast]).
	contrastNeeded = 1.0 / 3
	// sameRootOtherBass is what a chord counts that has another bass only.
	sameRootOtherBass = 0.25
	// sameRoot and sameBass are how much less likely a chord is to count that has the root,
	// or the bass, of one that was taken there before, for a push of 1.
	sameRoot, sameBass = 1.0, 0.4
	// otherRoot and otherChord are how much less likely a chord is to count that has another
	// root, or is another chord on the same root, than the way has that is to be gone.
	otherRoot, otherChord = 4.0, 1.0
	// leans is how much less likely chords are to count that are not as a leaning wishes.
	leans = 1.5
)

// pushes are how hard a harmonization is driven away from those before, one after the other
// until it differs enough.
var pushes = []float64{1, 2, 4}

// leanings of harmonizations: what each is to be like beside being another.
var leanings = []func(harmony.Reading) bool{
	nil,
	func(r harmony.Reading) bool { return r.Inversion() > 0 },
	func(r harmony.Reading) bool { return Primary.has(r) },
	func(r harmony.Reading) bool { return !inScale(r) || r.Quality().IsSeventh() },
}

// Contrasting finds harmonizations that differ from a first one and among each other in a
// third of the chords, as [Progression.Contrast] counts. Each goes the way that of all likely
// ones is met least by those before ([tune.Weighed.Ways]). Where that cannot be voiced, or comes
// too near to one before, chords are charged for having the
// root or bass that was taken before (diverse best solutions, after Batra, Yadollahpour,
// Guzman-Rivera and Shakhnarovich, ECCV 2012), and in turn for being in root position, for
// being other than I, IV and V, and for being plain triads of the key. Each is voiced for
// its own chords, which cost what they cost without
// the charges. The problem that pose makes of the progression may be changed by it. Fewer
// than k come back where no others are found.
func (p *Progression) Contrasting(ctx context.Context, model func(tune.Line) *tune.Model, palette Palette, first *Solution, pose func() *Problem, k int) (found []Harmonization, err error) {
	if len(first.Chords) != len(p.Chords) {
		return nil, nil
	}
	plain := p.weights()
	defer func() { p.setWeights(plain) }()
	taken := []*Solution{first}
	for _, wish := range slices.Concat(leanings, leanings) {
		charges := []charging{toward(p.target(model, palette, taken), otherRoot, otherChord)}
		for _, push := range pushes {
			charges = append(charges, p.away(taken, push, wish))
		}
		for _, charge := range charges {
			if len(found) >= k {
				return found, nil
			}
			if err := ctx.Err(); err != nil {
				return found, err
			}
			if charge == nil {
				continue
			}
			p.harmonize(model, palette, charge)
			way, err := p.settle(ctx, plain, pose)
			var impossible *ImpossibleError
			if errors.As(err, &impossible) {
				continue
			}
			if err != nil {
				return found, err
			}
			if !slices.ContainsFunc(taken, func(s *Solution) bool { return p.Contrast(s, way.Solution) < contrastNeeded }) {
				found, taken = append(found, way), append(taken, way.Solution)
				break
			}
		}
	}
	return found, nil
}

// target is the way through each line that is met least by what was taken, by the index of
// its first chord.
func (p *Progression) target(model func(tune.Line) *tune.Model, palette Palette, taken []*Solution) map[int]harmony.Reading {
	out := map[int]harmony.Reading{}
	for _, s := range p.openLines(palette) {
		var ways []tune.Way
		for _, solution := range taken {
			ways = append(ways, readingsOf(solution)[s.first:s.first+len(s.chords)])
		}
		apart := func(a, b tune.Way) bool { return contrastOf(s.chords, a, b) >= contrastNeeded }
		for _, way := range s.weigh(model, nil).Ways(ways, 1, apart, dislikes) {
			maps.Copy(out, s.from(way))
		}
	}
	return out
}

// toward charges chords for being others than those of a target, nil where that has none.
func toward(target map[int]harmony.Reading, otherRoot, otherChord float64) charging {
	if len(target) == 0 {
		return nil
	}
	return func(k int, r harmony.Reading) float64 {
		switch wanted, ok := target[k]; {
		case !ok || r == wanted:
			return 0
		case r.Root() == wanted.Root():
			return otherChord
		}
		return otherRoot
	}
}

// away charges chords for what was taken before, and for not being what is wished for.
func (p *Progression) away(taken []*Solution, push float64, wish func(harmony.Reading) bool) charging {
	return func(k int, r harmony.Reading) float64 {
		if p.closes(k) {
			return 0
		}
		sum := 0.0
		for _, s := range taken {
			was := &s.Chords[k].Reading
			if was.Root() == r.Root() {
				sum += push * sameRoot
			}
			if was.Bass() == r.Bass() {
				sum += push * sameBass
			}
		}
		if wish != nil && !wish(r) {
			sum += leans
		}
		return sum
	}
}

// closes reports whether a chord is one of the last two of a phrase.
func (p *Progression) closes(k int) bool {
	last := len(p.Chords) - 1
	return k >= last-1 || p.Chords[k].PhraseEnd || p.Chords[k+1].PhraseEnd
}

// settle voices the chords that the choices lead to, each at what it costs among the plain
// choices.
func (p *Progression) settle(ctx context.Context, plain []weighedChord, pose func() *Problem) (Harmonization, error) {
	way, err := p.way(ctx, pose)
	if err != nil {
		return way, err
	}
	for k := range p.Chords {
		c := &p.Chords[k]
		if !c.Open {
			continue
		}
		reading := way.Solution.Chords[k].Reading
		own := Choice{Reading: reading, Cost: Cost(furthestBehind * float64(behindCosts))}
		if plain[k].after != nil {
			own.Cost = 0 // what it costs to come to it says all
		}
		for _, choice := range plain[k].choices {
			if choice.Reading == reading {
				own = choice
			}
		}
		c.Choices, c.after = []Choice{own}, plain[k].after
	}
	return p.way(ctx, pose)
}

func (p *Progression) way(ctx context.Context, pose func() *Problem) (Harmonization, error) {
	search, err := NewSearch(ctx, pose())
	if err != nil {
		return Harmonization{}, err
	}
	best, err := search.Alternatives(ctx, 1)
	if err != nil {
		return Harmonization{}, err
	}
	return Harmonization{search, best[0]}, nil
}

// weighedChord is what a model says of a chord to be chosen.
type weighedChord struct {
	choices []Choice
	after   Syntax
}

// weights are those of all chords, setWeights sets them.
func (p *Progression) weights() []weighedChord {
	out := make([]weighedChord, len(p.Chords))
	for k := range p.Chords {
		out[k] = weighedChord{p.Chords[k].Choices, p.Chords[k].after}
	}
	return out
}

func (p *Progression) setWeights(weights []weighedChord) {
	for k, w := range weights {
		p.Chords[k].Choices, p.Chords[k].after = w.choices, w.after
	}
}

// Contrast is how much two harmonizations of the progression differ, from 0 to 1: the share
// of the chords to be chosen that have another root, those with the same root over another
// bass counted a quarter. A chord that is given is none of them.
func (p *Progression) Contrast(a, b *Solution) float64 {
	return contrastOf(p.Chords, readingsOf(a), readingsOf(b))
}

func readingsOf(s *Solution) tune.Way {
	out := make(tune.Way, len(s.Chords))
	for k := range s.Chords {
		out[k] = s.Chords[k].Reading
	}
	return out
}

// contrastOf is how much two ways through the same chords differ.
func contrastOf(chords []ProgressionChord, a, b tune.Way) float64 {
	open, differs := 0, 0.0
	for k := range chords {
		if !chords[k].Open {
			continue
		}
		open++
		switch x, y := &a[k], &b[k]; {
		case x.Root() != y.Root():
			differs++
		case x.Bass() != y.Bass():
			differs += sameRootOtherBass
		}
	}
	if open == 0 {
		return 0
	}
	return differs / float64(open)
}

// Coloring counts what a listener hears first of the chords that were chosen.
type Coloring struct {
	// Roots is how many of the Open ones have another root than in another harmonization.
	Open, Roots int
	// Inverted are those that are not in root position, Primary those on the first, fourth
	// and fifth degree, Foreign those with notes outside the scale.
	Inverted, Primary, Foreign int
}

// Coloring compares the chords of a harmonization with those of another.
func (p *Progression) Coloring(s, other *Solution) Coloring {
	var c Coloring
	if len(s.Chords) != len(p.Chords) || len(other.Chords) != len(p.Chords) {
		return c
	}
	for k := range p.Chords {
		if !p.Chords[k].Open {
			continue
		}
		r := s.Chords[k].Reading
		c.Open++
		if r.Root() != other.Chords[k].Reading.Root() {
			c.Roots++
		}
		if r.Inversion() > 0 {
			c.Inverted++
		}
		if Primary.has(r) {
			c.Primary++
		}
		if !inScale(r) {
			c.Foreign++
		}
	}
	return c
}
