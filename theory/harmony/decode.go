package harmony

import "slices"

// forward fills the lattice from left to right.
func (l *lattice) forward() {
	n := len(l.p.frames)
	l.segStart = slices.Grow(l.segStart[:0], n+1)[:n+1]
	l.nodeAt = slices.Grow(l.nodeAt[:0], n+2)[:n+2]
	l.groupAt = slices.Grow(l.groupAt[:0], n+1)[:n+1]
	l.entryAt = slices.Grow(l.entryAt[:0], n+1)[:n+1]
	l.parcelAt = slices.Grow(l.parcelAt[:0], n+2)[:n+2]
	for f := 0; f <= n; f++ {
		l.p.texture.Score.Work.Step(1)
		if f == 0 && l.seams != nil && l.seams.before != nil {
			l.resume()
		} else {
			l.close(f)
		}
		if f == n {
			break
		}
		l.segStart[f] = int32(len(l.segments))
		l.segments = l.chords.from(f, l.segments)
		l.enter(f)
		l.hold(f)
	}
	l.segStart[n], l.groupAt[n], l.entryAt[n] = int32(len(l.segments)), int32(len(l.groups)), int32(len(l.entries))
}

// hold tells the budget what frame f was worth: the ways into it that were compared,
// and what is kept of them.
func (l *lattice) hold(f int) {
	segments, nodes, entries := len(l.segments)-int(l.segStart[f]), len(l.nodes)-int(l.nodeAt[f]), len(l.entries)-int(l.entryAt[f])
	l.p.texture.Score.Work.Step(segments + nodes + entries)
	l.p.texture.Score.Work.Hold(bytesAFrame*len(l.table.keys) + bytesAWay*(segments+nodes+entries))
}

// What a frame and a way keep until the analysis is done, in bytes, about.
const (
	bytesAFrame = 4
	bytesAWay   = 40
)

// close turns the arrivals at boundary f into nodes, those of one key together
// and the best of each key first.
func (l *lattice) close(f int) {
	arrived := &l.ring[f%len(l.ring)]
	l.nodeAt[f], l.parcelAt[f] = int32(len(l.nodes)), int32(len(l.parcels))
	l.parcels = append(l.parcels, arrived.parcels...)
	l.arrived = l.arrived[:0]
	clear(l.keyAt)
	floor := arrived.best - l.widthAt(f)
	for _, p := range arrived.parcels {
		ch := &l.table.chords[p.chord]
		place := p.first
		for _, r := range l.table.readings[ch.readings:ch.readingsEnd] {
			for heard := range settled + 1 {
				if a := &arrived.places[place]; a.score > floor {
					l.keyAt[r.key+1]++
					l.arrived = append(l.arrived, node{a.score, r.key, r.numeral*4 + int16(p.inversion), heard, place, a.entry, a.segment})
				}
				place++
			}
		}
	}
	arrived.empty()
	for k := 1; k < len(l.keyAt); k++ {
		l.keyAt[k] += l.keyAt[k-1]
	}
	l.sortArrived()
	l.nodeAt[f+1], l.parcelAt[f+1] = int32(len(l.nodes)), int32(len(l.parcels))
}

// sortArrived appends what has arrived to the nodes: a counting sort by key, and
// within each key, which has few, by insertion. Equals keep their order.
func (l *lattice) sortArrived() {
	begin := len(l.nodes)
	l.nodes = slices.Grow(l.nodes, len(l.arrived))[:begin+len(l.arrived)]
	nodes := l.nodes[begin:]
	copy(l.fill, l.keyAt)
	for i := range l.arrived {
		in := &l.arrived[i]
		at := l.fill[in.key]
		l.fill[in.key]++
		for ; at > l.keyAt[in.key] && nodes[at-1].score < in.score; at-- {
			nodes[at] = nodes[at-1]
		}
		nodes[at] = *in
	}
}

// choice is one segment of the best path.
type choice struct {
	segment segment
	key     int
	state   int
	// pivotKey and pivotState are the reading in the old key, -1 if none.
	pivotKey, pivotState int
	// node is where the segment ends.
	node int32
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
	for at >= 0 && l.nodes[at].entry >= 0 {
		node := &l.nodes[at]
		e := &l.entries[node.entry]
		c := choice{l.segments[node.segment], int(node.key), int(node.state), -1, -1, at}
		if e.pivot >= 0 {
			c.pivotKey, c.pivotState = int(e.oldKey), int(e.pivot)
		}
		path = append(path, c)
		at = e.from
	}
	for i, j := 0, len(path)-1; i < j; i, j = i+1, j-1 {
		path[i], path[j] = path[j], path[i]
	}
	return path, score
}
