package separation

import (
	"math/bits"

	"partwright/theory"
)

// maxFollowed is the most layers of one staff whose renumbering is followed.
const maxFollowed = 32

// followLayers finds the staves that use more labels than they ever have layers
// at once, as where a program numbers the layers anew in each measure, and joins
// what belongs together: measure by measure, a layer goes on under its label, or
// in the lane whose last pitch is nearest, and layers keep their order.
func followLayers(sel *selection, ss *streams, staves []staff, staffOf, placeOf []int) {
	several := false
	for i := range staves {
		several = several || len(staves[i].streams) > 1
	}
	measures := len(sel.score.Measures)
	if !several || measures == 0 {
		return
	}
	presence := make([]uint32, measures*len(staves))
	for i := range sel.score.Notes {
		n := &sel.score.Notes[i]
		if n.Flags.Any(theory.Grace|theory.Cue) || sel.score.Parts[n.Part].Kind != theory.PitchedPart {
			continue
		}
		if at := ss.of(n); at >= 0 && placeOf[at] < maxFollowed {
			presence[staffOf[at]*measures+int(n.Measure)] |= 1 << placeOf[at]
		}
	}
	for i := range staves {
		st := &staves[i]
		most := 0
		for _, p := range presence[i*measures : (i+1)*measures] {
			most = max(most, bits.OnesCount32(p))
		}
		if most > 0 && most < len(st.streams) && len(st.streams) <= maxFollowed {
			f := newFollower(sel, ss, st, most)
			f.run(presence[i*measures:(i+1)*measures], i, staffOf, placeOf)
		}
	}
}

// follower assigns the streams of one staff to lanes, measure by measure.
type follower struct {
	sel *selection
	ss  *streams
	st  *staff
	// stream and height are what each lane last had, -1 for nothing.
	stream, height []int
	// first and last are the pitches with which each stream enters and leaves
	// each measure, -1 for none.
	first, last []int16
	fitting     fitting
}

func newFollower(sel *selection, ss *streams, st *staff, lanes int) *follower {
	f := &follower{sel: sel, ss: ss, st: st, stream: make([]int, lanes), height: make([]int, lanes)}
	for i := range lanes {
		f.stream[i], f.height[i] = -1, -1
	}
	return f
}

func (f *follower) run(presence []uint32, self int, staffOf, placeOf []int) {
	n := len(f.st.streams)
	f.first, f.last = make([]int16, len(presence)*n), make([]int16, len(presence)*n)
	for i := range f.first {
		f.first[i], f.last[i] = -1, -1
	}
	for i := range f.sel.score.Notes {
		if !f.sel.opens(i) {
			continue
		}
		note := &f.sel.score.Notes[i]
		if at := f.ss.of(note); staffOf[at] == self {
			cell := int(note.Measure)*n + placeOf[at]
			if f.first[cell] < 0 {
				f.first[cell] = int16(note.Pitch.Semitones())
			}
			f.last[cell] = int16(note.Pitch.Semitones())
		}
	}
	labels := f.st.lanes
	f.st.laneAt = make([]int16, len(presence)*n)
	f.st.lanes = make([]lane, len(f.stream))
	for m, present := range presence {
		f.measure(present, m*n)
	}
	for i := range f.st.lanes {
		if f.stream[i] >= 0 {
			f.st.lanes[i].label = labels[f.stream[i]].label
		}
	}
}

// measure places the streams present in one measure in lanes, keeping their
// order, at the least cost.
func (f *follower) measure(present uint32, base int) {
	f.st.work.Step((len(f.st.streams) + 1) * (len(f.stream) + 1) / 4)
	var places []int
	for p := present; p != 0; p &= p - 1 {
		places = append(places, bits.TrailingZeros32(p))
	}
	f.fitting.solve(len(places), len(f.stream), fit{
		place: func(i, lane int) int { return f.cost(places[i], lane, base) },
		leave: neverLeave,
		spare: noCost,
	})
	for i, place := range places {
		lane := f.fitting.of[i]
		f.st.laneAt[base+place] = int16(lane)
		f.stream[lane] = place
		if h := f.last[base+place]; h >= 0 {
			f.height[lane] = int(h)
		}
	}
}

// cost is nothing where a stream goes on under its label, else the distance from
// the lane's last pitch, and a little for the change of label itself.
func (f *follower) cost(place, lane, base int) int {
	if f.stream[lane] == place {
		return 0
	}
	enters := int(f.first[base+place])
	if f.height[lane] < 0 || enters < 0 {
		return 4
	}
	return 1 + max(enters-f.height[lane], f.height[lane]-enters)
}
