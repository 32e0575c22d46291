package musicxml

import (
	"slices"
	"sort"
	"strconv"
	"strings"

	"partwright/musicxml/markup"
	"partwright/theory"
)

func sortAnchors(all []anchor) {
	slices.SortStableFunc(all, func(a, b anchor) int { return a.onset.Cmp(b.onset) })
}

// divisionsFrom is how many divisions a quarter note has from a note on, up to the
// next change in the same part.
type divisionsFrom struct {
	note theory.NoteID
	per  decimal
}

// annotator writes annotations into one document.
type annotator struct {
	*marker
	doc    *Document
	places []markup.ID
	bass   Staff
	// numerals tells whether the document's version has <numeral>.
	numerals bool
	// figured tells whether figures are written, worded whether as texts.
	figured, worded bool
	// shift is what toWritten has found last, for the notes from first to last.
	shift struct {
		first, last theory.NoteID
		up          theory.Interval
	}
}

// annotate inserts the annotations asked for.
func (mk *marker) annotate(d *Document, places []markup.ID, a *Annotations, upgraded bool) {
	if a.Layers == 0 || mk.plain || len(a.Harmonies) == 0 {
		return
	}
	w := &annotator{marker: mk, doc: d, places: places, bass: a.Bass, numerals: upgraded || !isOlderThanCurrent(mk.t), figured: a.Layers&Figures != 0}
	sung := w.canSing(a)
	w.worded = w.numerals && a.figuresAsWords() && !sung
	own := takenBy(d.Score)
	if a.Layers&Symbols != 0 {
		for _, h := range anchorEvents(d.Score, a.beginnings(), anchorsOn(d.Score, a.Top)) {
			if !own.symbols[h.at] {
				w.insert(h.id, w.symbol(&h, a.Top))
			}
		}
	}
	if a.Layers&(Numerals|Figures) == 0 {
		return
	}
	anchors := anchorsOn(d.Score, a.Bass)
	if a.Layers&Figures != 0 {
		w.figures(anchorEvents(d.Score, a.figureChanges(), anchors), &own, a.Bass)
	}
	if a.Layers&Numerals != 0 {
		numerals := slices.DeleteFunc(anchorEvents(d.Score, a.beginnings(), anchors), func(h anchored) bool { return own.numerals[h.at] })
		if sung {
			w.sing(a, numerals)
			return
		}
		for i := range numerals {
			w.insert(numerals[i].id, w.numeral(&numerals[i], a.Bass))
		}
	}
}

// isOlderThanCurrent tells whether a document declares an older version than the
// one that brought <numeral>.
func isOlderThanCurrent(t *markup.Tree) bool {
	version, ok := t.Attr(t.Root(), markup.NameVersion)
	if !ok {
		from, to := doctypeVersion(t)
		version = t.Text[from:to]
	}
	return isOlder(version)
}

// insert puts an element in front of a note, laid out like its surroundings.
func (w *annotator) insert(id theory.NoteID, e *element) {
	note := w.places[id]
	in := around(w.t, note)
	at := w.t.Elements[note].Start
	w.edits.insert(at, layOut(e, in), []byte(in.before))
	w.annotated = append(w.annotated, at)
}

// divisions returns a length in the divisions in force at a note, as MusicXML
// writes it: whole where it can be, else in decimals.
func (w *annotator) divisions(at theory.NoteID, length theory.Fraction) string {
	all := w.doc.divisions
	i := sort.Search(len(all), func(i int) bool { return all[i].note > at }) - 1
	n := length.Mul(theory.Frac(all[max(i, 0)].per.digits, all[max(i, 0)].per.scale))
	if n.Den() == 1 {
		return strconv.FormatInt(n.Num(), 10)
	}
	return strings.TrimRight(strconv.FormatFloat(n.Float(), 'f', maxDecimals, 64), "0")
}

// toWritten leads from sounding pitch to what stands on the page at a note.
func (w *annotator) toWritten(at theory.NoteID) theory.Interval {
	if w.shift.last > 0 && at >= w.shift.first && at <= w.shift.last {
		return w.shift.up
	}
	s := w.doc.Score
	part := s.Notes[at].Part
	sounding := s.Parts[part].Transposition
	up := theory.Interval{Steps: -sounding.Steps, Semitones: -sounding.Semitones}
	last := at
	for i := int(at); i < len(s.Notes) && s.Notes[i].Part == part; i++ {
		w.t.Work.Step(1)
		last = theory.NoteID(i)
		if n := &s.Notes[i]; n.Sounds() {
			up = theory.Between(n.Pitch, n.Written)
			break
		}
	}
	w.shift.first, w.shift.last, w.shift.up = at, last, up
	return up
}
