package voicing

import (
	"errors"
	"fmt"
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
)

// MaxVoices is the most voices that can be led at once.
const MaxVoices = 6

// Problem is a progression to be voiced.
type Problem struct {
	Slots []Slot
	Style Style
	// Contour is the shape of the top line, Position how wide the upper voices stand.
	Contour  Contour
	Position Position
	// Syntax, if set, weighs one reading after another where slots have several
	// choices.
	Syntax Syntax
	// sung is set where whole lines are judged, so that notes which last are no charge by
	// themselves.
	sung bool
}

// Position is how wide the upper voices stand: in close position they lie within an
// octave, in open position they do not.
type Position int8

// Positions.
const (
	AnyPosition Position = iota
	ClosePosition
	OpenPosition
)

var positionNames = [...]string{"any", "close", "open"}

// String returns "any", "close" or "open".
func (p Position) String() string { return positionNames[p] }

// PositionNames lists the words of all positions.
func PositionNames() []string { return slices.Clone(positionNames[:]) }

// ParsePosition reads the word of a position; "" is "any".
func ParsePosition(word string) (Position, bool) {
	if word == "" {
		return AnyPosition, true
	}
	i := slices.Index(positionNames[:], word)
	return Position(max(i, 0)), i >= 0
}

// charge makes the arrangements dearer that stand in another position than was asked
// for. None is taken away, since a change may have no other that breaks no rule.
func (p Position) charge(s *set, w *Weights) {
	if p == AnyPosition {
		return
	}
	for i := range s.arrangements {
		if s.arrangements[i].open != (p == OpenPosition) {
			s.arrangements[i].cost += w.OtherPosition
		}
	}
}

// Slot is one place in the progression.
type Slot struct {
	// Choices are the readings that may stand here: one for a given numeral,
	// several inversions for a free bass, several chords for a melody to be
	// harmonized. At least one.
	Choices []Choice
	// Fixed gives pitches that are settled, by voice from the top; nil entries
	// are free. It may be shorter than the number of voices.
	Fixed []*theory.Pitch
	// Top are the notes that the top voice may take; none means any.
	Top []theory.PitchClass
	// PhraseEnd closes a phrase: what follows is a new start, and lines may leap.
	PhraseEnd bool
	// Brief is set where the chord is shorter than a beat: nobody misses a member then.
	Brief bool
	// Long is set where it lasts longer than a beat: two voices on one note are then one.
	Long bool
	// Late are members that come late, each in one upper voice.
	Late []Late
	// leads are the notes of the chord before that have a goal in this one.
	leads []lead
	// Moving is what given outer lines do while it lasts.
	Moving Moving
	// beside are the chords next to it, as far as they are settled.
	beside beside
	// weary are notes that voices are not to take, for the sake of whole lines in a harmonized tune.
	weary []weary
	// after, if set, weighs readings after those of the slot before, in place of the syntax.
	after Syntax
}

// Choice is one reading for a slot with a cost of its own.
type Choice struct {
	Reading harmony.Reading
	Cost    Cost
}

// Cost is a cost in hundredths, so that sums are exact and ties are ties.
type Cost int32

// Given returns a slot that holds one reading.
func Given(r harmony.Reading) Slot { return Slot{Choices: []Choice{{Reading: r}}} }

// Solution is a voiced progression.
type Solution struct {
	// Chords follow the problem's slots.
	Chords []Chord
	// Cost is the sum of all costs.
	Cost Cost
	// broken is how many rules it breaks.
	broken int
}

// Chord is one voiced chord.
type Chord struct {
	Reading harmony.Reading
	// Pitches are from the top voice down.
	Pitches []theory.Pitch
	// PhraseEnd closes a phrase.
	PhraseEnd bool
}

// ErrEmpty is returned for a progression without chords.
var ErrEmpty = errors.New("there are no chords to voice")

// ImpossibleError says where no arrangement obeys the hard rules.
type ImpossibleError struct {
	// Slot is the index of the chord that cannot be reached from the one before
	// it, or, if Alone, that has no arrangement at all.
	Slot  int
	Alone bool
}

// Error names the place.
func (e *ImpossibleError) Error() string {
	if e.Alone {
		return fmt.Sprintf("chord %d has no arrangement within the ranges, the spacing and the given notes; widen them or free a note", e.Slot+1)
	}
	return fmt.Sprintf("no arrangement of chord %d can be reached from chord %d without a fault; change one of the two, or allow a fault", e.Slot+1, e.Slot)
}

func (p *Problem) validate() error {
	if len(p.Slots) == 0 {
		return ErrEmpty
	}
	if n := len(p.Style.Voices); n < 2 || n > MaxVoices {
		return fmt.Errorf("a style needs 2 to %d voices, this one has %d", MaxVoices, n)
	}
	for i := range p.Slots {
		if len(p.Slots[i].Choices) == 0 {
			return fmt.Errorf("chord %d has no reading to choose from", i+1)
		}
		if len(p.Slots[i].Fixed) > len(p.Style.Voices) {
			return fmt.Errorf("chord %d fixes more notes than there are voices", i+1)
		}
	}
	return nil
}

// progress is what the syntax makes of one reading after another, the second in
// slot k. Phrases begin anew, and two chords that are given are not judged.
func (p *Problem) progress(k int, from, to harmony.Reading) Cost {
	a, b := &p.Slots[k-1], &p.Slots[k]
	if b.after != nil && !a.PhraseEnd {
		return b.after(from, to)
	}
	if p.Syntax == nil || a.PhraseEnd || len(a.Choices) == 1 && len(b.Choices) == 1 {
		return 0
	}
	if cost := p.Syntax(from, to); cost >= 0 {
		return cost
	}
	return backward
}
