package musicxml

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
)

// Annotations is the harmonic analysis as it stands in a marked score: numerals
// and figures under the bass, chord symbols above the top staff.
//
// They are <harmony> and <figured-bass> elements in a color of their own, by
// which they are known again. Where the lowest voice's part has no lyrics, numerals are
// printed as its lyrics, in the same color; elsewhere figures beside numerals are <words> of
// that color. The record keeps what of the author's has that color. Where the author has a label of the
// same kind at the same place, ours is left out and nothing is changed; figures are left
// out under the whole note that has some. A document that declares MusicXML 1.0, which has no color, gets none
// without [Marks.Upgrade].
type Annotations struct {
	Layers    Layers
	Harmonies []harmony.Harmony
	// Delays are the suspensions among the figures; they index Harmonies and are
	// in order.
	Delays []harmony.Delay
	// Top and Bass are the staves of the highest and the lowest voice.
	Top, Bass Staff
	// Lowest are the notes of the lowest voice, in order: numerals are their lyrics where
	// its part has none. Without them numerals are <numeral> alone.
	Lowest []theory.VoiceNote
}

// below tells whether something stands under the bass.
func (a *Annotations) below() bool {
	return a.Layers&(Numerals|Figures) != 0 && len(a.Harmonies) > 0
}

// figuresAsWords tells whether figures are written as texts where the document has
// <numeral>: beside numerals.
func (a *Annotations) figuresAsWords() bool {
	return a.Layers&Numerals != 0 && a.Layers&Figures != 0 && len(a.Harmonies) > 0
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

// event is a place at which something is to be written about a harmony.
type event struct {
	*harmony.Harmony
	at theory.Fraction
	// newKey is set where the key was another one before.
	newKey bool
	// delayed are members that are still to come, come those that now have.
	delayed, come []harmony.Delay
}

// beginnings are the onsets of the harmonies.
func (a *Annotations) beginnings() []event {
	out := make([]event, len(a.Harmonies))
	for i := range a.Harmonies {
		h := &a.Harmonies[i]
		out[i] = event{Harmony: h, at: h.Onset, newKey: i == 0 || a.Harmonies[i-1].Key != h.Key}
	}
	return out
}

// figureChanges are the places at which figures change: where harmonies begin and
// where their suspensions resolve.
func (a *Annotations) figureChanges() []event {
	var out []event
	delays := a.Delays
	for i := range a.Harmonies {
		h := &a.Harmonies[i]
		first := len(out)
		out = append(out, event{Harmony: h, at: h.Onset})
		n := 0
		for n < len(delays) && delays[n].Harmony <= i {
			if d := &delays[n]; d.Harmony == i {
				for _, at := range [2]theory.Fraction{d.From, d.Until} {
					if !slices.ContainsFunc(out[first:], func(e event) bool { return e.at == at }) {
						out = append(out, event{Harmony: h, at: at})
					}
				}
			}
			n++
		}
		slices.SortFunc(out[first:], func(x, y event) int { return x.at.Cmp(y.at) })
		for k := first; k < len(out); k++ {
			out[k].sort(delays[:n], i)
		}
		delays = delays[n:]
	}
	return out
}

// sort tells which suspensions of its harmony sound at an event and which have
// just resolved.
func (e *event) sort(delays []harmony.Delay, of int) {
	for _, d := range delays {
		switch {
		case d.Harmony != of || e.at.Less(d.From):
		case e.at.Less(d.Until):
			e.delayed = append(e.delayed, d)
		case e.at == d.Until:
			e.come = append(e.come, d)
		}
	}
}

// anchored is an event at the anchor that its annotation stands before.
type anchored struct {
	event
	anchor
	// after is how long after the anchor the event is.
	after theory.Fraction
}

// anchorEvents finds for each event the last anchor at or before it in its measure; one of
// a measure without an anchor is left out.
func anchorEvents(s *theory.Score, events []event, anchors []anchor) []anchored {
	var out []anchored
	next := 0
	for _, e := range events {
		measure := int32(s.MeasureAt(e.at).Index)
		for next < len(anchors) && !e.at.Less(anchors[next].onset) {
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
		out = append(out, anchored{e, anchors[at], e.at.Sub(anchors[at].onset)})
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
	i := sort.Search(len(t.figures), func(i int) bool { return !t.figures[i].Onset.Less(a.onset) })
	for ; i < len(t.figures) && t.figures[i].Onset.Less(a.end); i++ {
		if t.figures[i].Part == part {
			return true
		}
	}
	return false
}
