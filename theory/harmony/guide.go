package harmony

import (
	"sort"

	"partwright/theory"
)

// What it costs a reading, in log probability, to differ from a given label: for
// each frame with another chord or key, and for a segment with another bass. Our
// own choice: a label outweighs several foreign notes and any habit, and yet a
// slip of the pen does not bend a whole phrase.
const (
	otherChord = 6
	otherKey   = 4
	otherBass  = 5
)

// guide holds given labels against the frames of a piece; nil where there are
// none. The labels are in order and do not overlap.
type guide struct {
	labels []Annotation
	// at holds the label of each frame, -1 for none.
	at []int32
}

// begins reports whether a label begins at an onset: a frame has to, then.
func (g *guide) begins(onset theory.Fraction) bool {
	if g == nil {
		return false
	}
	i := sort.Search(len(g.labels), func(i int) bool { return !g.labels[i].Onset.Less(onset) })
	return i < len(g.labels) && g.labels[i].Onset == onset
}

// assign finds the label of each frame.
func (g *guide) assign(frames []frame) {
	if g == nil {
		return
	}
	g.at = make([]int32, len(frames))
	next := 0
	for f := range frames {
		for next < len(g.labels) && !frames[f].onset.Less(g.labels[next].Onset) {
			next++
		}
		g.at[f] = -1
		if next > 0 && frames[f].onset.Less(g.labels[next-1].End) {
			g.at[f] = int32(next - 1)
		}
	}
}

// label returns the label of a frame, nil for none.
func (g *guide) label(f int) *Annotation {
	if g == nil || g.at[f] < 0 {
		return nil
	}
	return &g.labels[g.at[f]]
}

// parts reports whether the frame before belongs to another label.
func (g *guide) parts(f int) bool { return g != nil && f > 0 && g.at[f] != g.at[f-1] }

// weighChords adds to the cost of each chord in a frame what the label there has
// against it.
func (g *guide) weighChords(f int, chords []chord, cost []float32) {
	label := g.label(f)
	if label == nil {
		return
	}
	for c := range chords {
		if !label.names(&chords[c]) {
			cost[c] += otherChord
		}
	}
}

// names reports whether a chord of the search is the label's.
func (a *Annotation) names(c *chord) bool {
	return c.quality == a.Chord.Quality && int(c.root) == bitOf(a.Chord.Root)
}

// slack is how much further a frame with a label has to look than one without, so
// that there is another chord if the label's cannot be.
func (g *guide) slack(f int) float32 {
	if g.label(f) == nil {
		return 0
	}
	return otherChord
}

// inversion is what a chord has by its label where no member of it lies in the
// bass, -1 where that is not said.
func (g *guide) inversion(f int, c *chord) int8 {
	if label := g.label(f); label != nil && label.names(c) {
		return int8(label.Chord.Inversion)
	}
	return -1
}

// bassCost is what the label at a frame has against an inversion of its chord.
func (g *guide) bassCost(f int, c *chord, inversion int8) float32 {
	label := g.label(f)
	if label == nil || label.OpenBass || int(inversion) == label.Chord.Inversion || !label.names(c) {
		return 0
	}
	return otherBass
}

// keyCost is what the label at a frame has against a key.
func (g *guide) keyCost(f int, key theory.Key) float32 {
	if label := g.label(f); label != nil && label.Key != nil && *label.Key != key {
		return otherKey
	}
	return 0
}

// settle gives harmonies that say what their label says its very numeral, since
// one chord may have several in a key.
func (g *guide) settle(harmonies []Harmony) {
	if g == nil {
		return
	}
	next := 0
	for i := range harmonies {
		h := &harmonies[i]
		for next < len(g.labels) && !h.Onset.Less(g.labels[next].Onset) {
			next++
		}
		if next == 0 || !h.Onset.Less(g.labels[next-1].End) {
			continue
		}
		if label := &g.labels[next-1]; label.sameChord(h.Reading) && label.Key != nil && *label.Key == h.Key && label.Numeral != nil {
			inversion := h.Numeral.Inversion
			h.Numeral = *label.Numeral
			h.Numeral.Inversion = inversion
			h.Numeral.Cadential = label.Numeral.Cadential && inversion == label.Numeral.Inversion
		}
	}
}
