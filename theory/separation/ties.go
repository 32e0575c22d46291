package separation

import (
	"slices"

	"partwright/theory"
)

// joinTies pairs each note that starts a tie with the one that it leads to: of
// the same part and pitch, beginning where the first ends, by preference in the
// same layer, then on the same staff. A tie that leads nowhere is left as it is.
func (sel *selection) joinTies(starts, stops []theory.NoteID) {
	if len(starts) == 0 || len(stops) == 0 {
		return
	}
	notes := sel.score.Notes
	sel.follows = make([]theory.NoteID, len(notes))
	for i := range sel.follows {
		sel.follows[i] = theory.NoNote
	}
	byPlace := func(part int32, onset theory.Fraction, n *theory.Note) int {
		if part != n.Part {
			return int(n.Part - part)
		}
		return n.Onset.Cmp(onset)
	}
	slices.SortStableFunc(stops, func(a, b theory.NoteID) int { return byPlace(notes[b].Part, notes[b].Onset, &notes[a]) })
	for _, from := range starts {
		a := &notes[from]
		end := a.End()
		at, _ := slices.BinarySearchFunc(stops, end, func(id theory.NoteID, end theory.Fraction) int {
			return byPlace(a.Part, end, &notes[id])
		})
		best, nearness := theory.NoNote, -1
		for ; at < len(stops); at++ {
			sel.score.Work.Step(1)
			b := &notes[stops[at]]
			if b.Part != a.Part || b.Onset != end {
				break
			}
			if b.Pitch != a.Pitch || sel.skip[stops[at]] {
				continue
			}
			near := 0
			if b.Staff == a.Staff {
				near++
			}
			if b.Layer == a.Layer {
				near += 2
			}
			if near > nearness {
				best, nearness = stops[at], near
			}
		}
		if best != theory.NoNote && notes[best].Layer != a.Layer {
			from = sel.crossingTie(from, best)
		}
		if best != theory.NoNote && from != theory.NoNote {
			sel.follows[from] = best
			sel.skip[best] = true
		}
	}
}

// crossingTie returns the note that a tie between two layers comes from. Where
// the first layer goes on with a note of its own, the tie cannot be that
// layer's: it comes from the same pitch in the second layer, if two layers meet
// in a unison there, and from nowhere otherwise.
func (sel *selection) crossingTie(from, to theory.NoteID) theory.NoteID {
	notes := sel.score.Notes
	a, b := &notes[from], &notes[to]
	first, last := min(from, to), max(from, to)
	inMeasure := func(id theory.NoteID, m int32) bool {
		return id >= 0 && int(id) < len(notes) && notes[id].Part == a.Part && notes[id].Measure == m
	}
	for inMeasure(first-1, notes[first].Measure) {
		first--
	}
	for inMeasure(last+1, notes[last].Measure) {
		last++
	}
	goesOn, twin := false, theory.NoNote
	sel.score.Work.Step(int(last - first))
	for id := first; id <= last; id++ {
		n := &notes[id]
		if whyNoTone(n) != sounds {
			continue
		}
		goesOn = goesOn || (n.Layer == a.Layer && n.Onset == b.Onset)
		if n.Layer == b.Layer && n.Pitch == b.Pitch && n.End() == b.Onset && sel.follows[id] == theory.NoNote {
			twin = id
		}
	}
	if goesOn {
		return twin
	}
	return from
}
