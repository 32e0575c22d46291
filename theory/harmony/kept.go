package harmony

import (
	"partwright/theory"
	"partwright/theory/harmony/beatnet"
)

// kept is an analysis with what its search has found at every boundary, so that a
// stretch of it can be read again: how good the best way is to each state there, and
// how good the best way on.
type kept struct {
	model    *Model
	piece    *piece
	analysis *Analysis
	// path is the best path.
	path []stretch
	// ends[i] is the state at the end of path[i].
	ends []seam
	// at bounds the seams of each boundary.
	at    []int32
	seams []seam
	score float32
	lines *melodies
	// heard are the frames as the net hears them, again what it hears in a changed
	// version; both are used over and over.
	heard []beatnet.Frame
	again *evidence
	// tables are kept by the pitch classes they are made of.
	tables map[uint64]*chordTable
}

// seam is a state at a boundary, with the scores of the best ways to it and on from
// it; onward is absent where that is hopelessly behind.
type seam struct {
	stateAt
	score, onward float32
}

// stateAt is a state in which a boundary is reached, whatever the table of keys.
type stateAt struct {
	key   theory.Key
	state int16
	heard settling
}

// keep analyzes a texture and keeps the search; g may be nil.
func (m *Model) keep(t *theory.Texture, g *guide) *kept {
	k := &kept{model: m, tables: map[uint64]*chordTable{}}
	a := emptyAnalysis(t)
	a.Style, a.StyleFound = m.style, m.styleFound
	k.analysis = a
	if len(t.Moments) == 0 || len(t.Score.Measures) == 0 {
		return k
	}
	a.Phrases = findPhrases(t)
	p := newPiece(t, a.Phrases, m.weights, g)
	p.listen(m.net)
	k.piece, k.lines = p, newMelodies(t)
	if p.evidence != nil {
		k.heard = p.heard()
		k.again = &evidence{&beatnet.Music{Work: t.Score.Work}, make([][beatnet.Outputs]float32, p.evidence.music.Beats())}
	}
	l := newLattice(p, m)
	l.forward()
	path, score := l.best()
	l.second.toEnd = make([]float32, len(l.nodes))
	a.take(p, l, path)
	a.weigh(l, path, score)
	k.score, k.path = score, l.stretches(path, nil)
	k.tables[p.present] = l.table
	k.at = append(k.at, l.nodeAt[:len(p.frames)+2]...)
	k.seams = make([]seam, len(l.nodes))
	for i := range l.nodes {
		n := &l.nodes[i]
		k.seams[i] = seam{stateAt{l.table.keys[n.key], n.state, n.heard}, n.score, l.second.toEnd[i]}
	}
	for _, n := range l.nodesOn(path) {
		k.ends = append(k.ends, k.seams[n])
	}
	l.second.toEnd = nil
	l.release()
	return k
}

// reached are the seams at a boundary.
func (k *kept) reached(frame int) []seam { return k.seams[k.at[frame]:k.at[frame+1]] }

// frameOf is the frame that a moment lies in.
func (k *kept) frameOf(moment int) int {
	low, high := 0, len(k.piece.frames)
	for low+1 < high {
		if middle := (low + high) / 2; int(k.piece.frames[middle].moment) <= moment {
			low = middle
		} else {
			high = middle
		}
	}
	return low
}

// segmentAt is the index in the path of the segment that covers a frame.
func (k *kept) segmentAt(frame int) int {
	low, high := 0, len(k.path)
	for low+1 < high {
		if middle := (low + high) / 2; k.path[middle].start <= frame {
			low = middle
		} else {
			high = middle
		}
	}
	return low
}
