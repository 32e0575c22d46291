package voicing

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Harmony returns the analysis of a solution's texture that the solution itself
// gives: its own readings at their onsets.
func (s *Solution) Harmony(t *theory.Texture, l Layout) *harmony.Analysis {
	onsets := l.onsets(len(s.Chords))
	labels := make([]harmony.Label, len(s.Chords))
	for k := range s.Chords {
		labels[k] = harmony.Label{Onset: onsets[k], Reading: s.Chords[k].Reading}
	}
	return harmony.Assume(t, labels)
}
