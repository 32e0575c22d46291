package harmony

import (
	"math/bits"
	"slices"
	"sync"

	"partwright/theory"
)

func trailing(m uint64) int { return bits.TrailingZeros64(m) }

// The search is an exact semi-Markov dynamic program. A state is a numeral with
// its inversion in a key; a path is a row of segments that covers all frames,
// each with a state. The score of a path is the sum of what its segments explain
// and of how usual its successions are. Between two segments the key may stay,
// leave abruptly, or turn on a pivot: then the later segment's chord is first
// reached as a numeral of the old key and read anew in the new one. What is
// hopelessly behind is given up, see widths; apart from that no path is left out.

// widths are how much worse than the best something may be and still be
// followed, in log probability.
type widths struct {
	// path is for ways from the beginning of the piece to one place, and for
	// ways through the whole piece: no margin is told that is greater.
	path float32
	// chord is for what a chord explains of the frames it covers.
	chord float32
	// glance is for ways through the whole piece as the glance hears them.
	glance float32
}

// guidedGlance is how many times as far the glance looks under labels: they may ask for
// what it would never expect, such as a key for one chord. With 2, labels that an analysis
// writes come back in all shared chorales.
const guidedGlance = 2

// openingFrames is how many frames the widths are tripled for: how a piece begins
// weighs more than any succession, and there is nothing before to fall back on.
const openingFrames = 2

// MaxMargin is the greatest [Harmony.Margin] that is told, in log probability;
// what lies further behind counts as no rival.
const MaxMargin = 8

// usualWidths come to the same analyses of 482 chorales and textbook examples as
// widths twice as large, and to the same score as a search that gives up nothing
// on short pieces, see TestPruningChangesNothing.
var usualWidths = widths{path: MaxMargin, chord: 8, glance: 8}

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
	// place is where the boundary's ring keeps it, see arrivals.
	place int32
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
	// place is the entry's among the arrivals of its chord and inversion.
	place int16
	// from is the node before, -1 at the start of the piece. pivot is the state
	// in the key oldKey that the chord was reached in, -1 if there is no pivot.
	pivot, oldKey int16
	from          int32
}

// group is the entries of one chord and inversion at a boundary.
type group struct {
	chord        int16
	inversion    int8
	first, count int32
	// segment is the last of its segments, see segment.next; explains is how much
	// the best of them says for itself.
	segment  int32
	explains float32
	// keys are those that one of them may be heard in.
	keys keySet
	// best is the score of the best entry; leads is set where an entry leads on
	// to the end of the piece.
	best  float32
	leads bool
}

type lattice struct {
	width, glanceWidth float32 // see widths.path and widths.glance
	p                  *piece
	h                  *habits
	t                  *terms
	table              *chordTable
	w                  *weights

	chords   segmenter
	segments []segment
	segStart []int32 // by frame
	nodes    []node
	arrived  []node  // scratch of close
	nodeAt   []int32 // by boundary
	entries  []entry
	groups   []group
	groupAt  []int32
	entryAt  []int32
	before   []turning // scratch of turn
	within   []placed  // scratch of begin: the readings of a chord
	// bestEntry is the best score of the entries at the boundary in hand.
	bestEntry float32
	order     []int32 // scratch of enter
	// keyCost[f*keys+k] is the cost of notes outside key k before frame f;
	// crossed[i][k] is that of i + 1 frames from the boundary in hand.
	keyCost  []float32
	crossed  [maxSegmentFrames][]float32
	needed   [maxSegmentFrames][]float32 // see needs
	relation []float32                   // see related
	nearest  []float32                   // the most that any relation to a key adds
	// keyAt bounds the nodes of each key at the boundary in hand.
	keyAt, fill []int32
	into        []way     // scratch of leaps
	most        []float32 // scratch of leaps

	// ring holds the arrivals of the boundaries ahead.
	ring [maxSegmentFrames + 1]arrivals
	// parcels are the chords and inversions that arrive at each boundary, in
	// the order of their places; parcelAt bounds them.
	parcels  []parcel
	parcelAt []int32

	first  glance   // tables of the glance
	second backward // tables of the second pass

	// seams are set where the piece is a stretch of another one, or is kept so that
	// stretches of it may be read again.
	seams *seams
}

const absent = float32(-1e30)

// lattices are used again: their tables are large and most pieces need as much.
var lattices = sync.Pool{New: func() any { return &lattice{} }}

func newLattice(p *piece, m *Model) *lattice {
	l := lattices.Get().(*lattice)
	l.p, l.h, l.t, l.w, l.table = p, m.habits, m.terms, m.weights, p.table
	if l.table == nil {
		l.table = newChordTable(p.present, m.habits)
	}
	l.width, l.glanceWidth = m.widths.path, m.widths.glance
	if p.guide != nil {
		l.glanceWidth *= guidedGlance
	}
	l.chords.prepare(p, l.table, m.widths.chord)
	l.segments, l.nodes, l.entries, l.groups = l.segments[:0], l.nodes[:0], l.entries[:0], l.groups[:0]
	l.parcels = l.parcels[:0]
	keys := len(l.table.keys)
	l.keyAt, l.fill = slices.Grow(l.keyAt[:0], keys+1)[:keys+1], slices.Grow(l.fill[:0], keys+1)[:keys+1]
	l.into, l.most = slices.Grow(l.into[:0], keys)[:keys], slices.Grow(l.most[:0], keys)[:keys]
	l.nearest = slices.Grow(l.nearest[:0], keys)[:keys]
	for i := range l.crossed {
		l.crossed[i] = slices.Grow(l.crossed[i][:0], keys)[:keys]
		l.needed[i] = slices.Grow(l.needed[i][:0], keys)[:keys]
	}
	for i := range l.ring {
		l.ring[i].reset(4 * len(l.table.chords))
	}
	l.measureKeys()
	l.heedNet()
	l.relateKeys()
	return l
}

// widthAt is the width of paths at boundary f.
func (l *lattice) widthAt(f int) float32 {
	if f+l.p.first <= openingFrames {
		return 3 * l.width
	}
	return l.width
}

// mostKept is the number of frames of the longest piece whose tables are kept for the
// next one: a few hundred measures. Those of a longer one would lie about unused.
const mostKept = 8 << 10

// release gives the lattice back.
func (l *lattice) release() {
	if len(l.p.frames) > mostKept {
		return
	}
	l.p, l.h, l.t, l.w, l.table, l.seams = nil, nil, nil, nil, nil, nil
	l.second.lattice = nil
	lattices.Put(l)
}

// measureKeys sums up, for each key, the beats of notes outside its scale.
func (l *lattice) measureKeys() {
	keys := len(l.table.keys)
	inside := make([]uint64, keys)
	for k, key := range l.table.keys {
		for _, c := range key.Scale() {
			inside[k] |= 1 << uint(max(bitOf(c), 0))
		}
		if tonic := l.table.tonics[k]; key.Mode == theory.MinorMode {
			inside[k] |= 1<<uint(min(tonic+5, 63)) | 1<<uint(min(tonic+3, 63))
		}
	}
	size := keys * (len(l.p.frames) + 1)
	l.keyCost = slices.Grow(l.keyCost[:0], size)[:size]
	clear(l.keyCost[:min(keys, size)])
	for f := range l.p.frames {
		frame := &l.p.frames[f]
		row, next := l.keyCost[f*keys:(f+1)*keys], l.keyCost[(f+1)*keys:(f+2)*keys]
		for k := range row {
			next[k] = row[k] + l.w.outside*float32(maskCount(frame.sounding&^inside[k]))*frame.beats +
				l.p.guide.keyCost(f, l.table.keys[k])
		}
	}
}

// heedNet adds what the net has against each key.
func (l *lattice) heedNet() {
	e := l.p.evidence
	if e == nil || l.w.keyNet == 0 {
		return
	}
	keys := len(l.table.keys)
	sum, cost := make([]float32, keys), make([]float32, keys)
	at := -1
	for f := range l.p.frames {
		if b := e.music.BeatOf(f + l.p.first); b != at {
			at = b
			e.weighKeys(b, l.table.keys, l.w.keyNet, cost)
		}
		next := l.keyCost[(f+1)*keys : (f+2)*keys]
		for k := range next {
			sum[k] += cost[k] * l.p.frames[f].beats
			next[k] += sum[k]
		}
	}
}

// crossing fills in what the notes from frame f up to frame end cost each key.
func (l *lattice) crossing(f, end int) {
	out := l.crossed[end-f-1]
	keys := len(out)
	row, next := l.keyCost[f*keys:(f+1)*keys], l.keyCost[end*keys:(end+1)*keys]
	for k := range out {
		out[k] = next[k] - row[k]
	}
}
