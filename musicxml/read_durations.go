package musicxml

import (
	"fmt"
	"unicode/utf8"

	"partwright/musicxml/markup"
	"partwright/theory"
)

// setDivisions makes a number of divisions to the quarter note hold; it divides
// the resolution, as findResolution has seen to.
func (p *partReader) setDivisions(d decimal) {
	p.unit = p.resolution * d.scale / d.digits
	p.doc.divisions = append(p.doc.divisions, divisionsFrom{theory.NoteID(len(p.doc.Score.Notes)), d})
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
		p.notice(c, "offset", "The offset %q is not a usable number; it is ignored.", excerpt(p.tree.Content(c)))
		return 0, nil
	}
	return p.exact(d)
}

// excerpt shortens a text that a message quotes.
func excerpt(text []byte) string {
	const most = 24
	text = text[:min(len(text), most*utf8.UTFMax+utf8.UTFMax)]
	if r := []rune(string(text)); len(r) > most {
		return string(r[:most]) + "…"
	}
	return string(text)
}
