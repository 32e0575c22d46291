package voicing

import (
	"context"
	"sort"
)

// Character is what somebody hears first of a voicing, and by what alternatives are told
// apart.
type Character struct {
	// Ends is the member of the last chord in the top voice: 0 the root, 1 the third.
	Ends int
	// Position is close or open where three chords of four or more are.
	Position Position
	// Contrary counts the changes in which the outer voices move in contrary motion.
	Contrary int
	// Rise is how many semitones the last note of the top voice lies above its first.
	Rise int
	// Semitones is the motion of all upper voices.
	Semitones int
}

// Character tells what a voicing is like.
func (s *Solution) Character() Character {
	last := &s.Chords[len(s.Chords)-1]
	c := Character{
		Ends: last.Reading.MemberOf(last.Pitches[0].Class()),
		Rise: last.Pitches[0].Semitones() - s.Chords[0].Pitches[0].Semitones(),
	}
	open := 0
	for k := range s.Chords {
		now := s.Chords[k].Pitches
		bass := len(now) - 1
		if heardAs(now).open {
			open++
		}
		if k == 0 {
			continue
		}
		before := s.Chords[k-1].Pitches
		for v := range bass {
			c.Semitones += abs(now[v].Semitones() - before[v].Semitones())
		}
		if contrary(now[0].Semitones()-before[0].Semitones(), now[bass].Semitones()-before[bass].Semitones()) {
			c.Contrary++
		}
	}
	switch n := len(s.Chords); {
	case open*4 >= n*3:
		c.Position = OpenPosition
	case open*4 <= n:
		c.Position = ClosePosition
	}
	return c
}

func contrary(top, bass int) bool { return top > 0 && bass < 0 || top < 0 && bass > 0 }

// Charges that draw a voicing to a character, in hundredths: for each chord in another
// position, and for each change without contrary motion of the outer voices.
const (
	towardPosition Cost = 800
	towardContrary Cost = 300
)

// dearest is how much more than the best a voicing may cost that is offered for its
// character.
func dearest(best Cost) Cost { return best + max(500, best/3) }

// characters returns voicings of other characters than the best, the cheapest of each,
// cheapest first: those that end on each other member of the last chord in the top voice,
// one in the other position, one with more contrary motion.
func (s *lattice) characters(ctx context.Context, best *Solution) ([]*Solution, error) {
	all := s.endings()
	own := best.Character()
	other := OpenPosition
	if own.Position == OpenPosition {
		other = ClosePosition
	}
	again := s.again()
	for _, lean := range []leaning{s.towardPosition(other), s.towardContrary()} {
		found, err := again.leaning(ctx, s, &lean)
		if err != nil {
			return nil, err
		}
		c := found.Character()
		if c.Position == other && own.Position != other || c.Contrary > own.Contrary {
			all = append(all, found)
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].Cost < all[j].Cost })
	return all, nil
}

// endings are the cheapest voicings that end on each member of the last chord in the top
// voice.
func (s *lattice) endings() []*Solution {
	k := len(s.layers) - 1
	last := &s.layers[k]
	type end struct {
		set    *set
		member int8
	}
	cheapest := map[end]passing{}
	var order []end
	for index := range last.size {
		set, a := last.find(index)
		e := end{set, set.tones[0][a.tone[0]].member}
		for move := range sopranoMoves {
			cost := last.cost[last.at(index, move)]
			known, ok := cheapest[e]
			if !ok {
				known.cost = unreachable
				order = append(order, e)
			}
			if cost < known.cost {
				known = passing{cost: cost, at: last.at(index, move)}
			}
			cheapest[e] = known
		}
	}
	var out []*Solution
	for _, e := range order {
		if c := cheapest[e]; c.cost < unreachable {
			out = append(out, s.path(c.at.state(k)))
		}
	}
	return out
}

// leaning says what is charged on top of a voicing's own cost.
type leaning struct {
	// at is for each arrangement of each slot; nil is nothing.
	at [][]Cost
	// outer are the top and the bass of each arrangement in semitones, where steps without
	// contrary motion of these two are charged.
	outer [][][2]int16
}

func (l *leaning) stand(k, index int) Cost {
	if l.at == nil {
		return 0
	}
	return l.at[k][index]
}

func (l *leaning) step(k int, from, to int32) Cost {
	if l.outer == nil {
		return 0
	}
	a, b := l.outer[k-1][from], l.outer[k][to]
	if contrary(int(b[0])-int(a[0]), int(b[1])-int(a[1])) {
		return 0
	}
	return towardContrary
}

// rows makes room for something about each arrangement of each slot.
func rows[T any](s *lattice) [][]T {
	out := make([][]T, len(s.layers))
	for k := range out {
		out[k] = make([]T, 0, s.layers[k].size)
	}
	return out
}

func (s *lattice) towardPosition(p Position) leaning {
	lean := leaning{at: rows[Cost](s)}
	s.each(func(k int, _ *set, a *arrangement) {
		cost := Cost(0)
		if a.open != (p == OpenPosition) {
			cost = towardPosition
		}
		lean.at[k] = append(lean.at[k], cost)
	})
	return lean
}

func (s *lattice) towardContrary() leaning {
	bass := len(s.problem.Style.Voices) - 1
	lean := leaning{outer: rows[[2]int16](s)}
	s.each(func(k int, set *set, a *arrangement) {
		lean.outer[k] = append(lean.outer[k], [2]int16{int16(set.tones[0][a.tone[0]].semitones), int16(set.tones[bass][a.tone[bass]].semitones)})
	})
	return lean
}

// each goes through the arrangements of every slot in the order of their indexes.
func (s *lattice) each(do func(k int, set *set, a *arrangement)) {
	for k := range s.layers {
		for _, set := range s.layers[k].sets {
			for i := range set.arrangements {
				do(k, set, &set.arrangements[i])
			}
		}
	}
}

// again is a lattice of the same arrangements, to search through once more.
func (s *lattice) again() *lattice {
	t := &lattice{problem: s.problem, layers: make([]layer, len(s.layers)), lenient: s.lenient, after: s.after}
	for k := range s.layers {
		l := &s.layers[k]
		s.problem.Style.work.Hold(bytesAState * l.size)
		t.layers[k] = layer{sets: l.sets, first: l.first, size: l.size, cost: make([]total, len(l.cost)), back: make([]node, len(l.back))}
	}
	return t
}

// leaning searches through the steps that another lattice knows, with charges on top, and
// returns what it finds at its own cost.
func (t *lattice) leaning(ctx context.Context, s *lattice, lean *leaning) (*Solution, error) {
	for k := range t.layers {
		fill(t.layers[k].cost)
	}
	first := &t.layers[0]
	for index := range first.size {
		at := first.at(index, sopranoFree)
		if c := s.layers[0].cost[at]; c < unreachable {
			first.cost[at] = c + total(lean.stand(0, index))
		}
	}
	work := s.problem.Style.work
	for k := 1; k < len(t.layers); k++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		work.Step(len(s.edges[k])/16 + 1)
		from, to := &t.layers[k-1], &t.layers[k]
		var best [sopranoMoves]total
		var prior [sopranoMoves]sopranoMove
		last, ok := int32(-1), false
		for i := range s.edges[k] {
			e := &s.edges[k][i]
			if e.from != last {
				best, prior, ok = t.bestByMove(from, int(e.from))
				last = e.from
			}
			if !ok || best[e.move] >= unreachable/2 {
				continue
			}
			at := to.at(int(e.to), e.move)
			if sum := best[e.move] + t.total(e.cost) + total(lean.step(k, e.from, e.to)+lean.stand(k, int(e.to))); sum < to.cost[at] {
				to.cost[at], to.back[at] = sum, from.at(int(e.from), prior[e.move])
			}
		}
	}
	end := t.bestEnd()
	found := t.path(end)
	found.Cost -= t.leant(end, lean)
	return found, nil
}

// leant is what was charged on top along the way to a state.
func (s *lattice) leant(end state, lean *leaning) Cost {
	var sum Cost
	for at := end; ; {
		sum += lean.stand(at.slot, at.index)
		if at.slot == 0 {
			return sum
		}
		l := &s.layers[at.slot]
		before := l.back[l.at(at.index, at.move)].state(at.slot - 1)
		sum += lean.step(at.slot, int32(before.index), int32(at.index))
		at = before
	}
}
