package partwriting

import "partwright/theory"

// Gap is how grave the interval between two neighbors above the lowest two voices is,
// in a texture of so many voices.
func (l *Law) Gap(between theory.Interval, voices int) Severity {
	most, broken := tooWide(between, &l.limits, voices)
	return l.weighed("spacing", most, broken)
}

// tooWide reports whether neighbors stand too far apart, and the most that it weighs:
// in three voices it is a caution.
func tooWide(between theory.Interval, l *Limits, voices int) (Severity, bool) {
	if voices < 4 {
		return Caution, wider(between, l.UpperSpacing)
	}
	return Off, wider(between, l.UpperSpacing)
}

// Span is how grave the interval from the lowest upper voice to the highest is.
func (l *Law) Span(between theory.Interval) Severity {
	return l.weighed("hand-span", Off, wider(between, l.limits.HandSpan))
}

// Low is how grave the interval between the lowest two voices is over a bass note; at a
// cadence it may be low.
func (l *Law) Low(bass theory.Pitch, between theory.Interval, cadence bool) Severity {
	return l.weighed("low-spacing", Off, !cadence && tooLow(bass.Semitones(), between, &l.limits))
}

// Far is how grave the interval between the lowest two voices is under upper voices
// that span another.
func (l *Law) Far(between, above theory.Interval) Severity {
	return l.weighed("bass-gap", Off, farFromBass(between, above, &l.limits))
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

// Outside is how grave it is that a voice sings a note; a set that names no ranges of
// its own leaves them to whoever knows the voices.
func (l *Law) Outside(voice string, note theory.Pitch) Severity {
	if l.set == nil || l.set.Limits.Ranges == nil {
		return Off
	}
	most := Off
	if l.limits.RangesAdvise {
		most = Remark
	}
	r, known := l.limits.Ranges[voice]
	return l.weighed("range", most, known && !r.Holds(note))
}
