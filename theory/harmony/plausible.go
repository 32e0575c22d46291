package harmony

import (
	"math"
	"sort"
)

// Plausible is a reading that the music bears at one moment.
type Plausible struct {
	Reading
	// Confidence estimates how likely it is that a musician hears this here, 0 to 1.
	// Those of one moment sum up to 1 at most: something else is always possible.
	Confidence float64
	// Margin is how much worse, in units of log probability, the best reading of the
	// whole piece is that has this here; 0 for the analysis's own.
	Margin float64
}

// doubts is what else may be heard in a piece.
type doubts struct {
	weights *weights
	// brevity and phrasing are those of the piece, see [Analysis.Brevity] and
	// [Analysis.Phrasing].
	brevity, phrasing float64
	// starts are the first moments of the frames, rivals those of each frame.
	starts []int32
	rivals [][]Plausible
}

// Plausible returns what a musician may hear at a moment of the texture, the
// analysis's own reading first and then others that are at least as likely as least.
// It has nothing where no harmony sounds, and only the own reading where labels are the
// analysis, or where nothing else comes near it.
//
// A rule is as sure as the harmony if it speaks only where every one of these bears it
// out:
//
//	for _, r := range analysis.Plausible(moment, harmony.LeastPlausible) {
//		if lead, ok := r.LeadingTone(); !ok || lead != note.Pitch.Class() {
//			return // somebody may well hear no leading tone here
//		}
//	}
//
// For a rule about two chords ask at a moment of each. Own readings differ from
// [Harmony.Reading] in nothing; of the others, Numeral.Cadential is never set, since
// that depends on what follows. Confidence at a moment within a harmony is that of the
// reading there; at the first it is [Harmony.Confidence].
func (a *Analysis) Plausible(moment int, least float64) []Plausible {
	h := a.At(moment)
	if h == nil {
		return nil
	}
	own := Plausible{Reading: h.Reading, Confidence: h.Confidence}
	frame := sort.Search(len(a.doubts.starts), func(i int) bool { return int(a.doubts.starts[i]) > moment }) - 1
	if frame < 0 {
		return []Plausible{own}
	}
	rivals := a.doubts.rivals[frame]
	own.Confidence = a.doubts.certainty(rivals)
	out := []Plausible{own}
	for _, r := range rivals {
		if r.Confidence >= least && r.Reading != h.Reading {
			out = append(out, r)
		}
	}
	return out
}

// LeastPlausible is the confidence from which on a second reading is worth saying.
const LeastPlausible = 0.1

// certainty is how sure the best reading of a frame is beside its rivals.
func (d *doubts) certainty(rivals []Plausible) float64 {
	margin := float64(MaxMargin)
	if len(rivals) > 0 {
		margin = rivals[0].Margin
	}
	return d.weights.certainty(margin, d.brevity, d.phrasing)
}

// share divides what the own reading leaves among its rivals: each the less likely,
// the further it is behind. One part of elseOdds stays for what is none of them.
func (d *doubts) share(rivals []Plausible) {
	if len(rivals) == 0 {
		return
	}
	sum := 0.0
	for i := range rivals {
		r := &rivals[i]
		r.Confidence = math.Exp(-float64(d.weights.certainSlope) * (r.Margin - rivals[0].Margin))
		sum += r.Confidence
	}
	left := (1 - d.certainty(rivals)) / (sum + elseOdds)
	for i := range rivals {
		rivals[i].Confidence *= left
	}
}

// elseOdds is how likely it is that a musician hears what is none of the rivals that
// are known, beside the first of them.
const elseOdds = 1

// weigh tells how far other readings are behind, and how sure that makes us.
func (a *Analysis) weigh(l *lattice, path []choice, best float32) {
	if len(path) == 0 {
		return
	}
	b := newBackward(l, path, best)
	d := &a.doubts
	d.weights, d.brevity, d.phrasing = l.w, l.p.brevity(), l.p.phrasing()
	d.starts, d.rivals = make([]int32, len(b.doubts)), make([][]Plausible, len(b.doubts))
	count := 0
	for f := range b.doubts {
		d.starts[f] = l.p.frames[f].moment
		for _, r := range b.doubts[f].rivals {
			if r.key >= 0 {
				count++
			}
		}
	}
	all := make([]Plausible, 0, count)
	for f := range b.doubts {
		first := len(all)
		for _, r := range b.doubts[f].rivals {
			if r.key >= 0 {
				all = append(all, Plausible{Reading: l.reading(int(r.key), int(r.state)), Margin: max(0, float64(best-r.score))})
			}
		}
		d.rivals[f] = all[first:len(all):len(all)]
		d.share(d.rivals[f])
	}
	for f, i := 0, 0; f < len(d.starts) && i < len(a.Harmonies); f++ {
		if h := &a.Harmonies[i]; h.FirstMoment == int(d.starts[f]) {
			h.doubt(d, d.rivals[f])
			i++
		}
	}
}

// doubt sets how sure a harmony is by what rivals it at its beginning.
func (h *Harmony) doubt(d *doubts, rivals []Plausible) {
	h.Margin = math.Inf(1)
	if len(rivals) > 0 {
		h.Margin, h.RunnerUp = rivals[0].Margin, &rivals[0].Reading
	}
	// What the search gave up is about as far behind, or further.
	h.Confidence = d.certainty(rivals)
}
