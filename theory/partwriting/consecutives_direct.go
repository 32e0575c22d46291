package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Perfect intervals that voices reach in one direction or hide by a note between,
// and the direction of all voices together.
var directs = []*Rule{
	{
		ID: "direct-fifths", Family: Consecutives,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "outer voices, soprano leaping; a caution where the chord only changes position and where an embellishment makes it (common practice); Open Music Theory v1 does not forbid them"},
		Check:  inTwoVoices("direct-fifths", (*Passage).weighDirect),
	},
	{
		ID: "direct-octaves", Family: Consecutives,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "outer voices, soprano leaping; a caution where the chord only changes position and where an embellishment makes it (common practice)"},
		Check:  inTwoVoices("direct-octaves", (*Passage).weighDirect),
	},
	{
		ID: "direct-perfects-other-pairs", Family: Consecutives,
		Source: Source{"Wieland, Part-writing tips (Northern State University)", "extra guidelines", "pairs other than the outer voices, and only where both leap"},
		Check:  inTwoVoices("direct-perfects-other-pairs", nil),
	},
	{
		ID: "masked-fifths", Family: Consecutives,
		Source: Source{"Open Music Theory v1", "species counterpoint, second and third species", "the same way from beat to beat, both voices struck on both; a suspension, an accented passing tone or an appoggiatura is judged by its resolution; not where a chord tone leaps a fourth or more in between"},
		Check:  func(p *Passage) []Finding { return p.maskedPerfects(theory.Interval.IsPerfectFifth) },
	},
	{
		ID: "masked-octaves", Family: Consecutives,
		Source: Source{"Open Music Theory v1", "species counterpoint, second and third species", "as masked fifths"},
		Check:  func(p *Passage) []Finding { return p.maskedPerfects(theory.Interval.IsPerfectOctave) },
	},
	{
		ID: "all-one-direction", Family: Consecutives,
		Source: Source{"Four-part writing, a course guide", "", "free into a cadence, from one phrase to the next, after a beat of silence and where the chord only changes position; a voice that keeps its note in another octave does not move"},
		Check:  (*Passage).allOneDirection,
	},
}

// weighDirect makes direct intervals a caution where an embellishment has a part in
// them.
func (p *Passage) weighDirect(m *pairMove, f *Finding) bool {
	if f.Severity == Off && p.embellished(m) {
		f.Severity = Caution
	}
	return true
}

// embellished reports whether one of the four notes of a move is a nonchord tone.
func (p *Passage) embellished(m *pairMove) bool {
	return p.embellishes(m.From, m.Upper) || p.embellishes(m.From, m.Lower) ||
		p.embellishes(m.To, m.Upper) || p.embellishes(m.To, m.Lower)
}

func (p *Passage) maskedPerfects(perfect func(theory.Interval) bool) []Finding {
	var found []Finding
	n := len(p.Voices)
	for b := 0; b+1 < len(p.beats) && len(found) < maxPerRule && Compared(p.Texture); b++ {
		from, to := int(p.beats[b]), int(p.beats[b+1])
		if to == from+1 || !p.nextBeat(from, to) || p.endsPhrase(from, to) {
			continue // nothing in between, or more than a beat
		}
		for upper := 0; upper < n; upper++ {
			for lower := upper + 1; lower < n; lower++ {
				if p.maskedPair(from, to, upper, lower, perfect) {
					m := p.pairMove(from, to, upper, lower)
					found = append(found, p.atPair(&m))
				}
			}
		}
	}
	return found
}

func (p *Passage) maskedPair(from, to, upper, lower int, perfect func(theory.Interval) bool) bool {
	before, both := p.dyad(from, upper, lower)
	after, still := p.dyad(to, upper, lower)
	if !both || !still || !perfect(before) || !perfect(after) {
		return false
	}
	if !p.struckTogether(from, upper, lower) || !p.struckTogether(to, upper, lower) {
		return false // a note held over is judged by its resolution
	}
	if p.delays(from, upper) || p.delays(from, lower) || p.delays(to, upper) || p.delays(to, lower) {
		return false // so is one that is struck, but stands for the next
	}
	u0, u1, l0, l1 := p.cell(from, upper), p.cell(to, upper), p.cell(from, lower), p.cell(to, lower)
	up, low := int(u1.semitones-u0.semitones), int(l1.semitones-l0.semitones)
	if up*low <= 0 {
		return false
	}
	if u1.note == u0.note+1 && l1.note == l0.note+1 {
		return false // nothing in between in this pair: reported as a parallel
	}
	return !p.leapsBetween(upper, u0.note, u1.note) && !p.leapsBetween(lower, l0.note, l1.note)
}

// delays reports whether a voice strikes a nonchord tone on a beat that stands in
// place of the chord tone after it.
func (p *Passage) delays(m, v int) bool {
	if p.Harmony == nil {
		return false
	}
	switch p.Harmony.Notes[v][p.At(m, v)].Class {
	case harmony.Suspension, harmony.Retardation, harmony.Passing, harmony.Appoggiatura:
		return true
	}
	return false
}

// leapsBetween reports whether a note strictly between two others of a voice is
// reached or left by a fourth or more.
func (p *Passage) leapsBetween(voice int, from, to int32) bool {
	if to == from+1 {
		return false
	}
	notes := p.Voices[voice].Notes
	for i := from; i < to; i++ {
		if theory.Between(notes[i].Pitch, notes[i+1].Pitch).Number() >= 4 {
			return true
		}
	}
	return false
}

func (p *Passage) allOneDirection() []Finding {
	n := len(p.Voices)
	if n < 3 {
		return nil
	}
	var found []Finding
	for m := 1; m < len(p.Moments); m++ {
		if p.phraseEnds[m-1] || p.isCadence(m) {
			continue
		}
		if direction := p.commonDirection(m); direction == 0 || p.revoiced(m-1, m) {
			continue
		}
		f := p.at(m)
		for v := 0; v < n; v++ {
			f.Voices = append(f.Voices, v)
			f.Notes = append(f.Notes, NoteRef{v, p.At(m, v)})
		}
		found = append(found, f)
	}
	return found
}

// commonDirection returns +1 or -1 where every voice rises or falls into a
// moment, else 0. A voice that has rested for a beat has not moved into it, nor
// has one that takes its note in another octave, as the bass of a cadential
// six-four does.
func (p *Passage) commonDirection(m int) int {
	common := 0
	for v := range p.Voices {
		a, b := p.cell(m-1, v), p.cell(m, v)
		if a.note < 0 || b.note < 0 || a.semitones == b.semitones || between(a, b).IsPerfectOctave() || !p.successive(v, a, b, m) {
			return 0
		}
		direction := 1
		if b.semitones < a.semitones {
			direction = -1
		}
		if common != 0 && direction != common {
			return 0
		}
		common = direction
	}
	return common
}
