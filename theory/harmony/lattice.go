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
// reached as a numeral of the old key and read anew in the new one. Arrivals
// that are hopelessly behind are given up, see pruneWidth and beamWidth; apart
// from that no path is left out.

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
	keyCost  []float32
	relation []float32 // see related
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
	l.relateKeys()
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
			row[f+1] = row[f] + l.w.outside*float32(outside)*l.p.frames[f].beats + l.p.guide.keyCost(f, key)
		}
	}
}
