package musicxml

import (
	"fmt"

	"partwright/musicxml/markup"
	"partwright/theory"
)

// noteParts are the children of a <note> that matter, markup.None where missing.
type noteParts struct {
	pitch, unpitched, rest, duration, voice, staff, kind markup.ID
	grace, cue, chord, double                            bool
	ties                                                 theory.NoteFlags
	signs                                                theory.NoteFlags
	length                                               writtenLength
	lyric                                                bool
}

func (p *partReader) note(id markup.ID) error {
	parts := noteParts{
		pitch: markup.None, unpitched: markup.None, rest: markup.None, duration: markup.None,
		voice: markup.None, staff: markup.None, kind: markup.None, length: writtenLength{actual: 1, normal: 1},
	}
	p.collect(id, &parts)
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
	if err := p.heard(id, &n, &parts); err != nil {
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

// collect goes through the children once.
func (p *partReader) collect(id markup.ID, parts *noteParts) {
	for c := p.elements[id].First; c != markup.None; c = p.elements[c].Next {
		switch p.elements[c].Name {
		case markup.NamePitch:
			parts.pitch = c
		case markup.NameDuration:
			parts.duration = c
		case markup.NameVoice:
			parts.voice = c
		case markup.NameType:
			parts.kind = c
			parts.length.units = typeLength(p.tree.Content(c))
		case markup.NameStaff:
			parts.staff = c
		case markup.NameChord:
			parts.chord = true
		case markup.NameDot:
			parts.length.dots++
		case markup.NameRest:
			parts.rest = c
		case markup.NameTie:
			parts.ties |= p.tieFlag(c)
		case markup.NameNotations:
			p.notations(c, parts)
		case markup.NameLyric:
			if !parts.lyric {
				parts.lyric = true
				parts.signs |= p.lyricEnd(c)
			}
		case markup.NameTimeModification:
			p.timeModification(c, &parts.length)
		case markup.NameGrace:
			parts.grace = true
		case markup.NameCue:
			parts.cue = true
		case markup.NameUnpitched:
			parts.unpitched = c
		}
	}
}

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
		p.odd(parts.staff, "staff", "The staff %q is not a number from 1 to %d; staff 1 is taken.",
			excerpt(p.tree.Content(parts.staff)), maxStaves)
		return nil
	}
	n.Staff = int16(staff)
	p.highestStaff = max(p.highestStaff, staff)
	return nil
}

// heard reads what is heard: a pitch, no pitch, or silence.
func (p *partReader) heard(id markup.ID, n *theory.Note, parts *noteParts) error {
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
		n.Flags |= theory.InChord
		n.Onset = theory.Whole(p.chordOnset)
		return nil
	}
	if parts.chord {
		p.odd(id, "chord-without-note", "A chord note has no note before it; it is read as a note of its own.")
	}
	n.Onset = theory.Whole(p.cursor)
	p.chordOnset, p.chordOpen = p.cursor, true
	return p.advance(id, ticks)
}

// noteTicks is the duration of a note that is no grace note. What is written
// beside it is compared with it and stands in for it.
func (p *partReader) noteTicks(id markup.ID, n *theory.Note, parts *noteParts) (int64, error) {
	if parts.duration == markup.None {
		return p.missingDuration(id, n, parts), nil
	}
	ticks, err := p.ticks(parts.duration)
	if err != nil || parts.kind == markup.None {
		return ticks, err
	}
	if !p.agrees(ticks, parts.length) && !p.excused(id, ticks, n, parts) {
		p.odd(id, "duration-and-type", "A %s has a duration of %s; the duration is taken.",
			p.lookOf(n, parts), p.quarters(ticks))
	}
	return ticks, nil
}

// missingDuration falls back on the type of a note, or on the measure.
func (p *partReader) missingDuration(id markup.ID, n *theory.Note, parts *noteParts) int64 {
	num, den := parts.length.inTicks(p.resolution)
	switch {
	case den != 0 && num%den == 0:
		p.odd(id, "duration-missing", "A note has no duration; that of a %s is taken.", p.lookOf(n, parts))
		return num / den
	case n.Flags.Has(theory.Rest) && !p.time.IsSenzaMisura():
		full := p.time.Measure()
		if p.resolution%full.Den() == 0 {
			p.odd(id, "duration-missing", "A rest has no duration; a whole measure is taken.")
			return full.In(p.resolution)
		}
	}
	p.odd(id, "duration-missing", "A note has neither duration nor type; it takes no time.")
	return 0
}

// excused tells the customs by which type and duration differ: a whole rest
// stands for a measure of any length, and each note of a tremolo on two notes is
// written with the length of both (W3C MusicXML 4.0, tremolo).
func (p *partReader) excused(id markup.ID, ticks int64, n *theory.Note, parts *noteParts) bool {
	if n.Flags.Has(theory.Rest) {
		return n.Flags.Has(theory.WholeMeasure) || parts.length.units >= 4*unitsPerQuarter
	}
	return p.agrees(2*ticks, parts.length) && p.inTremolo(id)
}

// lookOf names what is printed: "dotted eighth note", "quarter rest".
func (p *partReader) lookOf(n *theory.Note, parts *noteParts) string {
	look := string(p.tree.Content(parts.kind))
	switch {
	case parts.length.dots == 1:
		look = "dotted " + look
	case parts.length.dots > 1:
		look = fmt.Sprintf("%s with %d dots", look, parts.length.dots)
	}
	if parts.length.actual != parts.length.normal {
		look += fmt.Sprintf(" (%d in the time of %d)", parts.length.actual, parts.length.normal)
	}
	if n.Flags.Has(theory.Rest) {
		return look + " rest"
	}
	return look + " note"
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
