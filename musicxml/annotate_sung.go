package musicxml

import (
	"sort"
	"strings"

	"partwright/musicxml/chordlabel"
	"partwright/musicxml/markup"
	"partwright/theory"
)

// Numerals are printed as lyrics of the lowest voice where its part has no lyrics of its own,
// as they are on sheets that are written anew: LilyPond 2.24 by its musicxml2ly skips numerals,
// and Verovio 6.3 sets them and figures over one another. Beside each lyric the <numeral> says
// the chord and prints nothing. What begins while the lowest voice holds its note is added to
// the lyric of that note; where the voice rests the numeral stands alone.

// betweenSung parts the numerals of one note: spaces that no program folds into one.
const betweenSung = "\u00a0\u00a0"

// canSing tells whether numerals can be lyrics: where the document knows <numeral>, and no
// note of the lowest voice's part has a lyric.
func (w *annotator) canSing(a *Annotations) bool {
	if !w.numerals || a.Layers&Numerals == 0 || len(a.Lowest) == 0 {
		return false
	}
	free := true
	eachMeasure(w.t, func(at place, holder markup.ID) {
		if !free || int(at.part) != a.Bass.Part+1 {
			return
		}
		for note := range named(w.t, holder, markup.NameNote) {
			free = free && w.t.Child(note, markup.NameLyric) == markup.None
		}
	})
	return free
}

// under returns the note of the lowest voice that sounds at a moment, false where there is
// none in the voice's part.
func (a *Annotations) under(s *theory.Score, at theory.Fraction) (theory.NoteID, bool) {
	i := sort.Search(len(a.Lowest), func(i int) bool { return at.Less(a.Lowest[i].Onset) }) - 1
	if i < 0 || !at.Less(a.Lowest[i].End()) {
		return 0, false
	}
	id := a.Lowest[i].IDs[0]
	for id > 0 && s.Notes[id].Flags.Any(theory.InChord) {
		id-- // a chord has its lyrics at its first note
	}
	return id, int(s.Notes[id].Part) == a.Bass.Part
}

// sing writes numerals as lyrics.
func (w *annotator) sing(a *Annotations, numerals []anchored) {
	var order []theory.NoteID
	texts := map[theory.NoteID][]string{}
	for i := range numerals {
		h := &numerals[i]
		id, ok := a.under(w.doc.Score, h.at)
		if !ok {
			w.insert(h.id, w.numeral(h, a.Bass))
			continue
		}
		e := chordlabel.Numeral(h.Reading, h.newKey, w.toWritten(h.id))
		text := chordlabel.Silence(e)
		w.insert(h.id, w.finish(colored(e, "below"), h, a.Bass))
		if texts[id] == nil {
			order = append(order, id)
		}
		texts[id] = append(texts[id], text)
	}
	for _, id := range order {
		lyric := colored(chordlabel.Sung(strings.Join(texts[id], betweenSung)), "")
		w.intoNote(w.places[id], lyric)
	}
	if len(order) > 0 {
		w.record.sung = place{int32(a.Bass.Part) + 1, 1, int32(len(order))} //nolint:gosec // notes are bounded
	}
}

// intoNote puts a lyric into a note, behind all that a note has but <play> and <listen>.
func (w *annotator) intoNote(note markup.ID, lyric *element) {
	last := markup.None
	for c := w.t.Elements[note].First; c != markup.None; c = w.t.Elements[c].Next {
		if name := w.t.NameOf(c); name == "play" || name == "listen" {
			break
		}
		last = c
	}
	in := around(w.t, last)
	w.edits.insert(w.t.Elements[last].End, []byte(in.before), layOut(lyric, in))
}

// sungLyrics adds the lyrics that marking has put in: with the record, of the part that it
// names those that have their name or their color, or all where a program has dropped both and
// there are as many as were put in; without the record those of their color.
func (c *cleaner) sungLyrics(ours map[markup.ID]bool) {
	recorded := c.field != markup.None
	if recorded && c.record.sung.index == 0 {
		return
	}
	var known, all []markup.ID
	eachMeasure(c.t, func(at place, holder markup.ID) {
		if recorded && at.part != c.record.sung.part {
			return
		}
		for note := range named(c.t, holder, markup.NameNote) {
			for lyric := range named(c.t, note, markup.NameLyric) {
				all = append(all, lyric)
				name, _ := c.t.Attr(lyric, markup.NameName)
				if looksAnnotated(c.t, lyric) || recorded && string(name) == chordlabel.SungName {
					known = append(known, lyric)
				}
			}
		}
	})
	if len(known) == 0 && recorded && len(all) == int(c.record.sung.index) {
		known = all
	}
	for _, lyric := range known {
		ours[lyric] = true
	}
}

// unsing takes the lyrics that are ours off a note.
func (c *cleaner) unsing(note markup.ID) {
	for lyric := range named(c.t, note, markup.NameLyric) {
		if !c.ours[lyric] {
			continue
		}
		e := &c.t.Elements[lyric]
		c.edits.remove(backOverSpace(c.t.Text, e.Start), e.End)
	}
}
