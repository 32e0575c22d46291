package theory

import (
	"fmt"
	"strconv"
	"strings"
)

// Interval is the distance from one spelled pitch to another: letter names and
// semitones, both signed, both keeping compound size. A diminished fifth is
// {4, 6}, an augmented fourth {3, 6}; a fifth down is {-4, -7}.
type Interval struct {
	Steps     int
	Semitones int
}

// Quality is how large an interval is for its number of letter names.
// Diminished and augmented go on: -2 is doubly diminished, 4 doubly augmented
// in the perfect family, see [Interval.Quality].
type Quality int8

// The qualities. Perfect intervals are diminished, perfect or augmented; the
// others diminished, minor, major or augmented.
const (
	DoublyDiminished Quality = iota
	Diminished
	Minor
	Perfect
	Major
	Augmented
	DoublyAugmented
	// OtherQuality is anything altered further.
	OtherQuality
)

// String returns the usual letter: d, m, P, M, A (dd, AA doubled).
func (q Quality) String() string {
	if q < DoublyDiminished || q > DoublyAugmented {
		return "?"
	}
	return [...]string{"dd", "d", "m", "P", "M", "A", "AA"}[q]
}

// Simple intervals that rules speak of.
var (
	Unison         = Interval{0, 0}
	MinorSecond    = Interval{1, 1}
	MajorSecond    = Interval{1, 2}
	MinorThird     = Interval{2, 3}
	MajorThird     = Interval{2, 4}
	PerfectFourth  = Interval{3, 5}
	PerfectFifth   = Interval{4, 7}
	PerfectOctave  = Interval{7, 12}
	semitonesAbove = [7]int{0, 2, 4, 5, 7, 9, 11} // major or perfect, by letter distance
)

// Between returns the interval from one pitch up to another, negative if the
// second is written lower.
func Between(from, to Pitch) Interval {
	return Interval{to.Diatonic() - from.Diatonic(), to.Semitones() - from.Semitones()}
}

// Descends reports whether the interval goes down by letter name, or, within one
// letter name, by semitones.
func (i Interval) Descends() bool { return i.Steps < 0 || (i.Steps == 0 && i.Semitones < 0) }

// Invert changes the direction: up a fifth becomes down a fifth.
func (i Interval) Invert() Interval { return Interval{-i.Steps, -i.Semitones} }

// Abs returns the interval upwards.
func (i Interval) Abs() Interval {
	if i.Descends() {
		return i.Invert()
	}
	return i
}

// Simple returns the interval upwards with whole octaves taken off: a twelfth
// becomes a fifth, and an octave or a fifteenth a unison {0, 0}. Steps are 0 to
// 6. An octave that is too small becomes {0, -1}, which no unison is, so ask the
// whole interval for its quality.
func (i Interval) Simple() Interval {
	a := i.Abs()
	octaves := floorDiv(a.Steps, 7)
	return Interval{a.Steps - 7*octaves, a.Semitones - 12*octaves}
}

// Number returns the counted number without direction: 1 for a unison, 5 for a
// fifth, 12 for a twelfth.
func (i Interval) Number() int { return i.Abs().Steps + 1 }

// Quality returns the quality, the same for compound and simple size.
func (i Interval) Quality() Quality {
	s := i.Simple()
	excess := s.Semitones - semitonesAbove[s.Steps]
	switch s.Steps {
	case 0, 3, 4:
		if excess >= -2 && excess <= 2 {
			return [...]Quality{DoublyDiminished, Diminished, Perfect, Augmented, DoublyAugmented}[excess+2]
		}
	default:
		if excess >= -3 && excess <= 2 {
			return [...]Quality{DoublyDiminished, Diminished, Minor, Major, Augmented, DoublyAugmented}[excess+3]
		}
	}
	return OtherQuality
}

// IsPerfectFifth reports whether the interval is a perfect fifth or its compound.
func (i Interval) IsPerfectFifth() bool { return i.Simple() == PerfectFifth }

// IsPerfectOctave reports whether the interval is a unison, octave or fifteenth.
func (i Interval) IsPerfectOctave() bool { return i.Simple() == Unison }

// IsStep reports whether the interval is a second by letter name.
func (i Interval) IsStep() bool { return i.Steps == 1 || i.Steps == -1 }

// String returns "P5", "m3", "A4", "d12", with "-" in front when it descends.
func (i Interval) String() string {
	sign := ""
	if i.Descends() {
		sign = "-"
	}
	return sign + i.Quality().String() + strconv.Itoa(i.Number())
}

// ParseInterval reads the form that [Interval.String] writes, such as "P5",
// "-m3" or "A11".
func ParseInterval(s string) (Interval, error) {
	fail := fmt.Errorf("%q is not an interval such as P5 or -m3", s)
	body := strings.TrimPrefix(s, "-")
	letters := strings.TrimRight(body, "0123456789")
	number, err := strconv.Atoi(body[len(letters):])
	if err != nil || number < 1 || number > 64 || body[len(letters)] == '0' {
		return Interval{}, fail
	}
	steps := number - 1
	base := semitonesAbove[steps%7] + 12*(steps/7)
	for _, excess := range []int{-3, -2, -1, 0, 1, 2} {
		i := Interval{steps, base + excess}
		if q := i.Quality(); q != OtherQuality && q.String() == letters && !i.Descends() {
			if body != s {
				i = i.Invert()
			}
			return i, nil
		}
	}
	return Interval{}, fail
}
