package musicxml

import (
	"bytes"
	"cmp"
	"maps"
	"slices"

	"partwright/musicxml/markup"
	"partwright/theory"
)

// signs are accidental-values of W3C MusicXML 4.0 by alteration.
var signs = map[int8]string{-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}

// signedAlters are the alterations that printed signs stand for.
var signedAlters = map[string]int8{
	"flat-flat": -2, "flat": -1, "natural": 0, "sharp": 1, "double-sharp": 2, "sharp-sharp": 2,
	"natural-flat": -1, "natural-sharp": 1,
}

// signedBar is one measure of one staff, in which a sign holds until the bar line.
type signedBar struct{ part, measure, staff int32 }

// staffLine is a line or space of the staff.
type staffLine struct {
	step   theory.Step
	octave int8
}

func lineOf(p theory.Pitch) staffLine { return staffLine{p.Step, p.Octave} }

// signMeasures corrects the accidentals of every measure in which a note has a new
// written pitch.
func (d *Document) signMeasures(written map[theory.NoteID]theory.Pitch, r *repitcher) {
	bars := map[signedBar][]theory.NoteID{}
	for id := range written {
		bars[d.barOf(id)] = nil
	}
	for i := range d.Score.Notes {
		d.tree.Work.Step(1)
		id := theory.NoteID(i)
		b := d.barOf(id)
		if _, ok := bars[b]; ok && !d.Score.Notes[i].Flags.Any(theory.Rest|theory.Unpitched|theory.Tablature) {
			bars[b] = append(bars[b], id)
		}
	}
	order := slices.SortedFunc(maps.Keys(bars), func(a, b signedBar) int {
		return cmp.Or(cmp.Compare(a.part, b.part), cmp.Compare(a.measure, b.measure), cmp.Compare(a.staff, b.staff))
	})
	for _, b := range order {
		notes := bars[b]
		slices.SortStableFunc(notes, func(a, b theory.NoteID) int {
			return d.Score.Notes[a].Onset.Cmp(d.Score.Notes[b].Onset)
		})
		d.signMeasure(notes, written, r)
	}
}

func (d *Document) barOf(id theory.NoteID) signedBar {
	n := &d.Score.Notes[id]
	return signedBar{n.Part, n.Measure, int32(n.Staff)}
}

// signMeasure goes through the notes of a measure in the order of time, as a reader
// does: once as they were, once as they are.
func (d *Document) signMeasure(notes []theory.NoteID, written map[theory.NoteID]theory.Pitch, r *repitcher) {
	was, is := map[staffLine]int8{}, map[staffLine]int8{}
	for _, id := range notes {
		n := &d.Score.Notes[id]
		if n.Flags.Any(theory.Microtone) {
			continue
		}
		after, changed := written[id]
		if !changed {
			after = n.Written
		}
		element := d.signElement(id)
		if d.tiedInto(id) {
			// The tie carries the pitch over the bar line, but not to later notes.
			if changed && element != markup.None {
				r.remove(element)
			}
			continue
		}
		s := signedNote{changed: changed, has: element != markup.None, held: d.inForce(was, n, n.Written), before: n.Written.Alter,
			needed: d.inForce(is, n, after) != after.Alter, after: after.Alter}
		s.readSign(string(bytes.TrimSpace(d.tree.Content(max(element, 0)))))
		switch s.verdict() {
		case showSign:
			if element != markup.None {
				r.content(element, signs[after.Alter])
			} else {
				r.sign(d.places[id], after.Alter)
			}
		case dropSign:
			r.remove(element)
		case keepSign:
		}
		was[lineOf(n.Written)] = s.read
		is[lineOf(after)] = after.Alter
		if !changed && s.read != s.before {
			is[lineOf(after)] = s.read // it reads wrong as it did before
		}
	}
}

// signedNote is a note as its accidental is judged.
type signedNote struct {
	// changed is set where its pitch is new, has where it shows a sign, unread where
	// that is one that says no alteration.
	changed, has, unread bool
	// held is the alteration that it had without a sign, read with it, before the one
	// that it sounded.
	held, read, before int8
	// needed is set where it needs a sign now; after is its alteration.
	needed bool
	after  int8
}

func (s *signedNote) readSign(word string) {
	s.read = s.held
	if !s.has {
		return
	}
	alter, known := signedAlters[word]
	if s.unread = !known; known {
		s.read = alter
	}
}

// signVerdict is what becomes of the accidental of a note.
type signVerdict int8

const (
	keepSign signVerdict = iota
	showSign
	dropSign
)

// verdict shows the sign of a changed note where it needs one and only there. Any
// other note keeps what it has, unless it read right before and would not now, or its
// sign was needed before and is not now.
func (s *signedNote) verdict() signVerdict {
	switch _, writable := signs[s.after]; {
	case s.unread && !s.changed, s.needed && !writable:
		return keepSign
	case s.needed && (s.changed || !s.has && s.read == s.before):
		return showSign
	case s.has && !s.needed && (s.changed || s.held != s.before):
		return dropSign
	}
	return keepSign
}

// inForce is the alteration that a note without a sign has: that of the last note on
// its line or space in the measure, else that of the key.
func (d *Document) inForce(said map[staffLine]int8, n *theory.Note, p theory.Pitch) int8 {
	if alter, ok := said[lineOf(p)]; ok {
		return alter
	}
	return d.keyAlter(n, p.Step)
}

func (d *Document) signElement(id theory.NoteID) markup.ID {
	return d.tree.Child(d.places[id], markup.NameAccidental)
}

// tiedInto reports whether a note is the end of a tie from the measure before.
func (d *Document) tiedInto(id theory.NoteID) bool {
	n := &d.Score.Notes[id]
	return n.Flags.Has(theory.TieStop) && n.Onset == d.Score.Measures[n.Measure].Onset
}

// keyAlter is what the key signature in force makes of a letter.
func (d *Document) keyAlter(n *theory.Note, step theory.Step) int8 {
	var alter int8
	for i := range d.Score.Keys {
		k := &d.Score.Keys[i]
		if n.Onset.Less(k.Onset) {
			break
		}
		if k.Part == int(n.Part) && (k.Staff == 0 || k.Staff == int(n.Staff)) {
			alter = k.Signature.Alter(step)
		}
	}
	return alter
}

// sign shows an accidental where a note had none.
func (r *repitcher) sign(note markup.ID, alter int8) {
	word, known := signs[alter]
	if !known {
		return
	}
	if before := r.lastOf(note, markup.NameType, markup.NameDot); before != markup.None {
		r.after(before, "accidental", word)
	}
}
