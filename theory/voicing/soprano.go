package voicing

import "partwright/theory"

// sopranoMove is the class of the top voice's last move, which decides what its
// next one costs.
type sopranoMove uint8

const (
	sopranoFree sopranoMove = iota // nothing before, or a new phrase
	sopranoHeld
	sopranoStepUp
	sopranoStepDown
	sopranoLeapUp // larger than a fourth
	sopranoLeapDown
	sopranoMoves
)

func sopranoMoveOf(i theory.Interval) sopranoMove {
	up := i.Semitones > 0
	switch {
	case i.Semitones == 0:
		return sopranoHeld
	case i.Number() > 4 && up:
		return sopranoLeapUp
	case i.Number() > 4:
		return sopranoLeapDown
	case up:
		return sopranoStepUp
	}
	return sopranoStepDown
}

// after returns what a move costs that follows another: a line that stands
// still, turns back at once, or does not recover a leap (Hutchinson ch. 9 and
// Open Music Theory v1 on the shape of a line).
func (w *Weights) after(before, now sopranoMove) Cost {
	switch {
	case now == sopranoHeld:
		return w.SopranoStays
	case before == sopranoLeapUp && (now == sopranoStepUp || now == sopranoLeapUp),
		before == sopranoLeapDown && (now == sopranoStepDown || now == sopranoLeapDown):
		return w.LeapLeft
	case before == sopranoStepUp && now == sopranoStepDown, before == sopranoStepDown && now == sopranoStepUp:
		return w.SopranoTurns
	}
	return 0
}
