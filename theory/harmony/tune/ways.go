package tune

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Way is the chords of one way through a phrase.
type Way []harmony.Reading

// Roots are how likely each root is at each note, over all ways through the phrase (decoding for
// the expected number of right labels weighs by them, as in Goodman, Parsing algorithms and
// metrics, ACL 1996).
func (w *Weighed) Roots() []map[theory.PitchClass]float64 {
	out := make([]map[theory.PitchClass]float64, len(w.alone))
	for i, chords := range w.likely(&w.phrase, w.alone, nil) {
		out[i] = map[theory.PitchClass]float64{}
		for s, x := range chords {
			out[i][w.readings[s].Root()] += x
		}
	}
	return out
}
