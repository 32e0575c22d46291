package musicxml

import (
	"fmt"
	"slices"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
)

// Annotations is the harmonic analysis as it stands in a marked score: numerals
// and figures under the bass, chord symbols above the top staff.
//
// They are <harmony> and <figured-bass> elements in a color of their own, by
// which they are known again; the record keeps what of the author's has that
// color. Where the author has a label of the same kind at the same place, ours is
// left out and nothing is changed; figures are left out under the whole note that
// has some. A document that declares MusicXML 1.0, which has no color, gets none
// without [Marks.Upgrade].
type Annotations struct {
	Layers    Layers
	Harmonies []harmony.Harmony
	// Top and Bass are the staves of the highest and the lowest voice.
	Top, Bass Staff
}

// below tells whether something stands under the bass.
func (a *Annotations) below() bool {
	return a.Layers&(Numerals|Figures) != 0 && len(a.Harmonies) > 0
}

// Layers are kinds of annotation, as a set.
type Layers uint8

// Kinds of annotation.
const (
	// Numerals are Roman numerals: <numeral> in MusicXML 4.0, <function> in a
	// document of an older version.
	Numerals Layers = 1 << iota
	// Figures are figured bass.
	Figures
	// Symbols are chord symbols.
	Symbols
)

// layerNames are the names of the layers, in the order of their bits.
var layerNames = [...]string{"numerals", "figures", "symbols"}

// LayerNames returns the names that [ParseLayers] knows.
func LayerNames() []string { return append([]string(nil), layerNames[:]...) }

// ParseLayers reads names of layers between commas, such as "numerals,symbols"; ""
// is none.
func ParseLayers(text string) (Layers, error) {
	var layers Layers
	for name := range strings.SplitSeq(text, ",") {
		name = strings.TrimSpace(name)
		i := slices.Index(layerNames[:], name)
		if i < 0 && (name != "" || strings.Contains(text, ",")) {
			return 0, fmt.Errorf("%q is no kind of annotation: say %s, with commas between several", name, strings.Join(layerNames[:], ", "))
		}
		if i >= 0 {
			layers |= 1 << i
		}
	}
	return layers, nil
}

// Staff is a staff of a part: Part indexes [theory.Score.Parts], Number counts
// from 1.
type Staff struct{ Part, Number int }

// labelColor is the near-black of annotations.
const labelColor = "#16202B"

// anchor is a written note or rest that annotations stand before.
type anchor struct {
	id         theory.NoteID
	onset, end theory.Fraction
	measure    int32
}

// anchorsOn lists what annotations of a staff can stand before, in order of onset:
// notes and rests with a duration that are first of their chord.
func anchorsOn(s *theory.Score, at Staff) []anchor {
	var on, elsewhere []anchor
	for i := range s.Notes {
		n := &s.Notes[i]
		if int(n.Part) != at.Part || n.Flags.Any(theory.Grace|theory.InChord) {
			continue
		}
		a := anchor{theory.NoteID(i), n.Onset, n.End(), n.Measure}
		if int(n.Staff) == at.Number {
			on = append(on, a)
		} else {
			elsewhere = append(elsewhere, a)
		}
	}
	if len(on) == 0 {
		on = elsewhere
	}
	sortAnchors(on)
	return on
}

// hung is an annotation's harmony at the anchor it stands before.
type hung struct {
	*harmony.Harmony
	anchor
	// after is how long after the anchor the harmony begins.
	after theory.Fraction
	// newKey is set where the key was another one before.
	newKey bool
}

// hang finds for each harmony the last anchor at or before its onset in its
// measure; a harmony of a measure without one is left out.
func hang(s *theory.Score, all []harmony.Harmony, anchors []anchor) []hung {
	var out []hung
	next := 0
	for i := range all {
		h := &all[i]
		measure := int32(s.MeasureAt(h.Onset).Index)
		for next < len(anchors) && !h.Onset.Less(anchors[next].onset) {
			next++
		}
		at := next - 1
		// Of several at one place the first in the document.
		for at > 0 && anchors[at-1].onset == anchors[at].onset && anchors[at-1].measure == anchors[at].measure {
			at--
		}
		if at < 0 || anchors[at].measure != measure {
			continue
		}
		out = append(out, hung{
			Harmony: h, anchor: anchors[at], after: h.Onset.Sub(anchors[at].onset),
			newKey: i == 0 || all[i-1].Key != h.Key,
		})
	}
	return out
}

// taken says where the author has labels.
type taken struct {
	numerals, symbols map[theory.Fraction]bool
	figures           []theory.GivenFigures
}

func takenBy(s *theory.Score) taken {
	t := taken{map[theory.Fraction]bool{}, map[theory.Fraction]bool{}, s.Figures}
	for i := range s.Chords {
		if c := &s.Chords[i]; c.HasRoot || c.Numeral == "" {
			t.symbols[c.Onset] = true
		} else {
			t.numerals[c.Onset] = true
		}
	}
	return t
}

// figured reports whether the author has figures under a note of a part.
func (t *taken) figured(part int, a *anchor) bool {
	for i := range t.figures {
		f := &t.figures[i]
		if f.Part == part && !f.Onset.Less(a.onset) && f.Onset.Less(a.end) {
			return true
		}
	}
	return false
}
