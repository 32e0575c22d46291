package partwriting

import "partwright/theory"

// How the voices move together, apart from consecutive fifths and octaves.
var motions = []*Rule{
	{
		ID: "direct-perfects-other-pairs", Family: Consecutives, Severity: Remark,
		Source: Source{"Wieland, Part-writing tips (Northern State University)", "extra guidelines", "pairs other than the outer voices, and only where both leap"},
		Check:  (*Passage).otherDirects,
	},
	{
		ID: "all-one-direction", Family: Consecutives, Severity: Caution,
		Source: Source{"Four-part writing, a course guide", "", "free into a cadence, from one phrase to the next, after a beat of silence and where the chord only changes position; a voice that keeps its note in another octave does not move"},
		Check:  (*Passage).allOneDirection,
	},
	{
		ID: "parallel-fourths", Family: Consecutives, Severity: Remark,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.3", "above the bass; free between upper voices"},
		Check: func(p *Passage) []Finding {
			return p.parallelOf(func(m *PairMove) bool {
				return m.Lower == len(p.Voices)-1 && isFourth(m.Before) && isFourth(m.After)
			})
		},
	},
	{
		ID: "parallel-seconds-sevenths", Family: Consecutives, Severity: Remark,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.3", "seconds, sevenths and their compounds"},
		Check: func(p *Passage) []Finding {
			return p.parallelOf(func(m *PairMove) bool { return isSecondOrSeventh(m.Before) && isSecondOrSeventh(m.After) })
		},
	},
}

func isFourth(i theory.Interval) bool { return i.Simple() == theory.PerfectFourth }

func isSecondOrSeventh(i theory.Interval) bool {
	steps := i.Simple().Steps
	return steps == 1 || steps == 6
}

func (p *Passage) parallelOf(match func(*PairMove) bool) []Finding {
	var found []Finding
	for i := 0; i < len(p.pairs) && len(found) < maxPerRule; i++ {
		if m := &p.pairs[i]; m.Motion == theory.Parallel && !m.PhraseEnd && match(m) {
			found = append(found, p.atPair(m))
		}
	}
	return found
}

func (p *Passage) otherDirects() []Finding {
	var found []Finding
	for i := 0; i < len(p.pairs) && len(found) < maxPerRule; i++ {
		m := &p.pairs[i]
		if (m.Upper == 0 && m.Lower == len(p.Voices)-1) || !m.SameWay() || m.PhraseEnd {
			continue
		}
		fifth := m.After.IsPerfectFifth() && !m.Before.IsPerfectFifth() && !isDiminishedFifth(m.Before)
		octave := m.After.IsPerfectOctave() && !m.Before.IsPerfectOctave()
		if !fifth && !octave {
			continue
		}
		if m.UpperMove.Number() <= 2 || m.LowerMove.Number() <= 2 || p.revoiced(m.From, m.To) {
			continue
		}
		found = append(found, p.atPair(m))
	}
	return found
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
