package musicxml

import (
	"bytes"
	"strings"

	"partwright/musicxml/markup"
)

// leap is a da capo, dal segno, to coda or fine, or the place one leads to.
type leap struct {
	kind leapKind
	name string
	// measure is the last one before the leap, or the first one after it.
	measure int
	at      markup.ID
	// atStart is set where nothing of the measure comes before.
	atStart bool
}

type leapKind int8

const (
	daCapo leapKind = iota
	dalSegno
	toCoda
	fine
	segno
	coda
	// codaSign is one printed without a word or sound: the first of two is a to coda
	// and the second the coda; one alone is the coda.
	codaSign
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

// sound reads the jumps among the attributes of <sound>.
func (p *partReader) sound(id markup.ID) error {
	_, err := p.leapAttributes(id, p.measure)
	return err
}

// leapAttributes reads the jumps among the attributes of a sound or bar line, and
// reports whether there is one. Landings are at a measure; a to coda at the start of
// a measure leaves from the measure before; da capo, dal segno and fine leave from
// the end of their measure, as programs put them anywhere in it.
func (p *partReader) leapAttributes(id markup.ID, landing int32) (found bool, err error) {
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
			measure = p.leavesFrom()
		case markup.NameFine:
			kind = fine
		case markup.NameSegno:
			kind, measure = segno, int(landing)
		case markup.NameCoda:
			kind, measure = coda, int(landing)
		default:
			continue
		}
		value, _ := p.tree.Attr(id, a.Name)
		if kind == daCapo && string(value) != "yes" || kind == fine && string(value) == "no" {
			continue
		}
		found = true
		if err := p.countLabel(id); err != nil {
			return found, err
		}
		p.leaps = append(p.leaps, leap{kind: kind, name: string(value), measure: measure, at: id})
	}
	return found, nil
}

// leavesFrom is the measure that a to coda here leaves from.
func (p *partReader) leavesFrom() int {
	if p.cursor == 0 {
		return int(p.measure) - 1
	}
	return int(p.measure)
}

// barlineLeaps reads segno and coda on a bar line; one on the right stands for the
// next measure.
func (p *partReader) barlineLeaps(id markup.ID) error {
	landing := p.measure
	if !p.attributeIs(id, markup.NameLocation, "left") {
		landing++
	}
	found, err := p.leapAttributes(id, landing)
	if found || err != nil {
		return err
	}
	for c := p.elements[id].First; c != markup.None; c = p.elements[c].Next {
		l := leap{measure: int(landing), at: c}
		switch p.elements[c].Name {
		case markup.NameSegno:
			l.kind = segno
		case markup.NameCoda:
			l.kind = codaSign
		default:
			continue
		}
		if err := p.countLabel(c); err != nil {
			return err
		}
		p.leaps = append(p.leaps, l)
	}
	return nil
}

// leapsOf reads the jumps of a direction: what its sound says, or else its words and
// signs.
func (p *partReader) leapsOf(id markup.ID) error {
	if s := p.tree.Child(id, markup.NameSound); s != markup.None {
		if found, err := p.leapAttributes(s, p.measure); found || err != nil {
			return err
		}
	}
	var text []byte
	hasSegno, hasCoda := false, false
	for d := range named(p.tree, id, markup.NameDirectionType) {
		for c := p.elements[d].First; c != markup.None; c = p.elements[c].Next {
			switch p.elements[c].Name {
			case markup.NameSegno:
				hasSegno = true
			case markup.NameCoda:
				hasCoda = true
			case markup.NameWords:
				if text = append(append(text, p.tree.Content(c)...), ' '); len(text) > longestText {
					return nil
				}
			}
		}
	}
	kind, ok := leapInWords(text)
	switch {
	case ok:
	case hasSegno:
		kind = segno
	case hasCoda:
		kind = codaSign
	default:
		return nil
	}
	l := leap{kind: kind, measure: int(p.measure), at: id, atStart: p.cursor == 0}
	if kind == toCoda {
		l.measure = p.leavesFrom()
	}
	if err := p.countLabel(id); err != nil {
		return err
	}
	p.leaps = append(p.leaps, l)
	return nil
}

// leapWords are the words that musicians write for jumps, in small letters without
// stops, and what begins with them (common practice, no source).
var leapWords = []struct {
	words string
	kind  leapKind
	more  bool // words such as "al fine" may follow
}{
	{"dc", daCapo, true}, {"d c", daCapo, true}, {"da capo", daCapo, true},
	{"ds", dalSegno, true}, {"d s", dalSegno, true}, {"dal segno", dalSegno, true},
	{"to coda", toCoda, false}, {"al coda", toCoda, false}, {"alla coda", toCoda, false},
	{"fine", fine, false}, {"segno", segno, false}, {"coda", coda, false},
}

// leapInWords finds the jump that a direction of words stands for.
func leapInWords(text []byte) (leapKind, bool) {
	plain := strings.Join(strings.Fields(strings.ReplaceAll(string(bytes.ToLower(text)), ".", "")), " ")
	for _, w := range leapWords {
		rest, begins := strings.CutPrefix(plain, w.words)
		if begins && (rest == "" || w.more && (strings.HasPrefix(rest, " al ") || strings.HasPrefix(rest, " alla ") || strings.HasPrefix(rest, " e ") || strings.HasPrefix(rest, " senza "))) {
			return w.kind, true
		}
	}
	return 0, false
}
