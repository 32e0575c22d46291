package harmony

import "math"

// The second pass goes from the end to the beginning and finds, for every
// arrival, the best way on from there. With the first pass it tells how good the
// best reading of the whole piece is that goes through a given segment in a
// given state, and so by how much the second best reading of a place is behind.

type backward struct {
	*lattice
	// ahead[i] is the best score from node i to the end; from[e] that from entry
	// e, its segment included.
	ahead []float32
	from  []float32
	// used lists what is set in each slot of the ring.
	used [][]int32
	// questions are in order of frame; questionAt[f] is the first at or after f.
	questions  []question
	questionAt []int32
	ways       entryWays
}

// newBackward makes the second pass and answers the questions on its way.
func newBackward(l *lattice, questions []question) *backward {
	b := &backward{lattice: l, questions: questions}
	b.ahead, b.from = make([]float32, len(l.nodes)), make([]float32, len(l.entries))
	b.used = make([][]int32, len(l.slot))
	n := len(l.p.frames)
	b.questionAt = make([]int32, n+1)
	for f, i := 0, 0; f <= n; f++ {
		for i < len(questions) && int(questions[i].frame) < f {
			i++
		}
		b.questionAt[f] = int32(i)
	}
	keys := len(l.table.keys)
	b.ways = entryWays{byKey: make([][]int32, keys), leap: make([]float32, keys), into: make([]float32, keys)}
	for f := n; f >= 0; f-- {
		if f < n {
			b.leave(f)
		}
		b.arrive(f)
	}
	for at := range b.used {
		b.empty(at)
	}
	return b
}

func (b *backward) nodeSlot(key int, state int16, heard settling) int {
	return (key*b.states+int(state))*int(settled+1) + int(heard)
}

// leave finds the best way on from each entry at boundary f.
func (b *backward) leave(f int) {
	n := len(b.p.frames)
	ring := len(b.slot)
	first, last := b.firstEntry(b.groupAt[f]), b.firstEntry(b.groupAt[f+1])
	for e := first; e < last; e++ {
		b.from[e] = absent
	}
	for i := b.segStart[f]; i < b.segStart[f+1]; i++ {
		seg := &b.segments[i]
		g := &b.groups[seg.group]
		slot := b.slot[int(seg.end)%ring]
		for e := g.first; e < g.first+g.count; e++ {
			in := &b.entries[e]
			at := slot[b.nodeSlot(int(in.key), in.state, in.heard)]
			if at < 0 {
				continue
			}
			cost := b.keyCost[int(in.key)*(n+1)+int(seg.end)] - b.keyCost[int(in.key)*(n+1)+f]
			ahead := seg.score - cost + b.ahead[at]
			b.from[e] = max(b.from[e], ahead)
			b.ask(seg, e, in.score+ahead)
		}
	}
}

// firstEntry is where a group's entries begin; behind the last group, where all
// entries end: no segment may start at the boundary.
func (b *backward) firstEntry(group int32) int32 {
	if group < int32(len(b.groups)) {
		return b.groups[group].first
	}
	return int32(len(b.from))
}

// arrive finds the best way on from each node at boundary f and makes the nodes
// known to the segments that end there.
func (b *backward) arrive(f int) {
	n := len(b.p.frames)
	at := f % len(b.slot)
	b.empty(at)
	if f < n {
		b.waysOn(f)
	}
	for i := b.nodeAt[f]; i < b.nodeAt[f+1]; i++ {
		node := &b.nodes[i]
		if f == n {
			b.ahead[i] = b.ending(node)
		} else {
			b.ahead[i] = b.onward(node)
		}
		u := int32(b.nodeSlot(int(node.key), node.state, node.heard))
		b.slot[at][u] = i
		b.used[at] = append(b.used[at], u)
	}
}

func (b *backward) empty(at int) {
	for _, u := range b.used[at] {
		b.slot[at][u] = -1
	}
	b.used[at] = b.used[at][:0]
}

// ending is what the end of the piece adds to an arrival.
func (l *lattice) ending(node *node) float32 {
	mode := l.table.keys[node.key].Mode
	return l.w.lastHabits*l.h.last[mode][node.state] - l.unsettled(node.heard)
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
	groups := b.groups[b.groupAt[f]:b.groupAt[f+1]]
	w := &b.ways
	w.phrase = f > 0 && b.p.frames[f-1].phraseEnd
	w.first = b.firstEntry(b.groupAt[f])
	end := b.firstEntry(b.groupAt[f+1])
	w.value = append(w.value[:0], b.from[w.first:end]...)
	into := w.into
	for k := range w.byKey {
		w.byKey[k] = w.byKey[k][:0]
	}
	for k := range into {
		into[k] = absent
	}
	for _, g := range groups {
		for e := g.first; e < g.first+g.count; e++ {
			in := &b.entries[e]
			if in.pivot >= 0 {
				b.lendToOld(w, e, g)
			}
		}
	}
	for e := w.first; e < end; e++ {
		in := &b.entries[e]
		if in.pivot >= 0 || w.value[e-w.first] <= absent {
			continue
		}
		key := b.table.keys[in.key]
		w.byKey[in.key] = append(w.byKey[in.key], e)
		if in.heard == b.h.heard[key.Mode][in.state] || in.heard == settled {
			into[in.key] = max(into[in.key], w.value[e-w.first]+b.w.habits*b.h.entry[key.Mode][in.state])
		}
	}
	at := bool2int(w.phrase)
	for k := range w.leap {
		w.leap[k] = absent
		for to := range into {
			if to != k && into[to] > absent {
				w.leap[k] = max(w.leap[k], into[to]+b.w.keyHabits*b.h.leap[at]+b.related(k, to)-b.w.leap)
			}
		}
	}
}

// lendToOld lets every entry that may turn into pivot entry e go on as it does.
func (b *backward) lendToOld(w *entryWays, e int32, g group) {
	in := &b.entries[e]
	ahead := b.from[e]
	if ahead <= absent {
		return
	}
	mode := b.table.keys[in.key].Mode
	ahead += b.w.habits*b.h.newer[mode][in.state] - b.w.pivot + b.w.keyHabits*b.h.pivot[0]
	for o := g.first; o < g.first+g.count; o++ {
		old := &b.entries[o]
		if old.pivot >= 0 || !old.plain || old.key == in.key {
			continue
		}
		score := ahead + b.w.habits*b.h.older[b.table.keys[old.key].Mode][old.state] +
			b.related(int(old.key), int(in.key)) - b.unsettled(old.heard)
		w.value[o-w.first] = max(w.value[o-w.first], score)
	}
}

// onward is the best score from a node to the end.
func (b *backward) onward(node *node) float32 {
	w := &b.ways
	mode := b.table.keys[node.key].Mode
	states := b.h.words[mode].states()
	pair := b.h.pair[mode]
	stay := b.w.keyHabits * b.h.stay[bool2int(w.phrase)]
	final := float32(0)
	if w.phrase {
		final = b.w.endHabits * b.h.final[mode][node.state]
	}
	best := absent
	if w.leap[node.key] > absent {
		best = w.leap[node.key] + b.w.habits*b.h.exit[mode][node.state] - b.unsettled(node.heard) + final
	}
	for _, e := range w.byKey[node.key] {
		in := &b.entries[e]
		if in.heard != node.heard|b.h.heard[mode][in.state] {
			continue
		}
		var habit float32
		switch {
		case w.phrase:
			habit = b.w.habits*b.h.start[mode][in.state] + final
		case in.state == node.state:
			habit = -b.w.again
		default:
			habit = b.w.habits * pair[int(in.state)*states+int(node.state)]
		}
		best = max(best, habit+stay+w.value[e-w.first])
	}
	return best
}

// question is a frame whose best reading is known and whose next best one is
// looked for.
type question struct {
	frame      int32
	key, state int16
	score      float32
	rival      int32 // entry, -1 if none was found
}

// ask takes note of a way through the piece that goes from entry e along a
// segment, as a rival at the frames it covers.
func (b *backward) ask(seg *segment, e int32, total float32) {
	in := &b.entries[e]
	for i := b.questionAt[seg.start]; i < b.questionAt[seg.end]; i++ {
		q := &b.questions[i]
		if total > q.score && (q.key != in.key || q.state != in.state) {
			q.score, q.rival = total, e
		}
	}
}

// certainty turns a margin into the share of labels with such a margin that a
// musician gives too. The two numbers were fitted on textbook examples by "go
// run ./worker/fitharmony calibrate".
func (w *weights) certainty(margin float64) float64 {
	return 1 / (1 + math.Exp(-(float64(w.certainBase) + float64(w.certainSlope)*margin)))
}
