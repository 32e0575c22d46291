package harmony

import "slices"

// join makes a lattice go on from what a search has found at one boundary, and end
// in what it knows of the rest at another one.
func (l *lattice) join(k *kept, from, to int) {
	s := &seams{}
	if from > 0 {
		s.before = k.reached(from)
	}
	if to < len(k.piece.frames) {
		s.after = map[stateAt]float32{}
		for _, seam := range k.reached(to) {
			s.after[seam.stateAt] = seam.onward
		}
	}
	l.seams = s
}

// seams are the ends of a stretch of a piece: the states before it, nil where the
// piece begins, and how good the way on is after it, nil where it ends.
type seams struct {
	before []seam
	after  map[stateAt]float32
}

// resume makes nodes of the states before a stretch.
func (l *lattice) resume() {
	l.nodeAt[0], l.parcelAt[0] = 0, 0
	l.arrived = l.arrived[:0]
	clear(l.keyAt)
	for i := range l.seams.before {
		s := &l.seams.before[i]
		// A key whose tonic no longer sounds in the piece cannot go on.
		key := slices.Index(l.table.keys, s.key)
		if key < 0 {
			continue
		}
		l.keyAt[key+1]++
		l.arrived = append(l.arrived, node{s.score, int16(key), s.state, s.heard, -1, -1, -1})
	}
	for k := 1; k < len(l.keyAt); k++ {
		l.keyAt[k] += l.keyAt[k-1]
	}
	l.sortArrived()
	l.nodeAt[1], l.parcelAt[1] = int32(len(l.nodes)), 0
}

// nodesOn are the nodes at the ends of a path's segments.
func (l *lattice) nodesOn(path []choice) []int32 {
	out := make([]int32, len(path))
	for i, c := range path {
		out[i] = c.node
	}
	return out
}
