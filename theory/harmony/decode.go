package harmony

import "slices"

// sampleFrames is after how many frames it is estimated what the rest of a piece needs.
const sampleFrames = 512

// forward fills the lattice from left to right.
func (l *lattice) forward() {
	n := len(l.p.frames)
	l.segStart = slices.Grow(l.segStart[:0], n+1)[:n+1]
	l.nodeAt = slices.Grow(l.nodeAt[:0], n+2)[:n+2]
	l.groupAt = slices.Grow(l.groupAt[:0], n+1)[:n+1]
	l.entryAt = slices.Grow(l.entryAt[:0], n+1)[:n+1]
	l.parcelAt = slices.Grow(l.parcelAt[:0], n+2)[:n+2]
	l.segStart[0] = 0
	for f := range n {
		l.p.texture.Score.Work.Step(1)
		if f == sampleFrames {
			// As many are to be expected all along: growing bit by bit takes several
			// times the memory.
			l.segments = slices.Grow(l.segments, len(l.segments)*(n-f)/f)
		}
		l.segments = l.chords.from(f, l.segments)
		l.segStart[f+1] = int32(len(l.segments))
	}
	if n > mostKept && l.seams == nil {
		l.chords.foreign = nil
		l.p.evidence.letGo()
	}
	l.glanceAt(l.glanceWidth)
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
		l.enter(f)
		l.hold(f)
	}
	l.groupAt[n], l.entryAt[n] = int32(len(l.groups)), int32(len(l.entries))
}

// hold tells the budget what frame f was worth: the ways into it that were compared,
// and what is kept of them.
func (l *lattice) hold(f int) {
	segments, nodes, entries := int(l.segStart[f+1]-l.segStart[f]), len(l.nodes)-int(l.nodeAt[f]), len(l.entries)-int(l.entryAt[f])
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
	on := l.first.on[f*len(l.table.keys):][:len(l.table.keys)]
	hoped := absent
	for _, place := range arrived.taken {
		a := &arrived.places[place]
		if a.score <= floor {
			continue
		}
		in := &l.entries[a.entry]
		hoped = max(hoped, a.score+on[in.key])
		l.arrived = append(l.arrived, node{a.score, in.key, in.state, in.heard, place, a.entry, a.segment})
	}
	l.arrived = l.likely(l.arrived, on, hoped-l.hopeless(f))
	arrived.empty()
	for k := 1; k < len(l.keyAt); k++ {
		l.keyAt[k] += l.keyAt[k-1]
	}
	l.sortArrived()
	l.nodeAt[f+1], l.parcelAt[f+1] = int32(len(l.nodes)), int32(len(l.parcels))
}

// leastGlance is how far behind the best at a boundary what arrives there may be in any
// case, with what the glance has heard of the way on.
const leastGlance = 2

// hopeless is how far behind the best at boundary f something has to be, with what the
// glance has heard of the way on, to be given up.
func (l *lattice) hopeless(f int) float32 { return max(l.glanceWidth-l.first.behind[f], leastGlance) }

// likely keeps what may still come to more than a floor, and counts it by key.
func (l *lattice) likely(arrived []node, on []float32, floor float32) []node {
	kept := arrived[:0]
	for i := range arrived {
		if node := &arrived[i]; node.score+on[node.key] >= floor {
			l.keyAt[node.key+1]++
			kept = append(kept, *node)
		}
	}
	return kept
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
