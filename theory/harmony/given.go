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
	a.findCadences()
	return a
}

// Disagreements lists the harmonies of a whose reading another analysis does not
// share where they begin, by index; an analysis without a harmony there
// disagrees too.
func (a *Analysis) Disagreements(other *Analysis) []int {
	var out []int
	at := 0
	for i := range a.Harmonies {
		h := &a.Harmonies[i]
		for at+1 < len(other.Harmonies) && !h.Onset.Less(other.Harmonies[at+1].Onset) {
			at++
		}
		if at >= len(other.Harmonies) || h.Onset.Less(other.Harmonies[at].Onset) || !h.agrees(&other.Harmonies[at]) {
			out = append(out, i)
		}
	}
	return out
}

// agrees compares readings, pivots included; a cadential six-four is the tonic's
// second inversion under another name.
func (h *Harmony) agrees(g *Harmony) bool {
	for _, mine := range [2]*Reading{&h.Reading, h.Pivot} {
		for _, theirs := range [2]*Reading{&g.Reading, g.Pivot} {
			if mine == nil || theirs == nil {
				continue
			}
			x, y := *mine, *theirs
			x.Numeral.Cadential, y.Numeral.Cadential = false, false
			if x == y {
				return true
			}
		}
	}
	return false
}
