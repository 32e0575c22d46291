package voicing

import "context"

// thinned is a lattice without the steps that no voicing anywhere near the best
// one takes, so that it can be searched again and again.
type thinned struct {
	lattice *lattice
	slots   []thinSlot
	// best and prior are room for what [thinned.advance] works out.
	best  []total
	prior []sopranoMove
}

// thinSlot is one slot of a thinned lattice.
type thinSlot struct {
	// index names the arrangements that are left.
	index []int32
	heard []sounding
	steps []edge // from the slot before, by position in index
	// cost and back belong to the search that is going on: position × move.
	cost []total
	back []thinState
	held []Cost // what each arrangement is charged for being used before
}

type thinState struct {
	at   int32
	move sopranoMove
}

// stepsKept is how many steps a slot keeps on average.
const stepsKept = 250

// thin keeps the steps through which the cheapest voicings pass. If a step stays,
// so does the cheapest voicing through it, since its other steps cost no more.
func (s *lattice) thin() *thinned {
	through, steps := s.costsThrough(), 0
	for _, costs := range through {
		steps += len(costs)
	}
	all := make([]total, 0, steps)
	for _, costs := range through {
		s.problem.Style.work.Step(len(costs))
		s.problem.Style.work.Hold(24 * len(costs))
		for _, c := range costs {
			if c < unreachable {
				all = append(all, c)
			}
		}
	}
	limit := nth(all, min(len(all)-1, stepsKept*(len(s.layers)-1)))
	t := &thinned{lattice: s, slots: make([]thinSlot, len(s.layers))}
	positions := make([][]int32, len(s.layers)) // by arrangement, one more than its position
	for k := range positions {
		positions[k] = make([]int32, s.layers[k].size)
	}
	at := func(k int, index int32) int32 {
		p := positions[k][index] - 1
		if p < 0 {
			slot := &t.slots[k]
			p = int32(len(slot.index))
			positions[k][index] = p + 1
			slot.index = append(slot.index, index)
			slot.heard = append(slot.heard, heardAs(s.layers[k].chord(int(index), len(s.problem.Style.Voices)).Pitches))
		}
		return p
	}
	for k := 1; k < len(s.layers); k++ {
		kept := 0
		for _, cost := range through[k] {
			if cost <= limit {
				kept++
			}
		}
		t.slots[k].steps = make([]edge, 0, kept)
		for i, e := range s.edges[k] {
			if through[k][i] <= limit {
				t.slots[k].steps = append(t.slots[k].steps, edge{at(k-1, e.from), at(k, e.to), e.cost, e.move})
			}
		}
	}
	for k := range t.slots {
		n := len(t.slots[k].index)
		t.slots[k].cost, t.slots[k].back = make([]total, n*int(sopranoMoves)), make([]thinState, n*int(sopranoMoves))
		t.slots[k].held = make([]Cost, n)
	}
	return t
}

// nth is the element that would stand at index n if all were sorted; it moves them about.
func nth(all []total, n int) total {
	for low, high := 0, len(all)-1; low < high; {
		pivot := max(min(all[low], all[high]), min(max(all[low], all[high]), all[(low+high)/2]))
		i, j := low, high
		for i <= j {
			for all[i] < pivot {
				i++
			}
			for all[j] > pivot {
				j--
			}
			if i <= j {
				all[i], all[j] = all[j], all[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case n <= j:
			high = j
		case n >= i:
			low = i
		default:
			return all[n]
		}
	}
	return all[n]
}

// costsThrough is what the cheapest voicing through each step costs.
func (s *lattice) costsThrough() [][]total {
	out := make([][]total, len(s.layers))
	for k := 1; k < len(s.layers); k++ {
		from, to := &s.layers[k-1], &s.layers[k]
		out[k] = make([]total, len(s.edges[k]))
		last := int32(-1)
		var best [sopranoMoves]total
		s.problem.Style.work.Step(len(s.edges[k]) / 16)
		for i, e := range s.edges[k] {
			if e.from != last {
				best, _, _ = s.bestByMove(from, int(e.from))
				last = e.from
			}
			out[k][i] = unreachable
			if rest := to.rest[to.at(int(e.to), e.move)]; rest < unreachable && best[e.move] < unreachable/2 {
				out[k][i] = best[e.move] + s.total(e.cost) + rest
			}
		}
	}
	return out
}

// more adds voicings that sound different from all found so far, until there are
// k or no charge helps. A chord that sounds like that of an earlier voicing
// is charged for it, and the charge grows until the voicing is different enough.
func (t *thinned) more(ctx context.Context, found []*Solution, k int) ([]*Solution, error) {
	need := differenceNeeded(len(t.slots))
	charge := make([]Cost, len(found), k)
	for rounds := 0; len(found) < k && rounds < maxCharges; rounds++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		t.hold(found, charge)
		s := t.search()
		enough := true
		for i, f := range found {
			if differences(s, f) < need {
				charge[i] += 40 + charge[i]/3
				enough = false
			}
		}
		if enough {
			found, charge = append(found, s), append(charge, charge[0]/2)
			rounds = 0
		}
	}
	return found, nil
}

// maxCharges bounds how often charges grow for one voicing.
const maxCharges = 60

func (t *thinned) hold(found []*Solution, charge []Cost) {
	for k := range t.slots {
		slot := &t.slots[k]
		clear(slot.held)
		for i, f := range found {
			if charge[i] == 0 {
				continue
			}
			heard := heardAs(f.Chords[k].Pitches)
			for p := range slot.heard {
				if slot.heard[p] == heard {
					slot.held[p] += charge[i]
				}
			}
		}
	}
}

// search finds the cheapest voicing under the charges and returns it at its own
// cost.
func (t *thinned) search() *Solution {
	first := &t.slots[0]
	for i := range first.cost {
		first.cost[i] = unreachable
	}
	begin := &t.lattice.layers[0]
	for p, index := range first.index {
		first.cost[p*int(sopranoMoves)+int(sopranoFree)] = begin.cost[begin.at(int(index), sopranoFree)] + total(first.held[p])
	}
	for k := 1; k < len(t.slots); k++ {
		t.advance(k)
	}
	last := &t.slots[len(t.slots)-1]
	best := 0
	for i := range last.cost {
		if last.cost[i] < last.cost[best] {
			best = i
		}
	}
	return t.path(best)
}

func (t *thinned) advance(k int) {
	from, to := &t.slots[k-1], &t.slots[k]
	for i := range to.cost {
		to.cost[i] = unreachable
	}
	const moves = int(sopranoMoves)
	if n := len(from.cost); len(t.best) < n {
		t.best, t.prior = make([]total, n), make([]sopranoMove, n)
	}
	best, prior := t.best[:len(from.cost)], t.prior[:len(from.cost)]
	for i := range best {
		best[i] = unreachable
	}
	for p := range from.index {
		here, first := best[p*moves:(p+1)*moves], prior[p*moves:(p+1)*moves]
		for before, cost := range from.cost[p*moves : (p+1)*moves] {
			if cost == unreachable {
				continue
			}
			for now, after := range &t.lattice.after[before] {
				if c := cost + after; c < here[now] {
					here[now], first[now] = c, sopranoMove(before)
				}
			}
		}
	}
	t.lattice.problem.Style.work.Step(len(to.steps)/16 + len(from.index))
	for i := range to.steps {
		e := &to.steps[i]
		b := int(e.from)*moves + int(e.move)
		if best[b] == unreachable {
			continue
		}
		at := int(e.to)*moves + int(e.move)
		if c := best[b] + t.lattice.total(e.cost) + total(to.held[e.to]); c < to.cost[at] {
			to.cost[at], to.back[at] = c, thinState{e.from, prior[b]}
		}
	}
}

func (t *thinned) path(end int) *Solution {
	const moves = int(sopranoMoves)
	n := len(t.slots)
	s := &Solution{Chords: make([]Chord, n)}
	s.Cost, _ = t.slots[n-1].cost[end].parts()
	at := thinState{int32(end / moves), sopranoMove(end % moves)}
	for k := n - 1; k >= 0; k-- {
		slot := &t.slots[k]
		s.Chords[k] = t.lattice.layers[k].chord(int(slot.index[at.at]), len(t.lattice.problem.Style.Voices))
		s.Cost -= slot.held[at.at]
		at = slot.back[int(at.at)*moves+int(at.move)]
	}
	return s
}
