package partwriting

import "partwright/theory"

// owesNothing reports whether a seventh that does not fall is none to speak of, in
// a chord that nobody has named: it is consonant with all that sounds when the
// harmony changes, since the note that made it a seventh has passed on; it was held
// into a chord shorter than a beat, or passes upward through one no longer than a
// beat; it stays in another octave as a member of the next chord; or it leaps down a
// ninth, by step and octave, which is told as a leap.
func (p *Passage) owesNothing(h, next *chord, t tendencyNote) bool {
	if t.move.Steps == -8 {
		return true
	}
	if named(h) {
		return false
	}
	if p.meetsInNext(next, t) || (t.move.IsPerfectOctave() && next.set.has(p.Note(t.ref).Pitch.Class())) {
		return true
	}
	if h.Numeral.IsDominant() {
		return false
	}
	held := p.MomentOf(t.ref) < h.FirstMoment && p.shorterThanBeat(h) && p.strength(h.FirstMoment) == 0
	return held || p.passesUpward(h, t) || p.isConsonant(h.EndMoment-1, t.ref.Voice)
}

// passesUpward reports whether a note is struck in a chord no longer than a beat,
// reached by step from below and left by step upward: a passing tone.
func (p *Passage) passesUpward(h *chord, t tendencyNote) bool {
	if t.ref.Note == 0 || t.move.Steps != 1 || p.MomentOf(t.ref) < h.FirstMoment {
		return false
	}
	beat := p.Score.Measures[h.Measure].Time.Beat()
	before := theory.Between(p.Voices[t.ref.Voice].Notes[t.ref.Note-1].Pitch, p.Note(t.ref).Pitch)
	return before.Steps == 1 && !beat.Less(h.End.Sub(h.Onset))
}

// isConsonant reports whether a voice sounds no second, seventh or tritone with any
// other at a moment.
func (p *Passage) isConsonant(m, voice int) bool {
	for v := range p.Voices {
		i, both := p.Dyad(m, min(v, voice), max(v, voice))
		if v == voice || !both {
			continue
		}
		switch abs(i.Semitones) % 12 {
		case 1, 2, 6, 10, 11:
			return false
		}
	}
	return true
}

// meetsInNext reports whether another voice takes the note over as a dissonance of
// the next harmony and steps down from it there.
func (p *Passage) meetsInNext(next *chord, t tendencyNote) bool {
	class := p.Note(t.ref).Pitch.Class()
	m := next.FirstMoment
	for v := range p.Voices {
		n := p.At(m, v)
		if v == t.ref.Voice || n < 0 || p.Voices[v].Notes[n].Pitch.Class() != class || next.set.has(class) {
			continue
		}
		after := p.tendencyOf(NoteRef{v, n})
		if after.next >= 0 && after.move.Steps == -1 {
			return true
		}
	}
	return false
}
