package musicxml

import (
	"bytes"

	"partwright/musicxml/markup"
	"partwright/theory"
)

// Bounds of a metre that is taken at its word.
const (
	mostBeats    = 512
	mostBeatType = 1024
)

// addend is one number of beats over a beat type, as in 2/4+3/8 or (2+3)/8.
type addend struct{ beats, beatType int64 }

// metre reads a <time>. A metre that makes no sense is said so and read as none.
func (p *partReader) metre(id markup.ID) error {
	time, ok := p.timeSignature(id)
	if !ok {
		p.notice(id, "time-signature", "The time signature %s is no metre; the music is read without one.", p.timeText(id))
		time = theory.TimeSignature{}
	}
	staff := p.staffNumber(id)
	if p.repeatsMetre(staff, time) {
		return nil
	}
	if p.index == 0 {
		p.firstTimed = true
	}
	if staff <= 1 {
		p.time = time
		frame := &p.frame[p.measure]
		switch {
		case p.cursor > 0:
			frame.metreMoves = true
		case p.index == 0:
			frame.time = time
		}
	}
	p.times = append(p.times, timeChange{theory.TimeChange{
		Onset: theory.Whole(p.cursor), Part: int(p.index), Staff: staff, Time: time,
	}, p.measure})
	return p.countLabel(id)
}

// repeatsMetre and repeatsKey report whether a sign only says again what holds,
// as some programs do at every line or voice.
func (p *partReader) repeatsMetre(staff int, time theory.TimeSignature) bool {
	for i := len(p.times) - 1; i >= 0 && p.times[i].Part == int(p.index); i-- {
		if last := &p.times[i]; last.Staff == staff || last.Staff == 0 || staff == 0 {
			return last.Staff == staff && last.Time == time
		}
	}
	return false
}

func (p *partReader) repeatsKey(staff int, s theory.KeySignature) bool {
	for i := len(p.keys) - 1; i >= 0 && p.keys[i].Part == int(p.index); i-- {
		if last := &p.keys[i]; last.Staff == staff || last.Staff == 0 || staff == 0 {
			return last.Staff == staff && last.Signature == s
		}
	}
	return false
}

// timeSignature reads the beats and beat types of a <time>, which may be several.
func (p *partReader) timeSignature(id markup.ID) (theory.TimeSignature, bool) {
	var addends []addend
	waiting := 0 // index of the first addend without a beat type
	for c := p.elements[id].First; c != markup.None; c = p.elements[c].Next {
		switch p.elements[c].Name {
		case markup.NameSenzaMisura:
			return theory.TimeSignature{}, true
		case markup.NameBeats:
			for _, word := range bytes.Split(p.tree.Content(c), []byte("+")) {
				n, ok := wholeWithin(word, 1, mostBeats)
				if !ok {
					return theory.TimeSignature{}, false
				}
				addends = append(addends, addend{beats: n})
			}
		case markup.NameBeatType:
			n, ok := wholeWithin(p.tree.Content(c), 1, mostBeatType)
			if !ok || n&(n-1) != 0 { // no note value: a whole note halves and halves again
				return theory.TimeSignature{}, false
			}
			for ; waiting < len(addends); waiting++ {
				addends[waiting].beatType = n
			}
		}
	}
	if len(addends) == 0 || waiting < len(addends) {
		return theory.TimeSignature{}, false
	}
	return join(addends)
}

// join brings addends to their smallest common unit.
func join(addends []addend) (theory.TimeSignature, bool) {
	unit, ok := int64(1), true
	for _, a := range addends {
		if unit, ok = lcm(unit, a.beatType, mostBeatType); !ok {
			return theory.TimeSignature{}, false
		}
	}
	t := theory.TimeSignature{BeatType: int32(unit)}
	for i, a := range addends {
		beats := a.beats * (unit / a.beatType)
		t.Beats += int32(beats)
		if len(addends) > 1 && i < len(t.Groups) && beats < 256 {
			t.Groups[i] = uint8(beats)
		}
	}
	if len(addends) > len(t.Groups) {
		t.Groups = [8]uint8{}
	}
	return t, t.Beats <= mostBeats*8
}

// timeText quotes a time signature as the document has it.
func (p *partReader) timeText(id markup.ID) string {
	return excerpt([]byte(p.childText(id, markup.NameBeats) + "/" + p.childText(id, markup.NameBeatType)))
}

// mostFifths bounds a key signature: theoretical keys go to double sharps.
const mostFifths = 14

// key reads a <key> and brings it to sounding pitch, as the notes are.
func (p *partReader) key(id markup.ID) error {
	var s theory.KeySignature
	fifths := p.tree.Child(id, markup.NameFifths)
	staff := p.staffNumber(id)
	if fifths == markup.None {
		s.Other = true
	} else if n, ok := wholeWithin(p.tree.Content(fifths), -mostFifths, mostFifths); ok {
		shift := p.shifts.on(int16(max(staff, 1))).interval
		s.Fifths = int8(soundingFifths(int(n), shift))
	} else {
		p.notice(fifths, "key-signature", "The key signature %q is not a number of sharps or flats; it is ignored.",
			excerpt(p.tree.Content(fifths)))
		return nil
	}
	if mode := p.tree.Child(id, markup.NameMode); mode != markup.None {
		switch string(p.tree.Content(mode)) {
		case "major":
			s.Mode = theory.StatedMajor
		case "minor":
			s.Mode = theory.StatedMinor
		case "", "none":
		default:
			s.Mode = theory.StatedOther
		}
	}
	if p.repeatsKey(staff, s) {
		return nil
	}
	if staff <= 1 {
		p.signature = s
		if p.index == 0 && p.cursor == 0 {
			p.frame[p.measure].key = s
		}
	}
	p.keys = append(p.keys, keyChange{theory.KeyChange{
		Onset: theory.Whole(p.cursor), Part: int(p.index), Staff: staff, Signature: s,
	}, p.measure})
	return p.countLabel(id)
}

// soundingFifths moves a signature by the transposition: a clarinet in B flat
// with two sharps sounds in a key without any. Where that leaves the row of real
// signatures, the enharmonic one is meant.
func soundingFifths(written int, shift theory.Interval) int {
	up := theory.Pitch{Step: theory.C, Octave: 4}.Transpose(shift).Class().Fifths()
	sounding := written + up
	for sounding > 7 && written <= 7 {
		sounding -= 12
	}
	for sounding < -7 && written >= -7 {
		sounding += 12
	}
	return sounding
}
