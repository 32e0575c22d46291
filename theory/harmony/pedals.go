package harmony

import (
	"strconv"

	"partwright/theory"
)

// A pedal point is foreign to a chord of the other voices. The search has no such chord: it
// takes the note in, as the seventh of one that nobody hears. So the other voices are asked
// by themselves.

// leastForeign is how long the other voices must form a chord without the note, in quarter
// notes: what passes more quickly is a figure over a bass that stays. Our own choice.
var leastForeign = theory.Whole(1)

// heardPedal finds a pedal point by what the other voices sound while a note stays: first a
// chord that it belongs to, then one that it does not, and one that it does again.
func (a *Analysis) heardPedal(v int, c theory.PitchClass, from, until theory.Fraction) (Device, bool) {
	t := a.texture
	if !leastForeign.Less(until.Sub(from)) {
		return Device{}, false
	}
	first, last := -1, -1
	var away, longest theory.Fraction
	for m := momentAt(t, 0, from); m < len(t.Moments) && t.Moments[m].Onset.Less(until); m++ {
		t.Score.Work.Step(len(t.Voices))
		i := a.IndexAt(m)
		if i < 0 {
			continue
		}
		switch member, foreign := a.standsTo(m, v, c); {
		case member && first < 0:
			first = i
		case member:
			if longest.Less(away) {
				longest = away
			}
			if !longest.Less(leastForeign) {
				last = i
			}
			away = theory.Fraction{}
		case foreign && first >= 0:
			end := until
			if m+1 < len(t.Moments) {
				end = t.Moments[m+1].Onset
			}
			away = away.Add(end.Sub(t.Moments[m].Onset))
		}
	}
	if last < 0 {
		return Device{}, false
	}
	degree, _ := a.Harmonies[first].Key.Degree(c)
	return Device{PedalPoint, first, last, strconv.Itoa(degree), v}, true
}

// standsTo reports whether a note is a member of what sounds at a moment, a triad or a
// dominant seventh, or foreign to what the other voices sound, a chord that it would make
// no other chord of. Both are false where that is open.
func (a *Analysis) standsTo(moment, voice int, c theory.PitchClass) (member, foreign bool) {
	t := a.texture
	own := bitOf(c)
	if own < 0 {
		return false, false
	}
	others := uint64(0)
	for v := range t.Voices {
		if n := t.At(moment, v); n >= 0 && v != voice {
			if bit := bitOf(t.Voices[v].Notes[n].Pitch.Class()); bit >= 0 {
				others |= 1 << uint(bit)
			}
		}
	}
	all := others | 1<<uint(own)
	others &^= 1 << uint(own)
	if maskCount(all) >= 3 && formChord(all, DominantSeventh) {
		return true, false
	}
	return false, maskCount(others) >= 3 && formChord(others, DiminishedSeventh) && !formChord(all, AugmentedMajorSeventh)
}

// maskRoot is the bit of the root in chordMasks.
const maskRoot = 20

// chordMasks are the members of each quality that music is read as, by bits.
var chordMasks = func() (out [numQualities]uint64) {
	for q := range out {
		for _, fifths := range qualities[q].fifths {
			out[q] |= 1 << uint(maskRoot+fifths)
		}
	}
	return out
}()

// formChord reports whether pitch classes, the root among them, belong to one chord of the
// qualities up to and with the last.
func formChord(classes uint64, last Quality) bool {
	for rest := classes; rest != 0; rest &= rest - 1 {
		up := trailing(rest) - maskRoot
		for _, members := range chordMasks[:last+1] {
			if up < 0 {
				members >>= uint(-up)
			} else {
				members <<= uint(up)
			}
			if classes&^members == 0 {
				return true
			}
		}
	}
	return false
}
