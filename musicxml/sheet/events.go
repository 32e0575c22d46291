package sheet

import (
	"slices"
	"sort"

	"partwright/theory"
)

// event is one stretch of one layer inside a measure: notes on a stem, or rest.
type event struct {
	onset, duration     theory.Fraction
	pitches             []theory.Pitch // from the top; none is a rest
	sources             []source       // of the pitches
	tieStop, tieStart   bool
	fermata, wholeOfBar bool
}

// layer lists what one voice does within a measure, rests included.
func layer(work *theory.Work, t *theory.Texture, voice int, m *theory.Measure) []event {
	v := &t.Voices[voice]
	end := m.Onset.Add(m.Length)
	at := m.Onset
	var out []event
	rest := func(to theory.Fraction) {
		if at.Less(to) {
			out = append(out, event{onset: at, duration: to.Sub(at), wholeOfBar: at == m.Onset && to == end})
		}
	}
	// The notes of a voice follow one another: at most one is held into the measure.
	first := sort.Search(len(v.Notes), func(i int) bool { return m.Onset.Less(v.Notes[i].End()) })
	for i := first; i < len(v.Notes) && v.Notes[i].Onset.Less(end); i++ {
		work.Step(1)
		n := &v.Notes[i]
		from, to := n.Onset, n.End()
		e := event{pitches: []theory.Pitch{n.Pitch}, sources: []source{{voice, i}}, fermata: n.Flags.Has(theory.Fermata)}
		if from.Less(m.Onset) {
			from, e.tieStop = m.Onset, true
		}
		if end.Less(to) {
			to, e.tieStart, e.fermata = end, true, false
		}
		rest(from)
		e.onset, e.duration = from, to.Sub(from)
		out = append(out, e)
		at = to
	}
	rest(end)
	return out
}

// fewest joins neighboring layers of one rhythm into chords: all, or as many of the lower
// ones as go together, or else of the upper ones.
func fewest(layers [][]event) [][]event {
	for first := range len(layers) - 1 {
		if joined, ok := together(layers[first:]); ok {
			return append(slices.Clone(layers[:first]), joined)
		}
	}
	for end := len(layers) - 1; end > 1; end-- {
		if joined, ok := together(layers[:end]); ok {
			return append([][]event{joined}, layers[end:]...)
		}
	}
	return layers
}

// together joins layers that have the same rhythm into one of chords.
func together(layers [][]event) ([]event, bool) {
	if len(layers) == 1 {
		return layers[0], true
	}
	joined := make([]event, len(layers[0]))
	copy(joined, layers[0])
	for _, l := range layers[1:] {
		if len(l) != len(joined) {
			return nil, false
		}
		for i := range l {
			j := &joined[i]
			if l[i].onset != j.onset || l[i].duration != j.duration || (len(l[i].pitches) == 0) != (len(j.pitches) == 0) ||
				l[i].tieStart != j.tieStart || l[i].tieStop != j.tieStop {
				return nil, false
			}
			j.pitches = append(j.pitches[:len(j.pitches):len(j.pitches)], l[i].pitches...)
			j.sources = append(j.sources[:len(j.sources):len(j.sources)], l[i].sources...)
		}
	}
	return joined, true
}
