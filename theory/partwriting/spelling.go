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

// spelling returns the spelled pitch classes that sound at a moment.
func (p *Passage) spelling(m int) pitchClasses { return p.spellings[m] }

// sameHarmony reports whether the harmony stays from one moment to another: by
// the analysis if there is one, else if one of the two sonorities holds nothing
// that the other lacks. Two notes are too few to tell.
func (p *Passage) sameHarmony(a, b int) bool {
	if p.Harmony != nil {
		i, j := p.Harmony.IndexAt(a), p.Harmony.IndexAt(b)
		if i >= 0 && j >= 0 {
			return i == j
		}
	}
	x, y := p.spellings[a], p.spellings[b]
	if x == y {
		return true
	}
	return x.size() > 2 && y.size() > 2 && (x&^y == 0 || y&^x == 0)
}

// revoiced reports whether a harmony only changes its position between two
// moments of one phrase: it stays, or the same root goes on with a member more
// or less, as where V becomes V7. Another quality on the same root is a change, and
// so is a chord that becomes the dominant of another degree.
func (p *Passage) revoiced(a, b int) bool {
	if p.sameHarmony(a, b) {
		return true
	}
	before, after := p.chordAt(a), p.chordAt(b)
	if before == nil || after == nil || before.Root() != after.Root() || p.endsPhrase(a, b) || before.Numeral.IsApplied() != after.Numeral.IsApplied() {
		return false
	}
	return before.set&^after.set == 0 || after.set&^before.set == 0
}

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
