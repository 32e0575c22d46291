package harmony

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"partwright/theory"
)

// LabelUse says what given labels do to an analysis.
type LabelUse int8

// Uses of given labels.
const (
	// Steer: the analysis reads as the labels do unless the notes speak plainly
	// against them.
	Steer LabelUse = iota
	// Replace: the labels are the analysis where there are any.
	Replace
	// Ignore: the analysis goes by the notes alone.
	Ignore
)

// labelUses are the names of the uses.
var labelUses = [...]string{Steer: "steer", Replace: "replace", Ignore: "ignore"}

// String returns "steer", "replace" or "ignore".
func (u LabelUse) String() string { return labelUses[u] }

// ParseLabelUse reads the name of a use; "" is the usual one, steer.
func ParseLabelUse(name string) (LabelUse, error) {
	if name == "" {
		return Steer, nil
	}
	i := slices.Index(labelUses[:], name)
	if i < 0 {
		return Steer, fmt.Errorf("%q is no use of labels: say %s", name, strings.Join(labelUses[:], ", "))
	}
	return LabelUse(i), nil
}

// Contest is a label that the analysis by the notes alone does not share.
type Contest struct {
	Annotation
	// Moment is the moment of the texture in which the label begins.
	Moment int
	// Heard is what the notes say there, nil where they say nothing; Confidence
	// is that of the harmony.
	Heard      *Reading
	Confidence float64
	// RootSounds tells whether the root that the label names sounds anywhere
	// while it holds.
	RootSounds bool
}

// GuidedAs reads a texture, in a given style, with the help of labels that somebody has
// given, in order of onset and without overlap. Analysis.Given keeps the labels and
// Analysis.Contested lists those that the notes alone would not have.
func GuidedAs(t *theory.Texture, given []Annotation, use LabelUse, s Style) *Analysis {
	return modelFor(t, s).Guided(t, given, use)
}

// GuidedToReread is [GuidedAs] for a texture of which changed versions are to be read
// again: where there are no labels, the analysis keeps its search for [NewRereader],
// which else makes it once more.
func GuidedToReread(t *theory.Texture, given []Annotation, use LabelUse, s Style) *Analysis {
	if use != Ignore && len(given) > 0 {
		return GuidedAs(t, given, use, s)
	}
	k := modelFor(t, s).keep(t, nil)
	k.analysis.kept = k
	return k.analysis
}

// Guided reads a texture as [GuidedAs] does.
func (m *Model) Guided(t *theory.Texture, given []Annotation, use LabelUse) *Analysis {
	byNotes := m.Analyze(t)
	if use == Ignore || len(given) == 0 || len(t.Moments) == 0 {
		return byNotes
	}
	a := m.analyze(t, &guide{labels: given})
	if use == Replace {
		a = a.overlaid(given)
	}
	a.Given, a.Use = given, use
	a.Contested, a.byNotes = byNotes.contested(given), byNotes
	return a
}

// contested lists the labels that an analysis does not share.
func (a *Analysis) contested(given []Annotation) []Contest {
	var out []Contest
	for _, label := range given {
		m := a.momentOf(label.Onset)
		if m < 0 {
			continue
		}
		c := Contest{Annotation: label, Moment: m}
		if h := a.At(m); h != nil {
			if label.agrees(h.Reading) || h.Pivot != nil && label.agrees(*h.Pivot) ||
				label.Pivot != nil && *label.Pivot == h.Reading {
				continue
			}
			heard := h.Reading
			c.Heard, c.Confidence = &heard, h.Confidence
		}
		c.RootSounds = a.sounds(m, label.End, label.Chord.Root)
		out = append(out, c)
	}
	return out
}

// momentOf returns the last moment at or before an onset, -1 before the first.
func (a *Analysis) momentOf(onset theory.Fraction) int {
	moments := a.texture.Moments
	return sort.Search(len(moments), func(m int) bool { return onset.Less(moments[m].Onset) }) - 1
}

// momentFrom returns the first moment at or after an onset.
func (a *Analysis) momentFrom(onset theory.Fraction) int {
	moments := a.texture.Moments
	return sort.Search(len(moments), func(m int) bool { return !moments[m].Onset.Less(onset) })
}

// sounds reports whether a pitch class is heard from a moment up to an onset.
func (a *Analysis) sounds(m int, end theory.Fraction, c theory.PitchClass) bool {
	t := a.texture
	for first := m; m < len(t.Moments) && (m == first || t.Moments[m].Onset.Less(end)); m++ {
		for v := range t.Voices {
			if n := t.At(m, v); n >= 0 && t.Voices[v].Notes[n].Pitch.Class() == c {
				return true
			}
		}
	}
	return false
}

// overlaid returns an analysis that says what the labels say, and what a says
// where there are none.
func (a *Analysis) overlaid(given []Annotation) *Analysis {
	t := a.texture
	out := emptyAnalysis(t)
	out.Phrases, out.Style, out.StyleFound = a.Phrases, a.Style, a.StyleFound
	own := 0
	// until copies what of the analysis lies in a gap between labels.
	until := func(from, to theory.Fraction) {
		for ; own < len(a.Harmonies) && !from.Less(a.Harmonies[own].End); own++ {
		}
		for i := own; i < len(a.Harmonies) && a.Harmonies[i].Onset.Less(to); i++ {
			h := a.Harmonies[i]
			out.add(h, later(h.Onset, from), earlier(h.End, to))
		}
	}
	var at theory.Fraction
	end := soundingEnd(t)
	for _, label := range given {
		if !label.Onset.Less(end) {
			break
		}
		until(at, label.Onset)
		at = earlier(label.End, end)
		out.add(Harmony{Reading: a.complete(&label), Pivot: label.Pivot, Confidence: 1}, label.Onset, at)
	}
	until(at, end)
	out.finish()
	out.findCadences()
	return out
}

// complete gives a label the key that the analysis has at its place, where it
// names none, and the inversion that sounds, where it leaves that open.
func (a *Analysis) complete(label *Annotation) Reading {
	m := max(a.momentOf(label.Onset), 0)
	chord := label.Chord
	if label.OpenBass {
		if bass, ok := a.lowest(m); ok {
			chord.Inversion = max(memberIndex(chord.Root, chord.Quality, bass), 0)
		}
	}
	if label.Key != nil && label.Numeral != nil {
		n := *label.Numeral
		n.Inversion = int8(chord.Inversion)
		return Reading{*label.Key, n}
	}
	var key theory.Key
	switch h := a.At(m); {
	case label.Key != nil:
		key = *label.Key
	case h != nil:
		key = h.Key
	case len(a.Keys) > 0:
		key = a.Keys[0].Key
	}
	return ReadIn(key, chord)
}

// lowest returns the pitch class that sounds lowest at a moment.
func (a *Analysis) lowest(m int) (lowest theory.PitchClass, ok bool) {
	t := a.texture
	height := 0
	for v := range t.Voices {
		if n := t.At(m, v); n >= 0 {
			if p := t.Voices[v].Notes[n].Pitch; !ok || p.Semitones() < height {
				lowest, height, ok = p.Class(), p.Semitones(), true
			}
		}
	}
	return lowest, ok
}

// add appends a harmony that lasts from one onset to another. A label that says
// again what the one before says makes no new harmony within a phrase.
func (a *Analysis) add(h Harmony, onset, end theory.Fraction) {
	if !onset.Less(end) {
		return
	}
	t := a.texture
	if n := len(a.Harmonies); n > 0 && h.Pivot == nil {
		before := &a.Harmonies[n-1]
		if before.Reading == h.Reading && before.Confidence == h.Confidence && before.End == onset && !a.endsPhrase(onset) {
			before.End, before.EndMoment = end, a.momentFrom(end)
			return
		}
	}
	h.Onset, h.End = onset, end
	h.FirstMoment, h.EndMoment = a.momentFrom(onset), a.momentFrom(end)
	if h.FirstMoment < len(t.Moments) {
		h.Measure = int(t.Moments[h.FirstMoment].Measure)
	}
	a.Harmonies = append(a.Harmonies, h)
}

// endsPhrase reports whether a phrase ends at an onset.
func (a *Analysis) endsPhrase(onset theory.Fraction) bool {
	i := sort.Search(len(a.Phrases), func(i int) bool { return !a.Phrases[i].End.Less(onset) })
	return i < len(a.Phrases) && a.Phrases[i].End == onset
}

func earlier(a, b theory.Fraction) theory.Fraction {
	if b.Less(a) {
		return b
	}
	return a
}

func later(a, b theory.Fraction) theory.Fraction {
	if a.Less(b) {
		return b
	}
	return a
}
