package musicxml

import (
	"fmt"

	"partwright/musicxml/markup"
	"partwright/theory"
)

// noteParts are the children of a <note> that matter, markup.None where missing.
type noteParts struct {
	pitch, unpitched, rest, duration, voice, staff, kind markup.ID
	grace, cue, chord                                    bool
	ties                                                 theory.NoteFlags
	signs                                                theory.NoteFlags
	length                                               writtenLength
	lyric                                                bool
	// again is a child that stands twice where there may be one.
	again markup.ID
}

func (p *partReader) note(id markup.ID) error {
	parts := noteParts{
		pitch: markup.None, unpitched: markup.None, rest: markup.None, duration: markup.None,
		voice: markup.None, staff: markup.None, kind: markup.None, length: writtenLength{actual: 1, normal: 1},
		again: markup.None,
	}
	p.collect(id, &parts)
	p.checkOnce(&parts)
	n := theory.Note{Part: p.index, Measure: p.measure, Flags: parts.ties | parts.signs, Staff: 1}
	if p.attributeIs(id, markup.NamePrintObject, "no") {
		n.Flags |= theory.Hidden
	}
	if parts.grace {
		n.Flags |= theory.Grace
	}
	if parts.cue {
		n.Flags |= theory.Cue
	}
	if err := p.voiceAndStaff(&n, &parts); err != nil {
		return err
	}
	if err := p.pitchOrRest(id, &n, &parts); err != nil {
		return err
	}
	if err := p.timing(id, &n, &parts); err != nil {
		return err
	}
	p.count(&n)
	p.doc.Score.Notes = append(p.doc.Score.Notes, n)
	p.doc.places = append(p.doc.places, id)
	return nil
}

// first keeps the first of several children with one name, as the rest of the package
// does, and remembers the others.
func (n *noteParts) first(kept *markup.ID, c markup.ID) {
	if *kept == markup.None {
		*kept = c
	} else {
		n.again = c
	}
}

func (n *noteParts) isRest() bool { return n.rest != markup.None }

// checkOnce says where a note has two of what it can have one of. MusicXML 4.0 lets a
// note have one pitch, unpitched or rest, and one duration, voice, type and staff.
func (p *partReader) checkOnce(parts *noteParts) {
	if parts.again != markup.None {
		p.notice(parts.again, "note-twofold", "A note has more than one <%s>; the first is taken.", p.tree.NameOf(parts.again))
	}
	sounds := markup.None
	for _, c := range []markup.ID{parts.pitch, parts.unpitched, parts.rest} {
		switch {
		case c == markup.None:
		case sounds == markup.None:
			sounds = c
		default:
			first, second := min(sounds, c), max(sounds, c)
			p.notice(second, "note-twofold", "A note has a <%s> and a <%s>; the first is taken.", p.tree.NameOf(first), p.tree.NameOf(second))
			sounds = first
		}
	}
	for _, c := range []*markup.ID{&parts.pitch, &parts.unpitched, &parts.rest} {
		if *c != sounds {
			*c = markup.None
		}
	}
}

// collect goes through the children once.
func (p *partReader) collect(id markup.ID, parts *noteParts) {
	for c := p.elements[id].First; c != markup.None; c = p.elements[c].Next {
		switch p.elements[c].Name {
		case markup.NamePitch:
			parts.first(&parts.pitch, c)
		case markup.NameDuration:
			parts.first(&parts.duration, c)
		case markup.NameVoice:
			parts.first(&parts.voice, c)
		case markup.NameType:
			parts.first(&parts.kind, c)
			parts.length.units = typeLength(p.tree.Content(parts.kind))
		case markup.NameStaff:
			parts.first(&parts.staff, c)
		case markup.NameChord:
			parts.chord = true
		case markup.NameDot:
			parts.length.dots++
		case markup.NameRest:
			parts.first(&parts.rest, c)
		case markup.NameTie:
			parts.ties |= p.tieFlag(c)
		case markup.NameNotations:
			p.notations(c, parts)
		case markup.NameLyric:
			p.lyric(c, parts)
		case markup.NameTimeModification:
			p.timeModification(c, &parts.length)
		case markup.NameGrace:
			parts.grace = true
		case markup.NameCue:
			parts.cue = true
		case markup.NameUnpitched:
			parts.first(&parts.unpitched, c)
		case markup.NameNotehead:
			if isSlash(p.tree.Content(c)) {
				parts.signs |= theory.Slash
			}
		}
	}
}

// isSlash reports whether a notehead-value of W3C MusicXML 4.0 is a slash, as over which
// chord symbols stand: the line it is on says nothing.
func isSlash(head []byte) bool { return string(head) == "slash" }

// voiceAndStaff reads where on the page the note belongs.
func (p *partReader) voiceAndStaff(n *theory.Note, parts *noteParts) error {
	label := []byte("1")
	if parts.voice != markup.None {
		if text := p.tree.Content(parts.voice); len(text) > 0 {
			label = text
		}
	}
	layer, ok := p.layers.find(label, p.measure)
	if !ok {
		return p.refuse(parts.voice, "too-many-voices",
			fmt.Sprintf("Part %s has more than %d voice labels.", p.part.ID, maxLayers),
			"Export the score again.")
	}
	n.Layer = layer
	p.layers.enter(p.measure)
	if parts.staff == markup.None {
		return nil
	}
	staff, ok := wholeWithin(p.tree.Content(parts.staff), 1, maxStaves)
	if !ok {
		p.notice(parts.staff, "staff", "The staff %q is not a number from 1 to %d; staff 1 is taken.",
			excerpt(p.tree.Content(parts.staff)), maxStaves)
		return nil
	}
	n.Staff = int16(staff)
	p.highestStaff = max(p.highestStaff, staff)
	return nil
}

// pitchOrRest reads what sounds: a pitch, no pitch, or silence.
func (p *partReader) pitchOrRest(id markup.ID, n *theory.Note, parts *noteParts) error {
	if p.clefs.isTablature(n.Staff) {
		n.Flags |= theory.Tablature
	}
	switch {
	case parts.rest != markup.None:
		n.Flags |= theory.Rest
		if p.attributeIs(parts.rest, markup.NameMeasure, "yes") {
			n.Flags |= theory.WholeMeasure
		}
		return nil
	case parts.unpitched != markup.None:
		n.Flags |= theory.Unpitched
		p.unpitched++
		return nil
	case parts.pitch != markup.None:
		p.pitched++
		return p.pitch(parts.pitch, n)
	}
	return p.refuse(id, "note-without-pitch", "A note has neither pitch nor rest.",
		"Correct the note, or export the score again.")
}

// timing places the note and moves the cursor on.
func (p *partReader) timing(id markup.ID, n *theory.Note, parts *noteParts) error {
	p.figuresAt = 0
	if parts.grace {
		n.Onset = theory.Whole(p.cursor)
		if parts.chord {
			n.Flags |= theory.InChord
		}
		return nil
	}
	ticks, err := p.noteTicks(id, n, parts)
	if err != nil {
		return err
	}
	n.Duration = theory.Whole(ticks)
	if parts.chord && p.chordOpen {
		if p.chordRest != parts.isRest() {
			p.notice(id, "chord-with-rest", "A chord has notes and a rest; all are read to begin together.")
		}
		n.Flags |= theory.InChord
		n.Onset = theory.Whole(p.chordOnset)
		return nil
	}
	if parts.chord {
		p.notice(id, "chord-without-note", "A chord note has no note before it; it is read as a note of its own.")
	}
	n.Onset = theory.Whole(p.cursor)
	p.chordOnset, p.chordOpen, p.chordRest = p.cursor, true, parts.isRest()
	return p.advance(id, ticks)
}

// quarters writes a length for a message.
func (r *reader) quarters(ticks int64) string {
	f, err := theory.NewFraction(ticks, r.resolution)
	if err != nil {
		return "?"
	}
	if f == theory.Whole(1) {
		return "1 quarter"
	}
	return f.String() + " quarters"
}

// attributeIs compares an attribute with a word.
func (r *reader) attributeIs(id markup.ID, name markup.Name, word string) bool {
	value, _ := r.tree.Attr(id, name)
	return string(value) == word
}
