package separation

import (
	"cmp"
	"slices"
	"strconv"

	"partwright/theory"
)

// staff is one staff of the score with the tones that belong to it.
type staff struct {
	part, number int // number counts from 0
	streams      []int
	// laneAt leads from (measure, place in streams) to a lane where the
	// document's numbering changes; nil where each stream is a lane.
	laneAt []int16
	lanes  []lane
	// tones are in order of onset, then by lane, then from the top.
	tones []tone
	// rests are those that the reader sees, by lane, then by onset.
	rests []silence
	// height is the mean of all tones, weighted by duration; lastEnd is where the
	// last of them ends.
	height  float64
	lastEnd int64
	// top and bottom are set for the outer staves of a part.
	top, bottom bool
	// voices is how many voices the staff holds; extra ones come on top.
	voices int
	// layered is set where every voice has a layer of its own, clean where no
	// layer ever has two notes at once.
	layered, clean bool
	// joined is set where two staves of a keyboard are taken as one.
	joined bool
	work   *theory.Work
}

// lane is a layer of a staff, followed through changes of its number.
type lane struct {
	label string
	// time is how long the lane sounds, height its mean, weighted by duration.
	time   int64
	height float64
	// main is set for a layer that is there for a good part of the time.
	main bool
}

// silence is a written rest.
type silence struct {
	lane       int16
	onset, end int64
}

// findStaves distributes tones and visible rests over staves and lanes.
func findStaves(sel *selection) []staff {
	ss := findStreams(sel)
	staves, staffOf, placeOf := groupStreams(ss)
	for i := range staves {
		staves[i].work = sel.score.Work
		staves[i].nameLanes(ss)
	}
	followLayers(sel, ss, staves, staffOf, placeOf)
	counts, total := make([]int, len(staves)), 0
	for i := range sel.score.Notes {
		if sel.opens(i) {
			counts[staffOf[ss.of(&sel.score.Notes[i])]]++
			total++
		}
	}
	backing, ids := make([]tone, total), make([]theory.NoteID, len(sel.score.Notes))
	for i, n := range counts {
		staves[i].tones, backing = backing[:0:n], backing[n:]
	}
	for i := range sel.score.Notes {
		sel.score.Work.Step(1)
		n := &sel.score.Notes[i]
		at := -1
		if sel.opens(i) || sel.isVisibleRest(n) {
			at = ss.of(n)
		}
		if at < 0 {
			continue
		}
		st := &staves[staffOf[at]]
		lane := st.laneOf(n, placeOf[at])
		if n.Flags.Has(theory.Rest) {
			onset := n.Onset.In(sel.resolution)
			st.rests = append(st.rests, silence{lane, onset, onset + n.Duration.In(sel.resolution)})
			continue
		}
		var t tone
		t, ids = sel.tone(theory.NoteID(i), ids)
		t.lane = lane
		st.tones = append(st.tones, t)
	}
	for i := range staves {
		staves[i].top = i == 0 || staves[i-1].part != staves[i].part
		staves[i].bottom = i+1 == len(staves) || staves[i+1].part != staves[i].part
		staves[i].settle()
	}
	return staves
}

// groupStreams gathers the streams of each staff in order of their labels and
// returns, for each stream, its staff and its place there.
func groupStreams(ss *streams) (staves []staff, staffOf, placeOf []int) {
	order := make([]int, len(ss.list))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		x, y := &ss.list[a], &ss.list[b]
		return cmp.Or(cmp.Compare(x.part, y.part), cmp.Compare(x.staff, y.staff), compareLabels(x.label, y.label))
	})
	both := make([]int, 2*len(ss.list))
	staffOf, placeOf = both[:len(ss.list)], both[len(ss.list):]
	for from := 0; from < len(order); {
		first := &ss.list[order[from]]
		to := from
		for to < len(order) && ss.list[order[to]].part == first.part && ss.list[order[to]].staff == first.staff {
			staffOf[order[to]], placeOf[order[to]] = len(staves), to-from
			to++
		}
		staves = append(staves, staff{part: first.part, number: first.staff, streams: order[from:to]})
		from = to
	}
	return staves, staffOf, placeOf
}

// compareLabels puts numbers in order of size, before anything else.
func compareLabels(a, b string) int {
	m, errA := strconv.Atoi(a)
	n, errB := strconv.Atoi(b)
	switch {
	case errA == nil && errB == nil:
		return cmp.Compare(m, n)
	case errA == nil:
		return -1
	case errB == nil:
		return 1
	}
	return cmp.Compare(a, b)
}

func (st *staff) nameLanes(ss *streams) {
	st.lanes = make([]lane, len(st.streams))
	for i, at := range st.streams {
		st.lanes[i].label = ss.list[at].label
	}
}

func (st *staff) laneOf(n *theory.Note, place int) int16 {
	if st.laneAt == nil {
		return int16(place)
	}
	return st.laneAt[int(n.Measure)*len(st.streams)+place]
}

// settle measures the lanes, puts them in order from the top, and sorts.
func (st *staff) settle() {
	for i := range st.tones {
		t := &st.tones[i]
		l := &st.lanes[t.lane]
		l.time += t.end - t.onset
		l.height += float64(t.end-t.onset) * float64(t.height)
		st.lastEnd = max(st.lastEnd, t.end)
	}
	var time int64
	for i := range st.lanes {
		l := &st.lanes[i]
		time += l.time
		st.height += l.height
		if l.time > 0 {
			l.height /= float64(l.time)
		}
	}
	st.height /= float64(time)
	st.orderLanes()
	if !slices.IsSortedFunc(st.tones, compareTones) {
		slices.SortFunc(st.tones, compareTones)
	}
	slices.SortStableFunc(st.rests, func(a, b silence) int {
		return cmp.Or(cmp.Compare(a.lane, b.lane), cmp.Compare(a.onset, b.onset))
	})
}

func compareTones(a, b tone) int {
	if a.onset != b.onset {
		return cmp.Compare(a.onset, b.onset)
	}
	if a.lane != b.lane {
		return int(a.lane) - int(b.lane)
	}
	if a.height != b.height {
		return int(b.height) - int(a.height)
	}
	return cmp.Compare(a.ids[0], b.ids[0])
}

// orderLanes keeps the order of the labels, which by custom is from the top,
// unless the lanes' mean pitches plainly say otherwise.
func (st *staff) orderLanes() {
	if len(st.lanes) < 2 {
		return
	}
	heights := make([]float64, len(st.lanes))
	for i := range st.lanes {
		heights[i] = st.lanes[i].height
	}
	if inOrderFromTop(heights, nearby) {
		return
	}
	order := make([]int, len(st.lanes))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(heights[b], heights[a]) })
	lanes, rank := make([]lane, len(order)), make([]int16, len(order))
	for to, from := range order {
		lanes[to], rank[from] = st.lanes[from], int16(to)
	}
	st.lanes = lanes
	for i := range st.tones {
		st.tones[i].lane = rank[st.tones[i].lane]
	}
	for i := range st.rests {
		st.rests[i].lane = rank[st.rests[i].lane]
	}
}

// nearby is how far, in semitones, the mean pitches of two lines may lie against
// the order in which the document has them before the pitches are believed: a
// major third, as in a few chords with crossed voices.
const nearby = 4

// inOrderFromTop reports whether no line lies more than slack semitones above
// one that stands before it.
func inOrderFromTop(heights []float64, slack float64) bool {
	lowest := heights[0]
	for _, h := range heights[1:] {
		if h > lowest+slack {
			return false
		}
		lowest = min(lowest, h)
	}
	return true
}
