package voicing

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/tune"
	"partwright/theory/partwriting"
)

// Harmonization is one choice of chords for a given line, voiced.
type Harmonization struct {
	Search   *Search
	Solution *Solution
}

const (
	// contrastNeeded is how much two harmonizations differ at least ([Progression.Contrast]).
	contrastNeeded = 0.25
	// sameRootOtherBass is what a chord counts that has another bass only.
	sameRootOtherBass = 0.25
	// sameRoot and sameBass are how much less likely a chord is to count that has the root,
	// or the bass, of one that was taken there before, for a push of 1.
	sameRoot, sameBass = 1.0, 0.4
	// leans is how much less likely chords are to count that are not as a leaning wishes.
	leans = 1.0
	// heldTo is how much less likely a chord is to count that is not as a constraint holds it.
	heldTo = 8.0
	// furtherBehind is how far a further harmonization may be behind the likeliest by the
	// model, for each note: more than half of the phrases of chorales are further behind than that.
	// furtherWorse is how much worse than the first it may be, for each note, with what
	// teachers mend.
	furtherBehind, furtherWorse = 0.68, 1.5
	// mostAttempts is how many ways are voiced at most to find one more.
	mostAttempts = 20
	// waysSearched is how many ways each search contributes.
	waysSearched = 16
	// meets is how much a note counts that is met with another musician's harmony, in natural
	// logarithms.
	meets = 5.0
)

// leanings of harmonizations: what each is to be like beside being another.
var leanings = []func(harmony.Reading) bool{
	func(r harmony.Reading) bool { return r.Inversion() > 0 },
	func(r harmony.Reading) bool { return Primary.has(r) },
	func(r harmony.Reading) bool { return !inScale(r) },
	func(r harmony.Reading) bool { return r.Quality().IsSeventh() || !inScale(r) },
	func(r harmony.Reading) bool { return r.Quality() == harmony.MinorTriad || r.Numeral.IsDominant() },
	func(r harmony.Reading) bool { return r.Quality() == harmony.MajorTriad },
}

// Contrasting finds harmonizations that differ from a first one and among each other in a
// quarter of the chords, as [Progression.Contrast] counts, and that somebody would hand out: no
// rule of the set finds a fault in them, every seventh resolves, no succession is one that
// people do not write, and they are not further behind the likeliest way than half of what
// people write, nor much worse than the first by what teachers mend.
//
// Ways are searched for that keep away from the chords that were taken before (diverse best
// solutions, after Batra, Yadollahpour, Guzman-Rivera and Shakhnarovich, ECCV 2012), that lean
// to a kind of chords, and that have another chord at the beginning or at the end. Of those
// each takes the one that brings the ways of other musicians nearest to some way that is taken,
// counted by their roots, as well as the model can tell (greedy choice of a submodular
// function: Nemhauser, Wolsey and Fisher, Mathematical Programming 14, 1978). The problem
// that pose makes of the progression may be changed by it. Fewer than k come back where
// no others are found.
func (p *Progression) Contrasting(ctx context.Context, model func(tune.Line) *tune.Model, palette Palette, first *Solution, pose func() *Problem, k int) (found []Harmonization, err error) {
	if len(first.Chords) != len(p.Chords) {
		return nil, nil
	}
	before := p.weights()
	defer func() { p.setWeights(before) }()
	c := &contraster{progression: p, fields: p.fields(model, palette), pose: pose, taken: []tune.Way{readingsOf(first)}}
	for _, f := range p.findings(Harmonization{&Search{problem: pose()}, first}) {
		if f.Rule == "range" {
			c.outOfRange++
		}
	}
	for len(found) < k && len(c.fields) > 0 {
		way, err := c.further(ctx)
		if err != nil || way.Solution == nil {
			return found, err
		}
		found, c.taken = append(found, way), append(c.taken, readingsOf(way.Solution))
	}
	return found, nil
}

// contraster looks for further harmonizations; taken are those it has, the first one first.
type contraster struct {
	progression *Progression
	fields      []*field
	pose        func() *Problem
	taken       []tune.Way
	// outOfRange is how many notes of the first one are.
	outOfRange int
}

// further is one more harmonization, without a solution where there is none.
func (c *contraster) further(ctx context.Context) (Harmonization, error) {
	ways, at := make([][]foundWay, len(c.fields)), make([]int, len(c.fields))
	for i, f := range c.fields {
		if err := ctx.Err(); err != nil {
			return Harmonization{}, err
		}
		if i > 0 && f.first == c.fields[i-1].first+len(c.fields[i-1].chords) {
			f.follows = last(ways[i-1][0].chords)
		}
		taken := f.parts(c.taken)
		ways[i] = append(f.others(taken), f.weighed(taken[0])) // or it stays as it is
	}
	for attempt := range mostAttempts * len(at) {
		way, err := c.progression.keeps(ctx, c.fields, joined(c.fields, ways, at), c.pose)
		var impossible *ImpossibleError
		switch {
		case errors.As(err, &impossible):
			if i := lineAt(c.fields, impossible.Slot); without(c.fields[i], impossible, &ways[i], at[i]) {
				at[i] = min(at[i], len(ways[i])-1)
				continue
			}
		case err != nil:
			return Harmonization{}, err
		case c.stands(way):
			return c.progression.lead(ctx, c.fields, way, c.pose)
		}
		// One line after the other goes on to its next way.
		i := attempt % len(at)
		at[i] = (at[i] + 1) % len(ways[i])
	}
	return Harmonization{}, nil
}

// stands reports whether a harmonization differs enough and is good enough.
func (c *contraster) stands(way Harmonization) bool {
	p, chords := c.progression, readingsOf(way.Solution)
	for _, other := range c.taken {
		if contrastOf(p.Chords, chords, other) < contrastNeeded {
			return false
		}
	}
	for _, f := range c.fields {
		first := f.weighed(f.parts(c.taken[:1])[0])
		if !f.bears(f.weighed(f.parts([]tune.Way{chords})[0]), first) {
			return false
		}
	}
	return strayingSevenths(way.Solution) == 0 && c.lawful(p.findings(way))
}

// strayingSevenths counts sevenths that a voice does not lead down a step and does not keep, unless the
// harmony stays.
func strayingSevenths(s *Solution) (left int) {
	for k := 1; k < len(s.Chords); k++ {
		left += straying(&s.Chords[k-1], &s.Chords[k])
	}
	return left
}

// straying is [strayingSevenths] at one change.
func straying(from, to *Chord) (left int) {
	if !from.Reading.Quality().IsSeventh() || from.Reading.Root() == to.Reading.Root() || isDominant(from.Reading) && isDominant(to.Reading) {
		return 0
	}
	for v := range from.Pitches {
		moves := to.Pitches[v].Diatonic() - from.Pitches[v].Diatonic()
		if from.Pitches[v].Class() == from.Reading.Member(3) && moves != 0 && moves != -1 {
			left++
		}
	}
	return left
}

// lawful reports whether what the rules find may stand: no fault but notes out of range
// that are given, no doubled leading tone, no seventh left, and a caution in each line on
// average.
func (c *contraster) lawful(findings []partwriting.Finding) bool {
	cautions, given := 0, c.outOfRange
	for i := range findings {
		switch f := &findings[i]; {
		case f.Rule == "range" && given > 0:
			given--
		case f.Severity == partwriting.Fault, f.Rule == "leading-tone-doubled", f.Rule == "seventh-unresolved":
			return false
		case f.Severity == partwriting.Caution:
			cautions++
		}
	}
	return cautions <= len(c.fields)
}

// bears reports whether a way is near enough to the first one.
func (f *field) bears(way, first foundWay) bool {
	n := float64(len(f.tries))
	return way.behind <= max(furtherBehind*n, first.behind) && way.worth <= first.worth+furtherWorse*n &&
		f.manner.strikes(way.chords) <= f.manner.strikes(first.chords)
}

// parts are what ways through the progression are in the line, as the model names the chords.
func (f *field) parts(ways []tune.Way) []tune.Way {
	var out []tune.Way
	for _, way := range ways {
		part := slices.Clone(way[f.first : f.first+len(f.tries)])
		for i := range part {
			part[i] = modeled(part[i])
		}
		out = append(out, part)
	}
	return out
}

// others are ways that differ from those that were taken, the one first that is to be taken
// next; none has the roots of another.
func (f *field) others(taken []tune.Way) []foundWay {
	first := f.weighed(taken[0])
	crowd := f.draw()
	met := make([]int, len(crowd))
	roots := make([][]theory.PitchClass, len(crowd))
	for j := range crowd {
		roots[j] = rootsOf(crowd[j].chords)
		for _, way := range taken {
			met[j] = max(met[j], alike(rootsOf(way), roots[j]))
		}
	}
	type ranked struct {
		foundWay
		worth float64
	}
	var all []ranked
	for _, way := range f.pool(taken, crowd) {
		if !f.bears(way, first) || slices.ContainsFunc(taken, func(other tune.Way) bool {
			return contrastOf(f.chords, way.chords, other) < contrastNeeded
		}) {
			continue
		}
		own, gain := rootsOf(way.chords), 0
		for j := range crowd {
			gain += max(0, alike(own, roots[j])-met[j])
		}
		all = append(all, ranked{way, way.worth - meets*float64(gain)/float64(len(crowd))})
	}
	slices.SortStableFunc(all, func(a, b ranked) int { return cmp.Compare(a.worth, b.worth) })
	var out []foundWay
	for _, r := range all {
		if !slices.ContainsFunc(out, func(way foundWay) bool { return alike(rootsOf(way.chords), rootsOf(r.chords)) == len(r.chords) }) {
			out = append(out, r.foundWay)
		}
	}
	return out
}

// pool are the ways to choose from.
func (f *field) pool(taken []tune.Way, crowd []foundWay) []foundWay {
	pool := slices.Clone(crowd)
	add := func(charge charging) { pool = append(pool, f.best(waysSearched, charge)...) }
	for _, push := range []float64{0.5, 1, 2} {
		add(f.away(taken, push, nil))
	}
	for _, wish := range leanings {
		add(f.away(taken, 0.5, wish))
	}
	last := len(f.tries) - 1
	for _, at := range []int{1, last / 2, last - 1, last} {
		add(func(note int, r harmony.Reading) float64 {
			sum := f.away(taken, 0.5, nil)(note, r)
			if note == at && slices.ContainsFunc(taken, func(way tune.Way) bool { return way[at].Root() == r.Root() }) {
				sum += heldTo
			}
			return sum
		})
	}
	return pool
}

// away charges chords for what was taken before, and for not being what is wished for. The
// last two chords of the phrase may be as they were.
func (f *field) away(taken []tune.Way, push float64, wish func(harmony.Reading) bool) charging {
	return func(note int, r harmony.Reading) float64 {
		if note >= len(f.tries)-2 {
			return 0
		}
		sum := 0.0
		for _, way := range taken {
			if way[note].Root() == r.Root() {
				sum += push * sameRoot
			}
			if way[note].Bass() == r.Bass() {
				sum += push * sameBass
			}
		}
		if wish != nil && !wish(r) {
			sum += leans
		}
		return sum
	}
}

func rootsOf(w tune.Way) (out []theory.PitchClass) {
	for _, r := range w {
		out = append(out, r.Root())
	}
	return out
}

// alike is at how many notes two ways have one root.
func alike(a, b []theory.PitchClass) (n int) {
	for i, root := range a {
		if root == b[i] {
			n++
		}
	}
	return n
}

// weighedChord is what a model says of a chord to be chosen.
type weighedChord struct {
	choices []Choice
	after   Syntax
	weary   []weary
}

// weights are those of all chords, setWeights sets them.
func (p *Progression) weights() []weighedChord {
	out := make([]weighedChord, len(p.Chords))
	for k := range p.Chords {
		out[k] = weighedChord{p.Chords[k].Choices, p.Chords[k].after, p.Chords[k].weary}
	}
	return out
}

func (p *Progression) setWeights(weights []weighedChord) {
	for k, w := range weights {
		p.Chords[k].Choices, p.Chords[k].after, p.Chords[k].weary = w.choices, w.after, w.weary
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
