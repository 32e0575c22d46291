package partwriting

import "partwright/theory"

// Gap tells what the rules say of the interval between two neighbors above the lowest
// two voices, in a texture of so many voices.
func (l *Law) Gap(between theory.Interval, voices int, tell Telling) {
	if most, broken := tooWide(between, &l.limits, voices); broken {
		l.tell("spacing", most, tell)
	}
}

// tooWide reports whether neighbors stand too far apart, and the most that it weighs:
// in three voices it is a caution.
func tooWide(between theory.Interval, l *Limits, voices int) (Severity, bool) {
	if voices < 4 {
		return Caution, wider(between, l.UpperSpacing)
	}
	return Off, wider(between, l.UpperSpacing)
}

// Span tells what the rules say of the interval from the lowest upper voice to the
// highest.
func (l *Law) Span(between theory.Interval, tell Telling) {
	if wider(between, l.limits.HandSpan) {
		l.tell("hand-span", Off, tell)
	}
}

// Bottom tells what the rules say of the interval between the lowest two voices over a
// bass note, with upper voices that span an interval; at a cadence it may be low.
func (l *Law) Bottom(bass theory.Pitch, between, above theory.Interval, cadence bool, tell Telling) {
	if tooLow(bass.Semitones(), between, &l.limits) && !cadence {
		l.tell("low-spacing", Off, tell)
	}
	if farFromBass(between, above, &l.limits) {
		l.tell("bass-gap", Off, tell)
	}
}

// tooLow reports whether the lowest two voices stand a second or third apart over a
// low bass; its height is in semitones above C0.
func tooLow(bass int, between theory.Interval, l *Limits) bool {
	return between.Steps >= 1 && between.Steps <= 2 && bass < l.LowSpacingBelow.Semitones()
}

// farFromBass reports whether the bass lies far below upper voices in close position.
func farFromBass(between, above theory.Interval, l *Limits) bool {
	return wider(between, l.BassGap) && !wider(above, theory.PerfectOctave)
}

// Outside tells whether a voice sings outside its range; voices whose names the set
// does not know sing what they like.
func (l *Law) Outside(voice string, note theory.Pitch, tell Telling) {
	if r, known := l.limits.Ranges[voice]; known && !r.Holds(note) {
		most := Off
		if l.limits.RangesAdvise {
			most = Remark
		}
		l.tell("range", most, tell)
	}
}
