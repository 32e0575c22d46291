package theory

// Motion is how two voices move from one moment to another.
type Motion int8

// Motions. A voice moves where its pitch changes; a note struck again does not.
const (
	// NoMotion: neither voice moves.
	NoMotion Motion = iota
	// Oblique: one stays, one moves.
	Oblique
	// Contrary: opposite directions.
	Contrary
	// Similar: the same direction, by different generic sizes.
	Similar
	// Parallel: the same direction by the same generic size.
	Parallel
)

// String returns the usual word.
func (m Motion) String() string {
	return [...]string{"no motion", "oblique", "contrary", "similar", "parallel"}[m]
}

// MotionOf classifies two melodic intervals taken at the same time.
func MotionOf(a, b Interval) Motion {
	switch {
	case a == Unison && b == Unison:
		return NoMotion
	case a == Unison || b == Unison:
		return Oblique
	case direction(a) != direction(b):
		return Contrary
	case a.Steps == b.Steps:
		return Parallel
	}
	return Similar
}

// direction goes by the sounding pitch first: an enharmonic change of letter
// (G sharp to A flat) goes nowhere by ear and is read by its letter.
func direction(i Interval) int {
	switch {
	case i.Semitones > 0:
		return 1
	case i.Semitones < 0:
		return -1
	case i.Steps > 0:
		return 1
	}
	return -1
}
