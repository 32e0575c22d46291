package harmony

import "partwright/theory"

// FromRomanText takes a human analysis for that of a texture: its labels replace
// the search, see [Assume]. What lies before the first label has no harmony.
func FromRomanText(t *theory.Texture, r *RomanText) *Analysis {
	var labels []Label
	pivots := map[int]Reading{}
	for _, p := range r.Place(t) {
		if n := len(labels); n > 0 && labels[n-1].Onset == p.Onset {
			// The second label at one place is the reading in the new key.
			pivots[n-1] = labels[n-1].Reading
			labels[n-1].Reading = p.Reading
			continue
		}
		labels = append(labels, Label{Onset: p.Onset, Reading: p.Reading})
	}
	a := Assume(t, labels)
	for i := range a.Harmonies {
		if old, ok := pivots[i]; ok {
			a.Harmonies[i].Pivot = &old
		}
	}
	return a
}
