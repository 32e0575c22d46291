package musicxml

import (
	"fmt"
	"math"
	"strconv"

	"partwright/musicxml/markup"
	"partwright/theory"
)

// Bounds of what is analyzed: the octaves of W3C MusicXML 4.0, and alterations
// up to three sharps or flats.
const (
	highestOctave = 9
	mostAlter     = 3
)

// pitch reads a written pitch and brings it to sounding pitch. What lies outside
// the bounds or between the semitones is kept as far as it can be written down
// and flagged, never rounded to a pitch that would be analyzed.
func (p *partReader) pitch(id markup.ID, n *theory.Note) error {
	written, alter, err := p.writtenPitch(id)
	if err != nil {
		return err
	}
	shift := p.shifts.on(n.Staff)
	n.Written, n.Pitch = written, written.Transpose(shift.interval)
	p.judgePitch(id, n, alter, shift)
	p.heights.note(n, alter, shift)
	return nil
}

// writtenPitch reads step, octave and alter; the alteration comes with its
// decimals beside the pitch, which has none.
func (p *partReader) writtenPitch(id markup.ID) (theory.Pitch, decimal, error) {
	var none theory.Pitch
	alteration := decimal{0, 1}
	step, octave, alter := markup.None, markup.None, markup.None
	for c := p.elements[id].First; c != markup.None; c = p.elements[c].Next {
		switch p.elements[c].Name {
		case markup.NameStep:
			step = c
		case markup.NameAlter:
			alter = c
		case markup.NameOctave:
			octave = c
		}
	}
	if step == markup.None || octave == markup.None {
		return none, alteration, p.refuse(id, "pitch", "A pitch lacks its step or its octave.",
			"Correct the note, or export the score again.")
	}
	letter := p.tree.Content(step)
	s, ok := theory.Step(0), len(letter) == 1
	if ok {
		s, ok = theory.ParseStep(letter[0])
	}
	if !ok {
		return none, alteration, p.refuse(step, "step", fmt.Sprintf("The step %q is not a letter from A to G.", excerpt(letter)),
			"MusicXML writes steps as A to G, B being the note below C; correct the note.")
	}
	o, ok := wholeWithin(p.tree.Content(octave), -99, 99)
	if !ok {
		return none, alteration, p.refuse(octave, "octave",
			fmt.Sprintf("The octave %q is not a number from 0 to 9.", excerpt(p.tree.Content(octave))),
			"Octave 4 begins at middle C; correct the note.")
	}
	if alter != markup.None {
		if alteration, ok = parseAlter(p.tree.Content(alter)); !ok {
			return none, alteration, p.refuse(alter, "alter",
				fmt.Sprintf("The alteration %q is not a number of semitones.", excerpt(p.tree.Content(alter))),
				"A sharp is 1 and a flat -1; correct the note.")
		}
	}
	return theory.Pitch{Step: s, Alter: int8(alteration.digits / alteration.scale), Octave: int8(o)}, alteration, nil
}

// mostAltered bounds what is an alteration at all.
const mostAltered = 99

// parseAlter reads an alteration. One with endless decimals, such as a third of a
// semitone, is cut: it is a microtone all the same.
func parseAlter(text []byte) (decimal, bool) {
	a, fault := parseDecimal(text)
	if fault == numberTooLong {
		f, err := strconv.ParseFloat(string(text), 64)
		if err != nil || math.Abs(f) > mostAltered {
			return a, false
		}
		return decimal{int64(f * perSemitone), perSemitone}, true
	}
	return a, fault == numberFine && max(a.digits, -a.digits) <= mostAltered*a.scale
}

// judgePitch flags a pitch that is not analyzed.
func (p *partReader) judgePitch(id markup.ID, n *theory.Note, alter decimal, shift staffShift) {
	why := ""
	switch {
	case alter.scale != 1:
		why = fmt.Sprintf("is altered by %s semitones", alter)
	case shift.cents != 0:
		why = "is transposed by a part of a semitone"
	case n.Written.Octave < 0 || n.Written.Octave > highestOctave:
		why = fmt.Sprintf("stands in octave %d", n.Written.Octave)
	case alter.digits < -mostAlter || alter.digits > mostAlter:
		why = fmt.Sprintf("is altered by %d semitones", alter.digits)
	default:
		return
	}
	n.Flags |= theory.Microtone
	p.notice(id, "pitch-not-analyzed", "A %s %s and is not analyzed.", n.Written.Step, why)
}

// heightRange is the range of the sounding notes in ten-thousandths of a
// semitone, as MIDI counts.
type heightRange struct {
	high, low int64
	any       bool
}

const perSemitone = 10000

// note takes a pitch into the range, if it counts.
func (h *heightRange) note(n *theory.Note, alter decimal, shift staffShift) {
	if n.Flags.Any(theory.Grace | theory.Cue) {
		return
	}
	natural := theory.Pitch{Step: n.Written.Step, Octave: n.Written.Octave}
	at := int64(natural.MIDI()+shift.interval.Semitones)*perSemitone + alter.digits*(perSemitone/alter.scale) + shift.cents
	if !h.any {
		h.high, h.low, h.any = at, at, true
		return
	}
	h.high, h.low = max(h.high, at), min(h.low, at)
}

// String writes the number as a document would.
func (d decimal) String() string {
	if d.scale <= 1 {
		return fmt.Sprint(d.digits)
	}
	sign, digits := "", d.digits
	if digits < 0 {
		sign, digits = "-", -digits
	}
	width := len(fmt.Sprint(d.scale)) - 1
	return fmt.Sprintf("%s%d.%0*d", sign, digits/d.scale, width, digits%d.scale)
}
