package partwriting

import "partwright/theory"

// Spacing at the bottom, the span of a hand, and unisons.
var sonorities = []*Rule{
	{
		ID: "low-spacing", Family: Placement, Severity: Remark,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "chapter 26", "a second or third between the two lowest voices with the bass below C3; free at a cadence"},
		Check:  (*Passage).lowSpacings,
	},
	{
		ID: "bass-gap", Family: Placement, Severity: Remark,
		Source: Source{"Common practice, no source", "", "the bass more than a twelfth below the next voice while the upper voices lie within an octave"},
		Check:  (*Passage).bassGaps,
	},
	{
		ID: "hand-span", Family: Placement, Severity: Off,
		Source: Source{"Open Music Theory v1", "keyboard-style voice-leading", "the upper voices within an octave; for keyboard style only"},
		Check:  (*Passage).handSpans,
	},
	{
		ID: "unison", Family: Placement, Severity: Remark,
		Source: Source{"Huron, Tone and Voice, Music Perception 19 (2001)", "", "two neighboring voices on one pitch for more than a beat, or more than twice in a phrase; free between the lowest two and at a cadence"},
		Check:  (*Passage).unisonsOfNeighbors,
	},
}

func (p *Passage) lowSpacings() []Finding {
	bass, limit := len(p.Voices)-1, p.Limits.LowSpacingBelow.Semitones()
	if bass < 1 {
		return nil
	}
	muddy := func(m, upper, lower int) bool {
		i, both := p.Dyad(m, upper, lower)
		return both && i.Steps >= 1 && i.Steps <= 2 && int(p.cell(m, lower).semitones) < limit
	}
	return p.runs(bass-1, bass, muddy, func(m int) (Finding, bool) {
		f := p.atDyad(m, bass-1, bass)
		i, _ := p.Dyad(m, bass-1, bass)
		f.Args = append(f.Args, Arg{"interval", i})
		return f, !p.isCadence(m)
	})
}

func (p *Passage) bassGaps() []Finding {
	bass := len(p.Voices) - 1
	if bass < 2 {
		return nil
	}
	gap := func(m, upper, lower int) bool {
		below, both := p.Dyad(m, upper, lower)
		above, all := p.Dyad(m, 0, upper)
		return both && all && wider(below, p.Limits.BassGap) && !wider(above, theory.PerfectOctave)
	}
	return p.runs(bass-1, bass, gap, func(m int) (Finding, bool) {
		f := p.atDyad(m, bass-1, bass)
		i, _ := p.Dyad(m, bass-1, bass)
		f.Args = append(f.Args, Arg{"interval", i})
		return f, true
	})
}

func (p *Passage) handSpans() []Finding {
	lowest := len(p.Voices) - 2
	if lowest < 1 {
		return nil
	}
	span := func(m, upper, lower int) bool {
		i, both := p.Dyad(m, upper, lower)
		return both && wider(i, p.Limits.HandSpan)
	}
	return p.runs(0, lowest, span, func(m int) (Finding, bool) {
		f := p.atDyad(m, 0, lowest)
		i, _ := p.Dyad(m, 0, lowest)
		f.Args = append(f.Args, Arg{"interval", i.Abs()}, Arg{"limit", p.Limits.HandSpan})
		return f, true
	})
}

// runs tells a relation of two voices where it begins, once for as long as one
// of them stays.
func (p *Passage) runs(upper, lower int, relation func(m, upper, lower int) bool, tell func(m int) (Finding, bool)) []Finding {
	var found []Finding
	for m := range p.Moments {
		if relation(m, upper, lower) && !p.goesOn(m, upper, lower, relation) {
			if f, ok := tell(m); ok {
				found = append(found, f)
			}
		}
	}
	return found
}

func (p *Passage) unisonsOfNeighbors() []Finding {
	var found []Finding
	for upper := 0; upper+2 < len(p.Voices); upper++ {
		count, phrase := 0, -1
		for m := range p.Moments {
			if now := p.Phrase(m); now != phrase {
				count, phrase = 0, now
			}
			if !p.inUnison(m, upper) || (m > 0 && p.inUnison(m-1, upper)) {
				continue
			}
			count++
			if end := p.unisonEnd(m, upper); (count == 3 || p.longerThanBeat(m, end)) && !p.isCadence(m) {
				found = append(found, p.atDyad(m, upper, upper+1))
			}
		}
	}
	return found
}

func (p *Passage) inUnison(m, upper int) bool {
	i, both := p.Dyad(m, upper, upper+1)
	return both && i == theory.Unison
}

// unisonEnd returns the first moment after m at which the unison is over.
func (p *Passage) unisonEnd(m, upper int) int {
	for m < len(p.Moments) && p.inUnison(m, upper) {
		m++
	}
	return m
}

func (p *Passage) longerThanBeat(from, to int) bool {
	end := p.Score.End()
	if to < len(p.Moments) {
		end = p.Moments[to].Onset
	}
	beat := p.Score.Measures[p.Moments[from].Measure].Time.Beat()
	return beat.Less(end.Sub(p.Moments[from].Onset))
}
