package theory

import "sort"

// NewTexture arranges voices, given from the top, into moments. It keeps the
// slice. Voices beyond [MaxVoices] are an error of the caller and panic.
func NewTexture(score *Score, layout Layout, found string, voices []Voice) *Texture {
	if len(voices) > MaxVoices {
		panic("theory.NewTexture: more than MaxVoices voices")
	}
	t := &Texture{Score: score, Layout: layout, Found: found, Voices: voices}
	onsets := make([]Fraction, 0, 64)
	for v := range voices {
		for i := range voices[v].Notes {
			onsets = append(onsets, voices[v].Notes[i].Onset)
		}
	}
	sort.Slice(onsets, func(i, j int) bool { return onsets[i].Less(onsets[j]) })
	distinct := onsets[:0]
	for i, o := range onsets {
		if i == 0 || o != distinct[len(distinct)-1] {
			distinct = append(distinct, o)
		}
	}
	t.Moments = make([]Moment, len(distinct))
	t.cells = make([]int32, len(distinct)*len(voices))
	measure := 0
	for m, onset := range distinct {
		for measure+1 < len(score.Measures) && !onset.Less(score.Measures[measure+1].Onset) {
			measure++
		}
		t.Moments[m] = Moment{Onset: onset, Measure: int32(measure), Offset: onset.Sub(score.Measures[measure].Onset)}
	}
	for v := range voices {
		notes, at := voices[v].Notes, 0
		for m := range t.Moments {
			onset := t.Moments[m].Onset
			for at < len(notes) && !onset.Less(notes[at].End()) {
				at++
			}
			cell := int32(-1)
			if at < len(notes) && !onset.Less(notes[at].Onset) {
				cell = int32(at)
				if notes[at].Onset == onset {
					t.Moments[m].Struck |= 1 << uint(v)
				}
			}
			t.cells[m*len(voices)+v] = cell
		}
	}
	return t
}
