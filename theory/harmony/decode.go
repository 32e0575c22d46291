package harmony

import (
	"math/bits"
	"slices"
	"sync"
)

func trailing(m uint64) int { return bits.TrailingZeros64(m) }

// The search is an exact semi-Markov dynamic program. A state is a numeral with
// its inversion in a key; a path is a row of segments that covers all frames,
// each with a state. The score of a path is the sum of what its segments explain
// and of how usual its successions are. Between two segments the key may stay,
// leave abruptly, or turn on a pivot: then the later segment's chord is first
// reached as a numeral of the old key and read anew in the new one.

// A stretch of one key is settled once its tonic and its dominant have been
// heard; leaving a key that is not costs something, so that a passing chord does
// not make a key. The piece begins settled.
type settling uint8

const (
	heardDominant settling = 1 << iota
	heardTonic
	settled = heardDominant | heardTonic
)

// node is the arrival at a boundary in a state, by the best way there.
type node struct {
	score float32
	key   int16
	state int16
	heard settling
	// entry is the index in lattice.entries of the segment's entry; segment that
	// of the segment itself.
	entry, segment int32
}

// entry is the best way to begin a segment of one chord in one state.
type entry struct {
	score float32
	key   int16
	state int16
	heard settling
	plain bool
	// from is the node before, -1 at the start of the piece. pivot is the entry
	// in the old key, -1 if there is no pivot.
	from, pivot int32
}

// group is the entries of one chord and inversion at a boundary.
type group struct {
	chord        int16
	inversion    int8
	first, count int32
}

type lattice struct {
	p     *piece
	h     *habits
	table *chordTable
	w     *weights

	segments []segment
	segStart []int32 // by frame
	nodes    []node
	nodeAt   []int32 // by boundary
	entries  []entry
	groups   []group
	groupAt  []int32
	before   []turning // scratch of turn
	// bestEntry is the best score of the entries at the boundary in hand.
	bestEntry float32
	// keyCost[k*(frames+1)+f] is the cost of notes outside key k before frame f.
	keyCost []float32
	// keyAt bounds the nodes of each key at the boundary in hand.
	keyAt, fill []int32

	states int // most states of a mode
	// slot finds the node of a key and state at one of the boundaries ahead.
	slot [][]int32
	open [][]node
	// bestOpen is the best score among the open nodes of each boundary.
	bestOpen []float32
	used     [][]int32
	backing  []int32 // of slot, -1 throughout between pieces
}

const absent = float32(-1e30)

// lattices are used again: their tables are large and most pieces need as much.
var lattices = sync.Pool{New: func() any { return &lattice{} }}

func newLattice(p *piece, h *habits) *lattice {
	l := lattices.Get().(*lattice)
	l.p, l.h, l.w, l.table = p, h, p.weights, newChordTable(p.present, h)
	l.segments, l.nodes, l.entries, l.groups = l.segments[:0], l.nodes[:0], l.entries[:0], l.groups[:0]
	l.states = max(h.words[0].states(), h.words[1].states())
	size := len(l.table.keys) * l.states * int(settled+1)
	l.keyAt, l.fill = make([]int32, len(l.table.keys)+1), make([]int32, len(l.table.keys)+1)
	ring := maxSegmentFrames + 1
	if len(l.backing) < ring*size {
		l.backing = make([]int32, ring*size)
		for i := range l.backing {
			l.backing[i] = -1
		}
		l.slot, l.open, l.used = make([][]int32, ring), make([][]node, ring), make([][]int32, ring)
	}
	l.bestOpen = slices.Grow(l.bestOpen[:0], ring)[:ring]
	for i := range ring {
		l.bestOpen[i] = absent
		l.slot[i] = l.backing[i*size : (i+1)*size]
	}
	l.measureKeys()
	return l
}

// release gives the lattice back. Every slot must be empty.
func (l *lattice) release() {
	l.p, l.h, l.w, l.table = nil, nil, nil, nil
	lattices.Put(l)
}

// measureKeys sums up, for each key, the beats of notes outside its scale.
func (l *lattice) measureKeys() {
	n := len(l.p.frames)
	l.keyCost = make([]float32, len(l.table.keys)*(n+1))
	for k, key := range l.table.keys {
		inside := uint64(0)
		for _, c := range key.Scale() {
			inside |= 1 << uint(max(bitOf(c), 0))
		}
		if tonic := l.table.tonics[k]; key.Mode == 1 {
			inside |= 1<<uint(min(tonic+5, 63)) | 1<<uint(min(tonic+3, 63))
		}
		row := l.keyCost[k*(n+1) : (k+1)*(n+1)]
		for f := range l.p.frames {
			outside := maskCount(l.p.frames[f].sounding &^ inside)
			row[f+1] = row[f] + l.w.outside*float32(outside)*l.p.frames[f].beats
		}
	}
}

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

// way is the best way into a key by an abrupt change.
type way struct {
	score float32
	from  int32
}

// leaps finds, for each key, the best node to leave another key from.
func (l *lattice) leaps(nodes []node, begin int32, phrase bool) []way {
	if len(nodes) == 0 {
		return nil
	}
	keys := l.table.keys
	out := make([]way, len(keys))
	for k := range out {
		out[k] = way{absent, -1}
	}
	b := bool2int(phrase)
	for i := 0; i < len(nodes); {
		k := nodes[i].key
		best := way{absent, -1}
		for ; i < len(nodes) && nodes[i].key == k; i++ {
			score := nodes[i].score + l.w.habits*l.h.exit[keys[k].Mode][nodes[i].state] - l.unsettled(nodes[i].heard)
			if phrase {
				score += l.w.endHabits * l.h.final[keys[k].Mode][nodes[i].state]
			}
			if score > best.score {
				best = way{score, begin + int32(i)}
			}
		}
		for to := range keys {
			if to == int(k) {
				continue
			}
			score := best.score + l.w.keyHabits*(l.h.leap[b]+l.related(int(k), to)) - l.w.leap
			if score > out[to].score {
				out[to] = way{score, best.from}
			}
		}
	}
	return out
}

func (l *lattice) related(from, to int) float32 {
	d := int(l.table.tonics[to]) - int(l.table.tonics[from])
	if d < -maxRelation || d > maxRelation {
		return -20
	}
	return l.h.relation[l.table.keys[from].Mode][l.table.keys[to].Mode][d+maxRelation]
}

func bool2int(b bool) int {
	if b {
		return 1
	}
	return 0
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

// unsettled is the cost of leaving a key that has not been established.
func (l *lattice) unsettled(heard settling) float32 {
	if heard == settled {
		return 0
	}
	return l.w.unsettled
}

// opening is how likely a piece is to begin in a key, by its signature.
func (l *lattice) opening(key int) float32 {
	off := l.table.keys[key].Signature() - l.p.signature
	if off < 0 {
		off = -off
	}
	return -l.w.signature * float32(off)
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

// turn lets a chord that has been reached in one key go on in another, where it
// is a plain chord of both.
func (l *lattice) turn(first int32, inversion int8, readings []chordReading) {
	l.before = l.before[:0]
	best := absent
	for i := range l.entries[first:] {
		old := &l.entries[first+int32(i)]
		if old.plain {
			score := old.score + l.w.habits*l.h.older[l.table.keys[old.key].Mode][old.state] - l.unsettled(old.heard) +
				l.w.keyHabits*l.h.pivot[0] - l.w.pivot
			l.before = append(l.before, turning{score, old.key, first + int32(i)})
			best = max(best, score)
		}
	}
	if best < l.bestEntry-pruneWidth {
		return
	}
	for _, r := range readings {
		if !r.plain {
			continue
		}
		mode := l.table.keys[r.key].Mode
		state := int16(r.numeral)*4 + int16(inversion)
		into := l.w.habits * l.h.newer[mode][state]
		best, at := absent, int32(-1)
		for _, old := range l.before {
			if old.key == r.key {
				continue
			}
			if score := old.score + into + l.w.keyHabits*l.related(int(old.key), int(r.key)); score > best {
				best, at = score, old.entry
			}
		}
		if best > l.bestEntry-pruneWidth {
			l.entries = append(l.entries, entry{best, r.key, state, l.h.heard[mode][state], true, l.entries[at].from, at})
		}
	}
}

// turning is an entry that may turn into another key, with what that costs so far.
type turning struct {
	score float32
	key   int16
	entry int32
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
