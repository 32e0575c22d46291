package harmony

import (
	"math"
	"slices"
)

// The second pass goes from the end to the beginning and finds, for every
// arrival, the best way on from there. With the first pass it tells how good the
// best reading of the whole piece is that goes through a given segment in a
// given state, and so by how much the second best reading of a place is behind.

type backward struct {
	*lattice
	// floor is the least score of a whole path that is still looked at.
	floor float32
	// ahead are the best scores from the places of the boundaries behind to the
	// end, in a ring as the arrivals are; absent where that is below the floor, and
	// beyond the places of a boundary.
	ahead [maxSegmentFrames + 1][]float32
	// from[e] is the best score from entry e to the end, its segment included.
	from []float32
	// doubts are what else may be heard, by frame.
	doubts []doubt
	// toEnd is the best way on from each node, kept where it is not nil.
	toEnd []float32
	ways  entryWays
}

// newBackward makes the second pass and finds on its way what rivals the best path at
// each frame. What it returns holds until the lattice is released. Ways through the
// piece that are more than l.width behind the best are no rivals.
func newBackward(l *lattice, path []choice, best float32) *backward {
	n, keys := len(l.p.frames), len(l.table.keys)
	b := &l.second
	b.lattice, b.floor = l, best-l.width
	b.from = slices.Grow(b.from[:0], len(l.entries))[:len(l.entries)]
	b.askAll(path)
	b.ways.byKey = slices.Grow(b.ways.byKey[:0], keys)[:keys]
	b.ways.leap = slices.Grow(b.ways.leap[:0], keys)[:keys]
	b.ways.into = slices.Grow(b.ways.into[:0], keys)[:keys]
	for i := range b.ahead {
		b.ahead[i] = filled(b.ahead[i], len(b.ahead[i]))
	}
	for f := n; f >= 0; f-- {
		l.p.texture.Score.Work.Step(int(l.nodeAt[f+1]-l.nodeAt[f]) + 8)
		if f < n {
			b.leave(f)
		}
		if f == 0 && b.seams != nil && b.seams.before != nil {
			break
		}
		b.arriveFrom(f)
	}
	return b
}

// leave finds the best way on from each entry at boundary f.
func (b *backward) leave(f int) {
	from := b.from[b.entryAt[f]:b.entryAt[f+1]]
	for e := range from {
		from[e] = absent
	}
	end := int32(-1)
	for i := b.segStart[f]; i < b.segStart[f+1]; i++ {
		seg := &b.segments[i]
		g := &b.groups[seg.group]
		if seg.end != end {
			end = seg.end
			b.crossing(f, int(end))
		}
		at := int(end) % len(b.ring)
		first := b.ring[at].first[4*int(seg.chord)+int(seg.inversion)]
		if first < 0 {
			continue
		}
		ahead, crossed := b.ahead[at][first:], b.crossed[int(end)-f-1]
		for e := g.first; e < g.first+g.count; e++ {
			in := &b.entries[e]
			on := seg.score - crossed[in.key] + ahead[in.place]
			if in.score+on < b.floor {
				continue
			}
			if on > b.from[e] {
				b.from[e] = on
			}
			g.leads = true
			b.addRival(seg, in, in.score+on)
		}
	}
}

// arriveFrom finds the best way on from each node at boundary f and makes the
// nodes known to the segments that end there.
func (b *backward) arriveFrom(f int) {
	n := len(b.p.frames)
	at := f % len(b.ring)
	places := &b.ring[at]
	size := places.recall(b.parcels[b.parcelAt[f]:b.parcelAt[f+1]], b.table)
	if before := f + len(b.ring); before <= n {
		for i := b.nodeAt[before]; i < b.nodeAt[before+1]; i++ {
			b.ahead[at][b.nodes[i].place] = absent
		}
	}
	for len(b.ahead[at]) < size {
		b.ahead[at] = append(b.ahead[at], absent)
	}
	ahead := b.ahead[at]
	if f < n {
		b.waysOn(f)
		b.leapsFrom(f)
	}
	for i := b.nodeAt[f]; i < b.nodeAt[f+1]; i++ {
		node := &b.nodes[i]
		var on float32
		if f == n {
			on = b.ending(node)
		} else {
			on = b.onward(node)
		}
		if node.score+on >= b.floor {
			ahead[node.place] = on
		}
		if b.toEnd != nil {
			b.toEnd[i] = on
		}
	}
}

// ending is what the end of the piece adds to an arrival.
func (l *lattice) ending(node *node) float32 {
	if l.seams != nil && l.seams.after != nil {
		if on, known := l.seams.after[l.stateOf(node)]; known {
			return on
		}
		return absent
	}
	mode := l.table.keys[node.key].Mode
	return l.t.last[mode][node.state] - l.unsettled(node.heard)
}

// entryWays is what lies ahead at one boundary, by key.
type entryWays struct {
	phrase bool
	// entries of each key that a chord of the same key can go to.
	byKey [][]int32
	value []float32 // by entry, from the boundary's first on; pivots included
	first int32
	// leap is the best way on from a key by an abrupt change, by key left.
	leap []float32
	into []float32 // scratch: the best way into each key
}

// waysOn prepares the entries of boundary f for all its nodes.
func (b *backward) waysOn(f int) {
	w := &b.ways
	w.phrase = b.p.follows(f)
	w.first = b.entryAt[f]
	w.value = append(w.value[:0], b.from[b.entryAt[f]:b.entryAt[f+1]]...)
	for k := range w.byKey {
		w.byKey[k], w.into[k] = w.byKey[k][:0], absent
	}
	for i := b.groupAt[f]; i < b.groupAt[f+1]; i++ {
		g := &b.groups[i]
		if !g.leads {
			continue
		}
		if !b.p.opens(f) && !w.phrase {
			b.lendToOld(w, g)
		}
		for e := g.first; e < g.first+g.count; e++ {
			value := w.value[e-w.first]
			in := &b.entries[e]
			if in.score+value < b.floor {
				continue
			}
			mode := b.table.keys[in.key].Mode
			w.byKey[in.key] = append(w.byKey[in.key], e)
			if in.heard == b.h.heard[mode][in.state] || in.heard == settled {
				w.into[in.key] = max(w.into[in.key], value+b.t.entry[mode][in.state])
			}
		}
	}
}

// leapsFrom finds the best ways on by an abrupt change from the keys that boundary f is
// reached in.
func (b *backward) leapsFrom(f int) {
	w, keys := &b.ways, len(b.table.keys)
	leap := b.t.leap[bool2int(w.phrase)]
	before := int16(-1)
	for i := b.nodeAt[f]; i < b.nodeAt[f+1]; i++ {
		key := b.nodes[i].key
		if key == before {
			continue // the nodes of a key stand together
		}
		before = key
		best := absent
		for to, related := range b.relation[int(key)*keys:][:keys] {
			if into := w.into[to]; into > absent && to != int(key) {
				best = higher(best, into+leap+related)
			}
		}
		w.leap[key] = best
	}
}

// lendToOld lets every plain entry of a group go on as one in another key does,
// by turning into it.
func (b *backward) lendToOld(w *entryWays, g *group) {
	b.p.texture.Score.Work.Step(int(g.count))
	for e := g.first; e < g.first+g.count; e++ {
		in := &b.entries[e]
		mode := b.table.keys[in.key].Mode
		if b.from[e] <= absent || !in.plain || in.heard != b.h.heard[mode][in.state] {
			continue
		}
		ahead := b.from[e] + b.t.newer[mode][in.state]
		for o := g.first; o < g.first+g.count; o++ {
			old := &b.entries[o]
			if !old.plain || old.key == in.key {
				continue
			}
			score := ahead + b.t.older[b.table.keys[old.key].Mode][old.state] +
				b.related(int(old.key), int(in.key)) - b.unsettled(old.heard)
			if value := &w.value[o-w.first]; score > *value {
				*value = score
			}
		}
	}
}

// onward is the best score from a node to the end.
func (b *backward) onward(node *node) float32 {
	w := &b.ways
	mode := b.table.keys[node.key].Mode
	states := b.h.words[mode].states()
	pair := b.t.pair[mode]
	best, final := absent, float32(0)
	if w.phrase {
		final = b.t.final[mode][node.state]
	}
	if w.leap[node.key] > absent {
		best = w.leap[node.key] + b.t.exit[mode][node.state] - b.unsettled(node.heard) + final
	}
	for _, e := range w.byKey[node.key] {
		in := &b.entries[e]
		if in.heard != node.heard|b.h.heard[mode][in.state] {
			continue
		}
		habit := b.t.start[mode][in.state] + final
		if !w.phrase {
			habit = pair[int(in.state)*states+int(node.state)]
		}
		if s := habit + w.value[e-w.first]; s > best {
			best = s
		}
	}
	return best
}

// certainty turns a margin into the share of labels with such a margin that a musician
// gives too, in a piece of some brevity and phrasing. "go run ./worker/fitharmony
// validate" fits the four numbers.
func (w *weights) certainty(margin, brevity, phrasing float64) float64 {
	return 1 / (1 + math.Exp(-(float64(w.certainBase) + float64(w.certainSlope)*margin +
		float64(w.certainBrevity)*brevity + float64(w.certainPhrasing)*phrasing)))
}
