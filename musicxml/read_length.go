package musicxml

import (
	"fmt"

	"partwright/musicxml/markup"
	"partwright/theory"
)

// unitsPerQuarter is how many of the shortest type, the 1024th, make a quarter.
const unitsPerQuarter = 256

// typeLength is the length of a note type in 1024ths, 0 for none of the
// standard's (W3C MusicXML 4.0, note-type-value).
func typeLength(name []byte) int64 {
	switch string(name) {
	case "quarter":
		return 256
	case "eighth":
		return 128
	case "half":
		return 512
	case "16th":
		return 64
	case "whole":
		return 1024
	case "32nd":
		return 32
	case "64th":
		return 16
	case "128th":
		return 8
	case "256th":
		return 4
	case "512th":
		return 2
	case "1024th":
		return 1
	case "breve":
		return 2048
	case "long":
		return 4096
	case "maxima":
		return 8192
	}
	return 0
}

// writtenLength is what type, dots and time-modification of a note say.
type writtenLength struct {
	units          int64 // of the type, in 1024ths
	dots           int
	actual, normal int64 // of the time-modification, 1 and 1 without
}

// inTicks returns the length as a fraction of ticks, num/den; den is 0 where the
// note does not say.
func (w writtenLength) inTicks(resolution int64) (num, den int64) {
	if w.units == 0 || w.dots > 4 {
		return 0, 0
	}
	num = resolution * w.units * (2<<w.dots - 1) * w.normal
	return num, unitsPerQuarter << w.dots * w.actual
}

// maxTuplet bounds the numbers of a tuplet that are compared.
const maxTuplet = 256

func (p *partReader) timeModification(id markup.ID, w *writtenLength) {
	for c := p.elements[id].First; c != markup.None; c = p.elements[c].Next {
		switch p.elements[c].Name {
		case markup.NameActualNotes, markup.NameNormalNotes:
			n, ok := wholeWithin(p.tree.Content(c), 1, maxTuplet)
			if !ok {
				w.units = 0
				return
			}
			if p.elements[c].Name == markup.NameActualNotes {
				w.actual = n
			} else {
				w.normal = n
			}
		}
	}
}

// agrees reports whether a duration is what the note looks like. Less than one
// division apart is the rounding of a tuplet.
func (p *partReader) agrees(ticks int64, w writtenLength) bool {
	num, den := w.inTicks(p.resolution)
	if den == 0 || ticks > 64*p.resolution {
		return true
	}
	apart := ticks*den - num
	return max(apart, -apart) < p.unit*den
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
		p.notice(id, "duration-and-type", "A %s has a duration of %s; the duration is taken.",
			p.lookOf(n, parts), p.quarters(ticks))
	}
	return ticks, nil
}

// missingDuration falls back on the type of a note, or on the measure.
func (p *partReader) missingDuration(id markup.ID, n *theory.Note, parts *noteParts) int64 {
	num, den := parts.length.inTicks(p.resolution)
	switch {
	case den != 0 && num%den == 0:
		p.notice(id, "duration-missing", "A note has no duration; that of a %s is taken.", p.lookOf(n, parts))
		return num / den
	case n.Flags.Has(theory.Rest) && !p.time.IsSenzaMisura():
		full := p.time.Measure()
		if p.resolution%full.Den() == 0 {
			p.notice(id, "duration-missing", "A rest has no duration; a whole measure is taken.")
			return full.In(p.resolution)
		}
	}
	p.notice(id, "duration-missing", "A note has neither duration nor type; it takes no time.")
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
