package voicing

import (
	"cmp"
	"context"
	"slices"

	"partwright/theory"
)

// Alternatives returns up to k voicings in order of cost, the cheapest first.
// Each differs from every other one for the ear: in the top voice, in the note of the
// bass (an octave apart is one note) or in close or open position in at least a quarter
// of the chords, and never in the bass alone. The first is the global best. Then come
// voicings of other characters, as long as they cost at most 5 semitones or a third more:
// the cheapest for each other note that the top voice can end on, one in the other
// position and one with more contrary motion of the outer voices. The others
// are the cheapest that are found: in phrases of up to 32 chords among the
// cheapest voicings through each arrangement of each chord, then through each step
// from one arrangement to the next; beyond that by searching again with a charge
// on what was used before. Fewer than k come back only where little else is
// possible.
func Alternatives(p *Problem, k int) ([]*Solution, error) {
	ctx := context.Background()
	l, err := newLattice(ctx, p, forbidden, k > 1)
	if err != nil {
		return nil, err
	}
	if k > 1 {
		if err := l.retreat(ctx); err != nil {
			return nil, err
		}
	}
	return l.alternatives(ctx, l.path(l.bestEnd()), k)
}

// alternatives adds to the best voicing others, k in all; for more than one the
// lattice must hold its edges and the way to the end.
func (s *lattice) alternatives(ctx context.Context, best *Solution, k int) (found []*Solution, err error) {
	found = []*Solution{best}
	if k <= 1 {
		return found, nil
	}
	others, err := s.characters(ctx, best)
	if err != nil {
		return nil, err
	}
	for _, other := range others {
		if len(found) < k && other.Cost <= dearest(best.Cost) && differsFromAll(other, found) {
			found = append(found, other)
		}
	}
	if len(s.layers) <= localVariety {
		if found, err = s.nearby(ctx, found, k); err != nil {
			return nil, err
		}
	}
	if len(found) < k && len(s.layers) > 1 {
		if found, err = s.thin().more(ctx, found, k); err != nil {
			return nil, err
		}
	}
	slices.SortStableFunc(found, func(a, b *Solution) int { return cmp.Compare(a.Cost, b.Cost) })
	return found, nil
}

// localVariety is the length of a phrase up to which one other arrangement changes
// enough of it to be heard.
const localVariety = 32

// nearby adds the cheapest voicings through some arrangement, or some step, that
// sound different from all found so far, until there are k.
func (s *lattice) nearby(ctx context.Context, found []*Solution, k int) ([]*Solution, error) {
	candidate := s.blank()
	for _, candidates := range []func() queue{s.through, s.throughSteps} {
		if len(found) == k {
			break
		}
		for waiting := candidates(); len(waiting) > 0 && len(found) < k; {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			if s.whole(waiting.next(), candidate); differsFromAll(candidate, found) {
				found = append(found, candidate)
				candidate = s.blank()
			}
		}
	}
	return found, nil
}

// retreat fills the costs from each state to the end.
func (s *lattice) retreat(ctx context.Context) error {
	for k := range s.layers {
		s.layers[k].rest = fill(make([]total, len(s.layers[k].cost)))
		s.layers[k].next = make([]node, len(s.layers[k].cost))
	}
	last := &s.layers[len(s.layers)-1]
	for i := range last.rest {
		last.rest[i] = 0
	}
	for k := len(s.layers) - 1; k > 0; k-- {
		if err := ctx.Err(); err != nil {
			return err
		}
		s.problem.Style.work.Step(len(s.edges[k])/4 + 1)
		for edges := s.edges[k]; len(edges) > 0; {
			n := 1
			for n < len(edges) && edges[n].from == edges[0].from {
				n++
			}
			s.retreatFrom(k, edges[:n])
			edges = edges[n:]
		}
	}
	return nil
}

// retreatFrom fills the costs to the end from one arrangement of the slot before k, by
// steps that lead from it to slot k. Of ways that cost the same the first counts.
func (s *lattice) retreatFrom(k int, edges []edge) {
	from, to := &s.layers[k-1], &s.layers[k]
	var best [sopranoMoves]total
	var by [sopranoMoves]int
	for now := range sopranoMoves {
		best[now] = unreachable
	}
	for i := range edges {
		e := &edges[i]
		rest := to.rest[to.at(int(e.to), e.move)]
		if rest == unreachable {
			continue
		}
		if sum := rest + s.total(e.cost); sum < best[e.move] {
			best[e.move], by[e.move] = sum, i
		}
	}
	for before := range sopranoMoves {
		at := from.at(int(edges[0].from), before)
		if from.cost[at] == unreachable {
			continue
		}
		cheapest, first := from.rest[at], -1
		for now := range sopranoMoves {
			if best[now] == unreachable {
				continue
			}
			sum := best[now] + s.after[before][now]
			if sum < cheapest || sum == cheapest && by[now] < first {
				cheapest, first = sum, by[now]
			}
		}
		if first >= 0 {
			e := &edges[first]
			from.rest[at], from.next[at] = cheapest, to.at(int(e.to), e.move)
		}
	}
}

// passing is a node of a slot with the cost of the cheapest voicing through it, or, where
// next names one, through the step to a node of the next slot.
type passing struct {
	cost        total
	slot, order int32
	at, next    node
}

// noNode stands where there is none.
const noNode node = -1

// through lists every arrangement that lies on a whole voicing.
func (s *lattice) through() queue {
	size := 0
	for k := range s.layers {
		size += s.layers[k].size
	}
	all := make([]passing, 0, size)
	for k := range s.layers {
		l := &s.layers[k]
		for index := range l.size {
			cheapest, best := unreachable, sopranoFree
			for move := range sopranoMoves {
				at := l.at(index, move)
				if l.cost[at] == unreachable || l.rest[at] == unreachable {
					continue
				}
				if sum := l.cost[at] + l.rest[at]; sum < cheapest {
					cheapest, best = sum, move
				}
			}
			if cheapest < unreachable {
				all = append(all, passing{cost: cheapest, slot: int32(k), at: l.at(index, best), next: noNode})
			}
		}
	}
	return newQueue(all)
}

// throughSteps lists every step that lies on a whole voicing.
func (s *lattice) throughSteps() queue {
	var all []passing
	for k := 1; k < len(s.layers); k++ {
		from, to := &s.layers[k-1], &s.layers[k]
		s.problem.Style.work.Hold(bytesAPassing * len(s.edges[k]))
		for _, e := range s.edges[k] {
			s.problem.Style.work.Step(1)
			best, prior, ok := s.bestByMove(from, int(e.from))
			rest := to.rest[to.at(int(e.to), e.move)]
			if ok && rest < unreachable {
				all = append(all, passing{
					cost: best[e.move] + s.total(e.cost) + rest,
					slot: int32(k - 1), at: from.at(int(e.from), prior[e.move]), next: to.at(int(e.to), e.move),
				})
			}
		}
	}
	return newQueue(all)
}

// whole writes the cheapest voicing through a node or a step into a solution.
func (s *lattice) whole(c passing, solution *Solution) {
	solution.Cost, solution.broken = c.cost.parts()
	at := c.at.state(int(c.slot))
	s.trace(at, solution)
	for k := at.slot; k+1 < len(s.layers); k++ {
		next := c.next
		if k > int(c.slot) || next == noNode {
			l := &s.layers[k]
			next = l.next[l.at(at.index, at.move)]
		}
		at = next.state(k + 1)
		s.layers[at.slot].write(at.index, &solution.Chords[at.slot])
	}
}

// differenceNeeded is in how many of n chords two voicings must differ for the ear to
// take them for two.
func differenceNeeded(n int) int { return max(1, (n+3)/4) }

func differsFromAll(s *Solution, others []*Solution) bool {
	need := differenceNeeded(len(s.Chords))
	for _, o := range others {
		if differences(s, o) < need {
			return false
		}
	}
	return true
}

// differences counts the chords in which two voicings differ for the ear, none where
// their upper voices are the same throughout.
func differences(s, o *Solution) int {
	different, upper := 0, false
	for k := range s.Chords {
		a, b := s.Chords[k].Pitches, o.Chords[k].Pitches
		if heardAs(a) != heardAs(b) {
			different++
		}
		upper = upper || !slices.Equal(a[:len(a)-1], b[:len(b)-1])
	}
	if !upper {
		return 0
	}
	return different
}

// sounding is what the ear tells one arrangement from another by.
type sounding struct {
	top  theory.Pitch
	bass theory.PitchClass
	open bool
}

func heardAs(pitches []theory.Pitch) sounding {
	last := len(pitches) - 1
	return sounding{pitches[0], pitches[last].Class(), pitches[0].Semitones()-pitches[max(last-1, 0)].Semitones() > 12}
}
