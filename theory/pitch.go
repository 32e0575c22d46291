package theory

import (
	"fmt"
	"strings"
)

// Step is a letter name, C = 0 to B = 6.
type Step int8

// The seven letter names.
const (
	C Step = iota
	D
	E
	F
	G
	A
	B
)

const stepLetters = "CDEFGAB"

// semitones of the natural notes above C.
var naturals = [7]int{0, 2, 4, 5, 7, 9, 11}

// String returns the letter.
func (s Step) String() string {
	if s < C || s > B {
		return "?"
	}
	return stepLetters[s : s+1]
}

// ParseStep reads one of the letters A to G, upper case.
func ParseStep(letter byte) (Step, bool) {
	i := strings.IndexByte(stepLetters, letter)
	return Step(i), i >= 0
}

// PitchClass is a spelled pitch without its octave: a letter and an alteration
// in semitones (+1 sharp, -1 flat).
type PitchClass struct {
	Step  Step
	Alter int8
}

// Chroma returns the place in the chromatic octave, C natural = 0 to 11. It
// forgets the spelling: use it for key profiles, never to compare intervals.
func (c PitchClass) Chroma() int { return mod(naturals[c.Step]+int(c.Alter), 12) }

// Fifths returns the place on the line of fifths: F -1, C 0, G 1 … and 7 more
// for each sharp.
func (c PitchClass) Fifths() int {
	return [7]int{0, 2, 4, -1, 1, 3, 5}[c.Step] + 7*int(c.Alter)
}

// PitchClassAtFifths is the inverse of [PitchClass.Fifths].
func PitchClassAtFifths(n int) PitchClass {
	step := [7]Step{F, C, G, D, A, E, B}[mod(n+1, 7)]
	return PitchClass{Step: step, Alter: int8(floorDiv(n+1, 7))}
}

// Transpose returns the pitch class that lies the interval above.
func (c PitchClass) Transpose(i Interval) PitchClass {
	return Pitch{Step: c.Step, Alter: c.Alter, Octave: 4}.Transpose(i).Class()
}

// String returns "C", "F#", "Bb", "C##".
func (c PitchClass) String() string { return c.Step.String() + accidental(int(c.Alter)) }

// ParsePitchClass reads "C", "F#", "Bb", "C##", "Ebb" ("x" is a double sharp).
func ParsePitchClass(s string) (PitchClass, error) {
	c, rest, ok := cutPitchClass(s)
	if !ok || rest != "" {
		return PitchClass{}, fmt.Errorf("%q is not a note name such as F# or Bb", s)
	}
	return c, nil
}

// Pitch is a spelled pitch in scientific notation: C4 is middle C, and the
// octave changes between B and C whatever the alteration (Cb4 sounds as B3).
type Pitch struct {
	Step   Step
	Alter  int8
	Octave int8
}

// Class returns the pitch without its octave.
func (p Pitch) Class() PitchClass { return PitchClass{p.Step, p.Alter} }

// Semitones returns the height in semitones above C0.
func (p Pitch) Semitones() int { return 12*int(p.Octave) + naturals[p.Step] + int(p.Alter) }

// Diatonic returns the height in letter names above C0.
func (p Pitch) Diatonic() int { return 7*int(p.Octave) + int(p.Step) }

// MIDI returns the key number that playback uses, C4 = 60. It is meant for
// exports; nothing in this package compares pitches by it.
func (p Pitch) MIDI() int { return p.Semitones() + 12 }

// Above reports whether p sounds higher than q.
func (p Pitch) Above(q Pitch) bool { return p.Semitones() > q.Semitones() }

// Transpose returns the pitch that lies the interval above (below if negative).
func (p Pitch) Transpose(i Interval) Pitch {
	d := p.Diatonic() + i.Steps
	q := Pitch{Step: Step(mod(d, 7)), Octave: int8(floorDiv(d, 7))}
	q.Alter = int8(p.Semitones() + i.Semitones - q.Semitones())
	return q
}

// String returns "C4", "F#4", "Bb3", "C##5".
func (p Pitch) String() string { return fmt.Sprintf("%s%d", p.Class(), p.Octave) }

// ParsePitch reads "C4", "F#4", "Bb3", "C##5", "Cx5", "A-1".
func ParsePitch(s string) (Pitch, error) {
	fail := fmt.Errorf("%q is not a pitch such as F#4 or Bb3", s)
	c, rest, ok := cutPitchClass(s)
	if !ok || rest == "" || len(rest) > 2 {
		return Pitch{}, fail
	}
	sign := int8(1)
	if rest[0] == '-' {
		sign, rest = -1, rest[1:]
	}
	if len(rest) != 1 || rest[0] < '0' || rest[0] > '9' {
		return Pitch{}, fail
	}
	return Pitch{c.Step, c.Alter, sign * int8(rest[0]-'0')}, nil
}

// MustPitch is [ParsePitch] for constants; it panics where that would fail.
func MustPitch(s string) Pitch {
	p, err := ParsePitch(s)
	if err != nil {
		panic(err)
	}
	return p
}

// maxAlter is the widest alteration that is read: one more than the triple
// sharps and flats of W3C MusicXML 4.0, accidental-value.
const maxAlter = 4

func cutPitchClass(s string) (c PitchClass, rest string, ok bool) {
	if s == "" {
		return c, s, false
	}
	if c.Step, ok = ParseStep(s[0]); !ok {
		return c, s, false
	}
	for rest = s[1:]; rest != ""; rest = rest[1:] {
		switch {
		case rest[0] == '#' && c.Alter >= 0:
			c.Alter++
		case rest[0] == 'x' && c.Alter >= 0:
			c.Alter += 2
		case rest[0] == 'b' && c.Alter <= 0:
			c.Alter--
		default:
			return c, rest, true
		}
		if c.Alter < -maxAlter || c.Alter > maxAlter {
			return c, rest, false
		}
	}
	return c, rest, true
}

func accidental(alter int) string {
	if alter < 0 {
		return strings.Repeat("b", -alter)
	}
	return strings.Repeat("#", alter)
}

func mod(a, n int) int { return ((a % n) + n) % n }

func floorDiv(a, n int) int { return (a - mod(a, n)) / n }
