package voicing

import (
	"context"
	"slices"

	"partwright/theory"
)

// Finished is how a progression goes on best after one way to sound a chord.
type Finished struct {
	// Rest are the chords after it.
	Rest []Chord
	// Cost is what the whole progression costs then, Broken how many rules it breaks.
	Cost   Cost
	Broken int
}

// FinishEach voices the rest of a progression after each of several ways to sound a
// chord, whose notes are from the top voice down; the chords before it are held. What it
// costs from each arrangement of the chords after that one to the end is worked out once.
func (p *Progression) FinishEach(ctx context.Context, style Style, next int, ways [][]theory.Pitch) (all []Finished, err error) {
	defer theory.Recover(&err)
	problem := p.Problem(style)
	if err := problem.validate(); err != nil {
		return nil, err
	}
	problem.Style.under()
	problem.Style.work = theory.WorkIn(ctx)
	f := &finisher{lattice: *latticeOf(problem, penalty), next: next}
	if err := f.prepare(ctx); err != nil {
		return nil, err
	}
	for _, way := range ways {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		one, err := f.finish(ctx, way)
		if err != nil {
			return nil, err
		}
		all = append(all, one)
	}
	return all, nil
}

// finisher knows the cheapest ways from the chords after a chord to the end.
type finisher struct {
	lattice
	next int
	// onward are the layers of the chord after next, by what of the notes before it the
	// rules about its leading tone ask.
	onward map[string]*layer
}

// prepare goes from the end back to the second chord after next, and from the beginning
// to the one before it.
func (f *finisher) prepare(ctx context.Context) error {
	f.onward = map[string]*layer{}
	for k := f.next + 2; k < len(f.layers); k++ {
		if err := f.lay(k, nil); err != nil {
			return err
		}
	}
	for k := len(f.layers) - 1; k > f.next+2; k-- {
		if err := f.back(ctx, k, &f.layers[k-1], &f.layers[k]); err != nil {
			return err
		}
	}
	for k := range f.next {
		if err := f.lay(k, nil); err != nil {
			return err
		}
		if k == 0 {
			f.begin()
		} else if reached, err := f.advance(ctx, k, penalty, false); err != nil || !reached {
			return impossible(k, err)
		}
	}
	return nil
}

func impossible(k int, err error) error {
	if err != nil {
		return err
	}
	return &ImpossibleError{Slot: k}
}

// lay lists what slot k could be; way are the notes of the slot before where they are
// chosen now. To the end it is no way from the last one.
func (f *finisher) lay(k int, way []theory.Pitch) error {
	l := &f.layers[k]
	if *l = newLayer(f.problem, k, penalty); l.size == 0 {
		return &ImpossibleError{Slot: k, Alone: true}
	}
	if k > 0 {
		before := f.problem.Slots[k-1]
		if way != nil {
			before.Fixed = held(way)
		}
		for _, s := range l.sets {
			s.follow(&before)
		}
	}
	l.rest, l.next = make([]total, len(l.cost)), make([]node, len(l.cost))
	return nil
}

func held(way []theory.Pitch) []*theory.Pitch {
	fixed := make([]*theory.Pitch, len(way))
	for v := range way {
		fixed[v] = &way[v]
	}
	return fixed
}

// finish goes on from one way to sound the chord.
func (f *finisher) finish(ctx context.Context, way []theory.Pitch) (Finished, error) {
	k := f.next
	open := f.problem.Slots[k].Fixed
	f.problem.Slots[k].Fixed = held(way)
	defer func() { f.problem.Slots[k].Fixed = open }()
	if err := f.lay(k, nil); err != nil {
		return Finished{}, err
	}
	if k == 0 {
		f.begin()
	} else if reached, err := f.advance(ctx, k, penalty, false); err != nil || !reached {
		return Finished{}, impossible(k, err)
	}
	if k+1 < len(f.layers) {
		if err := f.goOn(ctx, way); err != nil {
			return Finished{}, err
		}
	}
	return f.best(), nil
}

// goOn fills the costs from the chord to the end.
func (f *finisher) goOn(ctx context.Context, way []theory.Pitch) error {
	k := f.next + 1
	asked := f.asksOf(way)
	if l := f.onward[asked]; l != nil {
		f.layers[k] = *l
	} else {
		if err := f.lay(k, way); err != nil {
			return err
		}
		if k+1 < len(f.layers) {
			if err := f.back(ctx, k+1, &f.layers[k], &f.layers[k+1]); err != nil {
				return err
			}
		}
		kept := f.layers[k]
		f.onward[asked] = &kept
	}
	return f.back(ctx, k, &f.layers[k-1], &f.layers[k])
}

// asksOf is all that the chord after next asks of the notes before it: which voices come
// from the tonic of its leading tone, and from which.
func (f *finisher) asksOf(way []theory.Pitch) string {
	after := &f.problem.Slots[f.next+1]
	var tonics []theory.PitchClass
	for _, c := range after.Choices {
		if _, ok := c.Reading.LeadingTone(); ok {
			tonics = append(tonics, c.Reading.Numeral.In(c.Reading.Key).Tonic)
		}
	}
	asked := make([]byte, len(way))
	for v, p := range way {
		if slices.Contains(tonics, p.Class()) {
			asked[v] = byte(p.Diatonic() + 1)
		}
	}
	return string(asked)
}

// waysOn are the cheapest ways on from an arrangement by each next move of the top voice, and
// where they lead.
type waysOn struct {
	cost [sopranoMoves]total
	to   [sopranoMoves]node
}

// back fills the costs from one layer to the end by those from the next one, which is of
// slot k.
func (f *finisher) back(ctx context.Context, k int, from, to *layer) error {
	for i := range from.rest {
		from.rest[i] = unreachable
	}
	for ca, a := range from.sets {
		ways := make([]waysOn, len(a.arrangements))
		for i := range ways {
			for now := range sopranoMoves {
				ways[i].cost[now] = unreachable
			}
		}
		for cb, b := range to.sets {
			if err := ctx.Err(); err != nil {
				return err
			}
			f.motions.compare(a, b, &f.problem.Style, penalty)
			progress := f.problem.progress(k, a.reading, b.reading) + b.choiceCost
			for i := range ways {
				f.reach(&ways[i], &a.arrangements[i], to, cb, progress)
			}
		}
		for i := range ways {
			f.leave(from, from.first[ca]+i, &ways[i])
		}
	}
	return nil
}

// reach goes from an arrangement to those of a set of the next layer.
func (f *finisher) reach(ways *waysOn, a *arrangement, to *layer, set int, progress Cost) {
	m, b := &f.motions, to.sets[set]
	f.problem.Style.work.Step(len(b.arrangements)/8 + 1)
	m.leave(a)
	for j := range b.arrangements {
		step := m.reach(&b.arrangements[j])
		if step >= forbidden {
			continue
		}
		move := m.top(&b.arrangements[j])
		at := to.at(to.first[set]+j, move)
		if sum := to.rest[at] + f.total(step+b.arrangements[j].cost+progress); sum < ways.cost[move] {
			ways.cost[move], ways.to[move] = sum, at
		}
	}
}

// leave notes the cheapest way on from an arrangement for each last move of the top voice.
func (f *finisher) leave(l *layer, index int, ways *waysOn) {
	for before := range sopranoMoves {
		at := l.at(index, before)
		for now := range sopranoMoves {
			if ways.cost[now] == unreachable {
				continue
			}
			if sum := ways.cost[now] + f.after[before][now]; sum < l.rest[at] {
				l.rest[at], l.next[at] = sum, ways.to[now]
			}
		}
	}
}

// best is the cheapest whole progression through the chord as it is held now.
func (f *finisher) best() Finished {
	l := &f.layers[f.next]
	cheapest, at := unreachable, noNode
	for n := range l.cost {
		if l.cost[n] == unreachable || l.rest[n] == unreachable {
			continue
		}
		if sum := l.cost[n] + l.rest[n]; sum < cheapest {
			cheapest, at = sum, node(n)
		}
	}
	var out Finished
	out.Cost, out.Broken = cheapest.parts()
	for k := f.next; k+1 < len(f.layers); k++ {
		at = f.layers[k].next[at]
		out.Rest = append(out.Rest, f.layers[k+1].chord(at.state(k+1).index, len(f.problem.Style.Voices)))
	}
	return out
}
