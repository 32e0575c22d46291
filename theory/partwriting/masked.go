package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Perfect intervals on successive beats that short notes in between only mask.
var masked = []*Rule{
	{
		ID: "masked-fifths", Family: Consecutives, Severity: Caution,
		Source: Source{"Open Music Theory v1", "species counterpoint, second and third species", "the same way from beat to beat, both voices struck on both; a suspension, an accented passing tone or an appoggiatura is judged by its resolution; not where a chord tone leaps a fourth or more in between"},
		Check:  func(p *Passage) []Finding { return p.maskedPerfects(theory.Interval.IsPerfectFifth) },
	},
	{
		ID: "masked-octaves", Family: Consecutives, Severity: Caution,
		Source: Source{"Open Music Theory v1", "species counterpoint, second and third species", "as masked fifths"},
		Check:  func(p *Passage) []Finding { return p.maskedPerfects(theory.Interval.IsPerfectOctave) },
	},
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
	before, both := p.Dyad(from, upper, lower)
	after, still := p.Dyad(to, upper, lower)
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
		return false // nothing in between in this pair: told as a parallel
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

func (p *Passage) struckTogether(m, a, b int) bool { return p.IsStruck(m, a) && p.IsStruck(m, b) }

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

// nextBeat reports whether two moments on beats are one beat apart.
func (p *Passage) nextBeat(from, to int) bool {
	beat := p.Score.Measures[p.Moments[from].Measure].Time.Beat()
	return p.Moments[from].Onset.Add(beat) == p.Moments[to].Onset
}

// findBeats lists the moments that fall on a beat of the metre.
func (p *Passage) findBeats() {
	for m := range p.Moments {
		measure := &p.Score.Measures[p.Moments[m].Measure]
		if p.Moments[m].Offset.Add(measure.Into).Div(measure.Time.Beat()).Den() == 1 {
			p.beats = append(p.beats, int32(m))
		}
	}
}
