package musicxml

import (
	"partwright/musicxml/markup"
	"partwright/theory"
)

// attributes reads divisions, transposition, key, metre and clef. The
// transposition comes last in the element and is read first, because it says
// what the key sounds like.
func (p *partReader) attributes(id markup.ID) error {
	for c := p.elements[id].First; c != markup.None; c = p.elements[c].Next {
		switch p.elements[c].Name {
		case markup.NameTranspose:
			p.transpose(c)
		case markup.NameDivisions:
			if err := p.readDivisions(c); err != nil {
				return err
			}
		}
	}
	for c := p.elements[id].First; c != markup.None; c = p.elements[c].Next {
		var err error
		switch p.elements[c].Name {
		case markup.NameKey:
			err = p.key(c)
		case markup.NameTime:
			err = p.metre(c)
		case markup.NameClef:
			p.clefs.add(p.tree, c, p.staffNumber(c))
		case markup.NameStaves:
			if n, ok := wholeWithin(p.tree.Content(c), 1, maxStaves); ok {
				p.highestStaff = max(p.highestStaff, n)
			}
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// staffNumber is the staff that a child of attributes belongs to, 0 for all.
func (p *partReader) staffNumber(id markup.ID) int {
	value, ok := p.tree.Attr(id, markup.NameNumber)
	if !ok {
		return 0
	}
	n, ok := wholeWithin(value, 1, maxStaves)
	if !ok {
		p.notice(id, "staff", "The staff %q is not a number from 1 to %d; all staves are taken.", excerpt(value), maxStaves)
		return 0
	}
	return int(n)
}

// staffShift leads from written to sounding pitch: an interval and, where a part
// transposes by less, ten-thousandths of a semitone.
type staffShift struct {
	interval theory.Interval
	cents    int64
}

// staffShifts holds the transposition of a part, index 0, and those of single
// staves that have one of their own.
type staffShifts struct {
	all   staffShift
	staff map[int16]staffShift
}

func (s *staffShifts) on(staff int16) staffShift {
	if len(s.staff) > 0 {
		if one, ok := s.staff[staff]; ok {
			return one
		}
	}
	return s.all
}

func (s *staffShifts) set(staff int, shift staffShift) {
	if staff == 0 {
		s.all, s.staff = shift, nil
		return
	}
	if s.staff == nil {
		s.staff = map[int16]staffShift{}
	}
	s.staff[int16(staff)] = shift
}

// Bounds of a transposition: more is absurd.
const mostTransposed = 99

// transpose reads diatonic, chromatic, octave-change and double (W3C MusicXML
// 4.0, transpose: the two intervals leave out the octaves of octave-change).
func (p *partReader) transpose(id markup.ID) {
	var chromatic decimal
	diatonic, octaves, named := int64(0), int64(0), false
	for c := p.elements[id].First; c != markup.None; c = p.elements[c].Next {
		ok := true
		switch p.elements[c].Name {
		case markup.NameDiatonic:
			diatonic, ok = wholeWithin(p.tree.Content(c), -mostTransposed, mostTransposed)
			named = ok
		case markup.NameChromatic:
			var fault numberFault
			chromatic, fault = parseDecimal(p.tree.Content(c))
			ok = fault == numberFine && max(chromatic.digits, -chromatic.digits) <= mostTransposed*chromatic.scale
		case markup.NameOctaveChange:
			octaves, ok = wholeWithin(p.tree.Content(c), -highestOctave, highestOctave)
		case markup.NameDouble:
			p.notice(c, "octave-doubling", "Part %s is doubled at the octave; the doubling is not analyzed.", p.part.ID)
		}
		if !ok {
			p.notice(c, "transposition", "The transposition %q is not a usable number; the part is read as written.",
				excerpt(p.tree.Content(c)))
			return
		}
	}
	if chromatic.scale == 0 {
		chromatic.scale = 1
	}
	shift := staffShift{interval: theory.Interval{Steps: int(diatonic), Semitones: int(chromatic.digits / chromatic.scale)}}
	shift.cents = chromatic.digits % chromatic.scale * (perSemitone / chromatic.scale)
	if spelled, ok := spell(shift.interval, named); !ok {
		if named {
			p.notice(id, "transposition", "The transposition names %d steps and %d semitones, which are no interval; the semitones are taken.",
				shift.interval.Steps, shift.interval.Semitones)
		}
		shift.interval = spelled
	}
	shift.interval.Steps += 7 * int(octaves)
	shift.interval.Semitones += 12 * int(octaves)
	staff := p.staffNumber(id)
	if p.cursor == 0 && p.measure == int32(p.sources[p.index].bars[0].index) && staff <= 1 {
		p.part.Transposition = shift.interval
	}
	p.shifts.set(staff, shift)
}

// spell checks that letter names and semitones make an interval no further than
// doubly augmented or diminished, and otherwise chooses the usual letter names
// for the semitones. ok is false where it chose.
func spell(i theory.Interval, named bool) (theory.Interval, bool) {
	if named && i.Quality() != theory.OtherQuality {
		return i, true
	}
	size := max(i.Semitones, -i.Semitones)
	steps := size/12*7 + [12]int{0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6}[size%12]
	if i.Semitones < 0 {
		steps = -steps
	}
	return theory.Interval{Steps: steps, Semitones: i.Semitones}, false
}

// clefs remembers which kinds of clef a part has had, and which staves are in
// tablature now.
type clefs struct {
	seen      uint8
	tablature uint64
}

const (
	pitchedClef uint8 = 1 << iota
	percussionClef
	tablatureClef
)

func (c *clefs) add(tree *markup.Tree, id markup.ID, staff int) {
	sign := tree.Child(id, markup.NameSign)
	if sign == markup.None {
		return
	}
	bit := uint64(1) << max(staff-1, 0)
	c.tablature &^= bit
	switch string(tree.Content(sign)) {
	case "percussion":
		c.seen |= percussionClef
	case "TAB":
		c.seen |= tablatureClef
		c.tablature |= bit
	default:
		c.seen |= pitchedClef
	}
}

func (c *clefs) isTablature(staff int16) bool {
	return c.tablature != 0 && c.tablature&(1<<(staff-1)) != 0
}

// kind is what the clefs alone say.
func (c *clefs) kind() theory.PartKind {
	switch c.seen {
	case percussionClef:
		return theory.PercussionPart
	case tablatureClef:
		return theory.TablaturePart
	}
	return theory.PitchedPart
}
