package musicxml

import (
	"partwright/musicxml/markup"
	"partwright/theory"
)

// barSigns are what bar lines and sound directions say about a measure, in
// whichever part they stand.
type barSigns uint8

const (
	repeatForward  barSigns = 1 << iota // at the start
	repeatBackward                      // at the end
	endingStart
	endingEnd
	phraseBar // a double or final bar line or a repeat closes the measure
)

func (s barSigns) has(t barSigns) bool { return s&t != 0 }

// barFermatas are the sides of a measure that have a fermata on the bar line.
type barFermatas uint8

const (
	leftFermata barFermatas = 1 << iota
	rightFermata
)

// barline reads repeats, endings, the style and a fermata of a bar line. One on
// the left closes the measure before.
func (p *partReader) barline(id markup.ID) (fermatas barFermatas) {
	m := &p.frame[p.measure].signs
	left := p.attributeIs(id, markup.NameLocation, "left")
	middle := p.attributeIs(id, markup.NameLocation, "middle")
	closes := false
	for c := p.elements[id].First; c != markup.None; c = p.elements[c].Next {
		switch p.elements[c].Name {
		case markup.NameRepeat:
			if middle {
				p.notice(c, "repeat-inside-measure", "A repeat inside a measure is not followed.")
				break
			}
			closes = true
			if p.attributeIs(c, markup.NameDirection, "forward") {
				*m |= repeatForward
			} else {
				*m |= repeatBackward
			}
		case markup.NameEnding:
			if p.attributeIs(c, markup.NameType, "start") {
				*m |= endingStart
			} else {
				*m |= endingEnd
			}
		case markup.NameFermata:
			switch {
			case left:
				fermatas |= leftFermata
			case !middle:
				fermatas |= rightFermata
			}
		case markup.NameBarStyle:
			switch string(p.tree.Content(c)) {
			case "light-light", "light-heavy", "heavy-light", "heavy-heavy", "heavy":
				closes = true
			}
		}
	}
	switch {
	case !closes || middle:
	case left && p.measure > 0:
		p.frame[p.measure-1].signs |= phraseBar
	case !left:
		*m |= phraseBar
	}
	return fermatas
}

// holdEnd gives the fermata on a bar line to the notes that end there.
func (p *partReader) holdEnd(m readMeasure) {
	for i := m.firstNote; i < m.endNote; i++ {
		n := &p.doc.Score.Notes[i]
		if n.Onset.Num()+n.Duration.Num() == m.length && !n.Flags.Any(theory.Grace|theory.Cue) {
			n.Flags |= theory.Fermata
		}
	}
}

// leap is a da capo, dal segno or to coda, or the place one leads to.
type leap struct {
	kind leapKind
	name string
	// measure is the last one before the leap, or the first one after it.
	measure int
	at      markup.ID
}

type leapKind int8

const (
	daCapo leapKind = iota
	dalSegno
	toCoda
	segno
	coda
)

// isLanding tells the signs that leaps lead to.
func (k leapKind) isLanding() bool { return k == segno || k == coda }

// leadsTo is the kind of sign that a leap by name leads to.
func (k leapKind) leadsTo() (sign leapKind, ok bool) {
	switch k {
	case dalSegno:
		return segno, true
	case toCoda:
		return coda, true
	}
	return k, false
}

// sound reads the jumps among the attributes of <sound>. A to coda at the start
// of a measure leaves from the measure before; da capo and dal segno leave from
// the end of their measure, as programs put them anywhere in it.
func (p *partReader) sound(id markup.ID) error {
	for _, a := range p.tree.AttributesOf(id) {
		measure := int(p.measure)
		var kind leapKind
		switch a.Name {
		case markup.NameDacapo:
			kind = daCapo
		case markup.NameDalsegno:
			kind = dalSegno
		case markup.NameTocoda:
			kind = toCoda
			if p.cursor == 0 {
				measure--
			}
		case markup.NameSegno:
			kind = segno
		case markup.NameCoda:
			kind = coda
		default:
			continue
		}
		value, _ := p.tree.Attr(id, a.Name)
		if kind == daCapo && string(value) != "yes" {
			continue
		}
		if err := p.countLabel(id); err != nil {
			return err
		}
		p.leaps = append(p.leaps, leap{kind, string(value), measure, id})
	}
	return nil
}
