package harmony

import "slices"

// forward fills the lattice from left to right.
func (l *lattice) forward() {
	n := len(l.p.frames)
	s := newSegmenter(l.p, l.table)
	ring := len(l.slot)
	l.segStart = slices.Grow(l.segStart[:0], n+1)[:n+1]
	l.nodeAt = slices.Grow(l.nodeAt[:0], n+2)[:n+2]
	l.groupAt = slices.Grow(l.groupAt[:0], n+1)[:n+1]
	for f := 0; f <= n; f++ {
		l.close(f, f%ring)
		if f == n {
			break
		}
		l.segStart[f] = int32(len(l.segments))
		l.segments = s.from(f, l.segments)
		l.enter(f)
		l.advance(f)
	}
	l.segStart[n], l.groupAt[n] = int32(len(l.segments)), int32(len(l.groups))
}

// close moves the arrivals at boundary f from the ring into l.nodes, by key.
func (l *lattice) close(f, at int) {
	l.nodeAt[f] = int32(len(l.nodes))
	open := l.open[at]
	best := absent
	for i := range open {
		best = max(best, open[i].score)
	}
	// A counting sort by key; keyAt keeps where each key begins.
	count := l.keyAt
	clear(count)
	for i := range open {
		if open[i].score > best-pruneWidth {
			count[open[i].key+1]++
		}
	}
	for k := 1; k < len(count); k++ {
		count[k] += count[k-1]
	}
	begin := len(l.nodes)
	l.nodes = slices.Grow(l.nodes, int(count[len(count)-1]))[:begin+int(count[len(count)-1])]
	copy(l.fill, count)
	for i := range open {
		if open[i].score > best-pruneWidth {
			l.nodes[begin+int(l.fill[open[i].key])] = open[i]
			l.fill[open[i].key]++
		}
	}
	for _, u := range l.used[at] {
		l.slot[at][u] = -1
	}
	l.open[at], l.used[at], l.bestOpen[at] = open[:0], l.used[at][:0], absent
	l.nodeAt[f+1] = int32(len(l.nodes))
}

// pruneWidth is how much worse than the best an arrival may be and still be
// followed. It is far wider than any margin that is reported as close.
const pruneWidth = 10

// enter finds the best way to begin each chord that a segment from frame f has.
func (l *lattice) enter(f int) {
	l.groupAt[f] = int32(len(l.groups))
	begin := l.nodeAt[f]
	nodes := l.nodes[begin:l.nodeAt[f+1]]
	phrase := f > 0 && l.p.frames[f-1].phraseEnd
	leap := l.leaps(nodes, begin, phrase)
	l.bestEntry = absent
	seen := int32(len(l.groups))
	for i := l.segStart[f]; i < int32(len(l.segments)); i++ {
		seg := &l.segments[i]
		for g := seen; g < int32(len(l.groups)); g++ {
			if l.groups[g].chord == seg.chord && l.groups[g].inversion == seg.inversion {
				seg.group = g
				break
			}
		}
		if seg.group < 0 {
			seg.group = int32(len(l.groups))
			l.enterGroup(f, seg, nodes, begin, leap, phrase)
		}
	}
}

// enterGroup finds the best way to begin a chord in each of its readings.
func (l *lattice) enterGroup(f int, seg *segment, nodes []node, begin int32, leap []way, phrase bool) {
	ch := &l.table.chords[seg.chord]
	readings := l.table.readings[ch.readings:ch.readingsEnd]
	first := int32(len(l.entries))
	for _, r := range readings {
		key := int(r.key)
		mode := l.table.keys[key].Mode
		state := int(r.numeral)*4 + int(seg.inversion)
		var best [settled + 1]way
		for i := range best {
			best[i] = way{absent, -1}
		}
		hears := l.h.heard[mode][state]
		if f == 0 {
			best[settled].score = l.w.firstHabits*l.h.first[mode][state] + l.opening(key)
		} else {
			l.follow(key, state, hears, nodes, begin, phrase, &best)
			if leap != nil && leap[key].from >= 0 {
				score := leap[key].score + l.w.habits*l.h.entry[mode][state]
				if score > best[hears].score {
					best[hears] = way{score, leap[key].from}
				}
			}
		}
		for heard, way := range best {
			if way.score > l.bestEntry-pruneWidth && (heard == int(settled) || way.score > best[settled].score) {
				l.entries = append(l.entries, entry{way.score, r.key, int16(state), settling(heard), r.plain, way.from, -1})
				l.bestEntry = max(l.bestEntry, way.score)
			}
		}
	}
	if f > 0 && !phrase && len(l.entries) > int(first) {
		l.turn(first, seg.inversion, readings)
	}
	l.groups = append(l.groups, group{seg.chord, seg.inversion, first, int32(len(l.entries)) - first})
}

// follow finds the best predecessors within the same key.
func (l *lattice) follow(key, state int, hears settling, nodes []node, begin int32, phrase bool, best *[settled + 1]way) {
	mode := l.table.keys[key].Mode
	n := l.h.words[mode].states()
	pair := l.h.pair[mode][state*n : (state+1)*n]
	stay := l.w.keyHabits * l.h.stay[bool2int(phrase)]
	start := l.h.start[mode][state]
	for i := int(l.keyAt[key]); i < int(l.keyAt[key+1]); i++ {
		from := int(nodes[i].state)
		var score float32
		switch {
		case phrase:
			score = nodes[i].score + l.w.endHabits*l.h.final[mode][from] + l.w.habits*start + stay
		case from == state:
			score = nodes[i].score - l.w.again + stay
		default:
			score = nodes[i].score + l.w.habits*pair[from] + stay
		}
		if b := &best[nodes[i].heard|hears]; score > b.score {
			*b = way{score, begin + int32(i)}
		}
	}
}

// advance takes the segments that begin at frame f to where they end.
func (l *lattice) advance(f int) {
	ring := len(l.slot)
	n := len(l.p.frames)
	for i := l.segStart[f]; i < int32(len(l.segments)); i++ {
		seg := &l.segments[i]
		g := &l.groups[seg.group]
		to := int(seg.end) % ring
		slot := l.slot[to]
		for e := g.first; e < g.first+g.count; e++ {
			in := &l.entries[e]
			if in.score < l.bestEntry-pruneWidth {
				continue
			}
			key := int(in.key)
			score := in.score + seg.score - l.keyCost[key*(n+1)+int(seg.end)] + l.keyCost[key*(n+1)+f]
			if score < l.bestOpen[to]-pruneWidth {
				continue
			}
			l.bestOpen[to] = max(l.bestOpen[to], score)
			at := (key*l.states+int(in.state))*int(settled+1) + int(in.heard)
			if slot[at] < 0 {
				slot[at] = int32(len(l.open[to]))
				l.open[to] = append(l.open[to], node{absent, in.key, in.state, in.heard, -1, -1})
				l.used[to] = append(l.used[to], int32(at))
			}
			if o := &l.open[to][slot[at]]; score > o.score {
				o.score, o.entry, o.segment = score, e, i
			}
		}
	}
}

// choice is one segment of the best path.
type choice struct {
	segment segment
	key     int
	state   int
	// pivotKey and pivotState are the reading in the old key, -1 if none.
	pivotKey, pivotState int
}

// best reads the best path off the lattice, in order, and tells its score.
func (l *lattice) best() ([]choice, float32) {
	n := len(l.p.frames)
	end := l.nodes[l.nodeAt[n]:l.nodeAt[n+1]]
	at, score := int32(-1), absent
	for i := range end {
		if s := end[i].score + l.ending(&end[i]); s > score {
			at, score = l.nodeAt[n]+int32(i), s
		}
	}
	var path []choice
	for at >= 0 {
		node := &l.nodes[at]
		e := &l.entries[node.entry]
		c := choice{l.segments[node.segment], int(node.key), int(node.state), -1, -1}
		if e.pivot >= 0 {
			old := &l.entries[e.pivot]
			c.pivotKey, c.pivotState = int(old.key), int(old.state)
		}
		path = append(path, c)
		at = e.from
	}
	for i, j := 0, len(path)-1; i < j; i, j = i+1, j-1 {
		path[i], path[j] = path[j], path[i]
	}
	return path, score
}
