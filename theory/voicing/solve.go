package voicing

import (
	"context"
	"slices"

	"partwright/theory"
)

// Solve returns the cheapest voicing of a progression. Where no voicing obeys
// the hard rules the error is an [*ImpossibleError]; [Search.LeastBad] then says what
// comes nearest.
func Solve(p *Problem) (*Solution, error) {
	all, err := Alternatives(p, 1)
	if err != nil {
		return nil, err
	}
	return all[0], nil
}

// state is one arrangement of one slot together with the top voice's last move.
type state struct {
	slot, index int
	move        sopranoMove
}

// edge is one allowed step between two neighboring slots.
type edge struct {
	from, to int32
	cost     Cost
	move     sopranoMove
}

// lattice is all that a search has found out.
type lattice struct {
	problem *Problem
	layers  []layer
	edges   [][]edge // by the slot they lead to; kept where alternatives are asked for
	// lenient is set where a fault costs [penalty] and is not forbidden.
	lenient bool
	// after is [Weights.after] for each two moves of the top voice.
	after [sopranoMoves][sopranoMoves]total
	// motions and steps belong to the two slots that are compared.
	motions motions
	steps   []edge
}

// layer is one slot with the arrangements of all its choices in a row.
type layer struct {
	sets  []*set
	first []int // index of each set's first arrangement
	size  int
	// cost is the cheapest way from the start to each node, back the node before
	// it; rest and next are the same towards the end.
	cost, rest []total
	back, next []node
}

// node is an arrangement of a layer together with the top voice's last move.
type node int32

func (l *layer) at(index int, move sopranoMove) node {
	return node(index*int(sopranoMoves) + int(move))
}

// state names a node of the layer of slot k.
func (n node) state(k int) state {
	return state{k, int(n) / int(sopranoMoves), sopranoMove(n % node(sopranoMoves))}
}

// find returns the set that an arrangement belongs to, and the arrangement.
func (l *layer) find(index int) (*set, *arrangement) {
	for c := len(l.sets) - 1; ; c-- {
		if index >= l.first[c] {
			return l.sets[c], &l.sets[c].arrangements[index-l.first[c]]
		}
	}
}

// newLayer lists what a slot could be. Where nothing stands by the rules and the least
// bad is asked for, doublings, omissions and spacing are let go as well, each
// arrangement for the price of a fault.
func newLayer(p *Problem, k int, barred Cost) layer {
	l := p.layer(k, arrange)
	if l.size == 0 && barred == penalty {
		l = p.layer(k, arrangeAtAnyPrice)
	}
	p.Style.work.Hold(bytesAState * l.size)
	l.cost = fill(make([]total, l.size*int(sopranoMoves)))
	l.back = make([]node, len(l.cost))
	return l
}

// layer arranges the choices of a slot in a row.
func (p *Problem) layer(k int, arrange func(Choice, *Slot, *Style) *set) layer {
	var l layer
	slot := p.Slots[k]
	slot.beside = p.beside(k)
	for _, c := range slot.Choices {
		s := arrange(c, &slot, &p.Style)
		s.shape(p.archAt(k), &p.Style.Weights)
		p.Position.charge(s, &p.Style.Weights)
		l.sets = append(l.sets, s)
		l.first = append(l.first, l.size)
		l.size += len(s.arrangements)
	}
	return l
}

// fill makes everything unreachable.
func fill(costs []total) []total {
	for i := range costs {
		costs[i] = unreachable
	}
	return costs
}

// newLattice runs forward through the progression.
func newLattice(ctx context.Context, p *Problem, barred Cost, keepEdges bool) (l *lattice, err error) {
	defer theory.Recover(&err)
	if err := p.validate(); err != nil {
		return nil, err
	}
	p.Style.under()
	bounded := *p
	p = &bounded
	p.Style.work = theory.WorkIn(ctx)
	s := latticeOf(p, barred)
	for k := range p.Slots {
		s.layers[k] = newLayer(p, k, barred)
		for _, set := range s.layers[k].sets {
			if k > 0 {
				set.follow(&p.Slots[k-1])
			}
		}
		if s.layers[k].size == 0 {
			return nil, &ImpossibleError{Slot: k, Alone: true}
		}
	}
	s.begin()
	for k := 1; k < len(s.layers); k++ {
		reached, err := s.advance(ctx, k, barred, keepEdges)
		if err != nil {
			return nil, err
		}
		if !reached {
			return nil, &ImpossibleError{Slot: k}
		}
	}
	return s, nil
}

// latticeOf is a lattice of which nothing is known yet.
func latticeOf(p *Problem, barred Cost) *lattice {
	s := &lattice{problem: p, layers: make([]layer, len(p.Slots)), edges: make([][]edge, len(p.Slots)), lenient: barred == penalty}
	for before := range sopranoMoves {
		for now := range sopranoMoves {
			s.after[before][now] = total(p.Style.Weights.after(before, now))
		}
	}
	return s
}

// begin fills the costs of the first layer.
func (s *lattice) begin() {
	first := &s.layers[0]
	for c, set := range first.sets {
		for i := range set.arrangements {
			first.cost[first.at(first.first[c]+i, sopranoFree)] = s.total(set.arrangements[i].cost + set.choiceCost)
		}
	}
}

// What a step, a state and a whole voicing through a step take to keep, in bytes,
// about.
const (
	bytesAStep    = 24
	bytesAState   = 160
	bytesAPassing = 24
)

// usualSteps is about how many steps lead from one chord to the next in four voices.
const usualSteps = 1024

// advance fills the costs of layer k from the one before it and reports whether
// anything could be reached.
func (s *lattice) advance(ctx context.Context, k int, barred Cost, keepEdges bool) (reached bool, err error) {
	from, to := &s.layers[k-1], &s.layers[k]
	m := &s.motions
	if s.steps = s.steps[:0]; keepEdges && s.steps == nil {
		s.steps = make([]edge, 0, usualSteps)
	}
	for ca, a := range from.sets {
		for cb, b := range to.sets {
			progress := s.problem.progress(k, a.reading, b.reading)
			if err := ctx.Err(); err != nil {
				return false, err
			}
			left, entered := a.left, b.entered
			m.compare(left, entered, &s.problem.Style, barred)
			for i := range a.arrangements {
				s.problem.Style.work.Step(len(b.arrangements)/8 + 1)
				kept := len(s.steps)
				index := from.first[ca] + i
				best, prior, ok := s.bestByMove(from, index)
				if !ok {
					continue
				}
				m.leave(&left.arrangements[i])
				for j := range b.arrangements {
					step := m.reach(&entered.arrangements[j])
					if step >= forbidden {
						continue
					}
					move := m.top(&entered.arrangements[j])
					step += b.arrangements[j].cost + b.choiceCost + progress
					if keepEdges {
						s.steps = append(s.steps, edge{int32(index), int32(to.first[cb] + j), step, move})
					}
					at := to.at(to.first[cb]+j, move)
					if sum := best[move] + s.total(step); sum < to.cost[at] {
						to.cost[at], to.back[at] = sum, from.at(index, prior[move])
						reached = true
					}
				}
				s.problem.Style.work.Hold(bytesAStep * (len(s.steps) - kept))
			}
		}
	}
	s.edges[k] = slices.Clone(s.steps)
	return reached, nil
}

// bestByMove returns, for each move the top voice may make next, the cheapest
// way to stand on an arrangement and make it, and the move before.
func (s *lattice) bestByMove(l *layer, index int) (best [sopranoMoves]total, prior [sopranoMoves]sopranoMove, ok bool) {
	for now := range sopranoMoves {
		best[now] = unreachable / 2
	}
	first := l.at(index, 0)
	costs := l.cost[first : first+node(sopranoMoves)]
	for before := range sopranoMoves {
		cost := costs[before]
		if cost == unreachable {
			continue
		}
		ok = true
		for now, after := range s.after[before] {
			if sum := cost + after; sum < best[now] {
				best[now], prior[now] = sum, before
			}
		}
	}
	return best, prior, ok
}

// bestEnd returns the cheapest state of the last layer.
func (s *lattice) bestEnd() state {
	k := len(s.layers) - 1
	last := &s.layers[k]
	best := state{slot: k}
	cheapest := unreachable
	for index := range last.size {
		for move := range sopranoMoves {
			if cost := last.cost[last.at(index, move)]; cost < cheapest {
				cheapest, best = cost, state{k, index, move}
			}
		}
	}
	return best
}

// path follows the states back from the last one.
func (s *lattice) path(end state) *Solution {
	last := &s.layers[end.slot]
	solution := s.blank()
	solution.Cost, solution.broken = last.cost[last.at(end.index, end.move)].parts()
	s.trace(end, solution)
	return solution
}

// blank is a solution to be written into.
func (s *lattice) blank() *Solution {
	n := len(s.problem.Style.Voices)
	solution := &Solution{Chords: make([]Chord, len(s.layers))}
	pitches := make([]theory.Pitch, n*len(s.layers))
	for k := range solution.Chords {
		solution.Chords[k].Pitches = pitches[k*n : (k+1)*n : (k+1)*n]
	}
	return solution
}

// trace writes the chords of the cheapest way to a state into a solution.
func (s *lattice) trace(end state, solution *Solution) {
	for at := end; ; {
		l := &s.layers[at.slot]
		l.write(at.index, &solution.Chords[at.slot])
		if at.slot == 0 {
			return
		}
		at = l.back[l.at(at.index, at.move)].state(at.slot - 1)
	}
}

// write writes an arrangement into a chord, which has its pitches ready.
func (l *layer) write(index int, c *Chord) {
	set, a := l.find(index)
	c.Reading, c.PhraseEnd = set.reading, set.phraseEnd
	for v := range c.Pitches {
		c.Pitches[v] = set.tones[v][a.tone[v]].pitch
	}
}

func (l *layer) chord(index, voices int) Chord {
	c := Chord{Pitches: make([]theory.Pitch, voices)}
	l.write(index, &c)
	return c
}
