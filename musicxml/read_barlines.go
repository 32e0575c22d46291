package musicxml

import (
	"strconv"
	"strings"

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
				times, _ := p.tree.Attr(c, markup.NameTimes)
				p.frame[p.measure].times = playedTimes(times)
			}
		case markup.NameEnding:
			if p.attributeIs(c, markup.NameType, "start") {
				*m |= endingStart
				numbers, _ := p.tree.Attr(c, markup.NameNumber)
				p.frame[p.measure].endings = endingNumbers(numbers)
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

// mostTimes bounds how often a repeat is followed; more makes no other join.
const mostTimes = 16

// playedTimes reads how often a repeat is played, 0 for what is no such number.
func playedTimes(value []byte) int {
	n, err := strconv.Atoi(strings.TrimSpace(string(value)))
	if err != nil || n < 1 {
		return 0
	}
	return min(n, mostTimes)
}

// endingNumbers reads the numbers of an ending, such as "1, 2" (W3C MusicXML 4.0,
// ending-number). Numbers out of bounds are left out.
func endingNumbers(value []byte) []int {
	var numbers []int
	for f := range strings.FieldsFuncSeq(string(value[:min(len(value), 64)]), func(r rune) bool { return r == ',' || r == ' ' }) {
		if n, err := strconv.Atoi(f); err == nil && 1 <= n && n <= mostTimes {
			numbers = append(numbers, n)
		}
	}
	return numbers
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
