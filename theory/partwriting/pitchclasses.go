package partwriting

import (
	"math/bits"

	"partwright/theory"
)

// pitchClasses is a set of spelled pitch classes: bit n for the place n - 31 on
// the line of fifths.
type pitchClasses uint64

const fifthsOffset = 31

func (s pitchClasses) with(c theory.PitchClass) pitchClasses {
	return s | 1<<uint(c.Fifths()+fifthsOffset)&^(1<<63)
}

func (s pitchClasses) has(c theory.PitchClass) bool { return s.with(c) == s }

func (s pitchClasses) size() int { return bits.OnesCount64(uint64(s)) }

// flattest returns the member furthest to the flat side, which in a dominant
// seventh chord is the seventh. The set must not be empty.
func (s pitchClasses) flattest() theory.PitchClass {
	return theory.PitchClassAtFifths(bits.TrailingZeros64(uint64(s)) - fifthsOffset)
}

// shape is the set moved so that its flattest member is bit 0: equal shapes are
// chords of one quality in one spelling.
func (s pitchClasses) shape() pitchClasses {
	if s == 0 {
		return 0
	}
	return s >> uint(bits.TrailingZeros64(uint64(s)))
}

// Shapes of chords: a major triad is 0, 1 and 4 on the line of fifths.
const (
	majorTriad            pitchClasses = 1 | 1<<1 | 1<<4
	minorTriad            pitchClasses = 1 | 1<<3 | 1<<4
	diminishedTriad       pitchClasses = 1 | 1<<3 | 1<<6
	augmentedTriad        pitchClasses = 1 | 1<<4 | 1<<8
	dominantSeventh       pitchClasses = 1 | 1<<2 | 1<<3 | 1<<6
	majorSeventh          pitchClasses = 1 | 1<<1 | 1<<4 | 1<<5
	minorSeventh          pitchClasses = 1 | 1<<1 | 1<<3 | 1<<4
	halfDiminishedSeventh pitchClasses = 1 | 1<<3 | 1<<4 | 1<<6
	diminishedSeventh     pitchClasses = 1 | 1<<3 | 1<<6 | 1<<9
)

// isPartOfChord reports whether every member belongs to one triad or seventh
// chord.
func (s pitchClasses) isPartOfChord() bool {
	if s == 0 {
		return true
	}
	for _, chord := range [...]pitchClasses{augmentedTriad, dominantSeventh, majorSeventh, minorSeventh, halfDiminishedSeventh, diminishedSeventh} {
		shape := s.shape()
		for chord := chord; chord != 0; chord &= chord - 1 {
			if shape&^(chord>>uint(bits.TrailingZeros64(uint64(chord)))) == 0 {
				return true
			}
		}
	}
	return false
}
