package musicxml

import (
	"fmt"

	"partwright/musicxml/markup"
)

// setDivisions makes a number of divisions to the quarter note hold; it divides
// the resolution, as measureResolution has seen to.
func (p *partReader) setDivisions(d decimal) {
	p.divisions, p.unit = d, p.resolution*d.scale/d.digits
}

func (p *partReader) readDivisions(id markup.ID) error {
	d, fault := parseDecimal(p.tree.Content(id))
	if fault != numberFine || d.digits <= 0 {
		return p.refuse(id, "divisions",
			fmt.Sprintf("The divisions %q are not a positive number.", excerpt(p.tree.Content(id))),
			"Divisions say how many units a quarter note has; export the score again or correct the value.")
	}
	p.setDivisions(d)
	return nil
}

// ticks reads a <duration> or <offset>-like number of divisions, which must not
// be negative.
func (p *partReader) ticks(id markup.ID) (int64, error) {
	e := &p.elements[id]
	if n, ok := shortFigures(p.tree.Text[e.OpenEnd:e.CloseStart]); ok && n <= p.longest/p.unit {
		return n * p.unit, nil
	}
	content := p.tree.Content(id)
	d, fault := parseDecimal(content)
	switch {
	case fault == numberMalformed:
		return 0, p.refuse(id, "duration",
			fmt.Sprintf("The duration %q is not a number of divisions.", excerpt(content)),
			"Correct it, or export the score again.")
	case fault == numberTooLong || d.digits/d.scale > p.longest/p.unit:
		return 0, p.refuse(id, "duration-too-long",
			fmt.Sprintf("The duration %q is longer or finer than any score needs.", excerpt(content)),
			"Correct it, or export the score again.")
	case d.digits < 0:
		return 0, p.refuse(id, "duration-negative",
			fmt.Sprintf("The duration %q is less than nothing.", excerpt(content)),
			"Correct it, or export the score again.")
	}
	return p.exact(d)
}

// exact turns divisions into ticks, or asks for finer ticks.
func (p *partReader) exact(d decimal) (int64, error) {
	rest := d.digits % d.scale * p.unit
	if rest%d.scale != 0 {
		return 0, &finerError{d.scale}
	}
	return d.digits/d.scale*p.unit + rest/d.scale, nil
}

// offset reads the <offset> of a label, which may be negative; what is no
// number counts as none.
func (p *partReader) offset(id markup.ID) (int64, error) {
	c := p.tree.Child(id, markup.NameOffset)
	if c == markup.None {
		return 0, nil
	}
	d, fault := parseDecimal(p.tree.Content(c))
	if fault != numberFine || d.digits/d.scale > p.longest/p.unit || -d.digits/d.scale > p.longest/p.unit {
		p.odd(c, "offset", "The offset %q is not a usable number; it is passed over.", excerpt(p.tree.Content(c)))
		return 0, nil
	}
	return p.exact(d)
}

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

// excerpt shortens a text that a message quotes.
func excerpt(text []byte) string {
	const most = 24
	if r := []rune(string(text)); len(r) > most {
		return string(r[:most]) + "…"
	}
	return string(text)
}
