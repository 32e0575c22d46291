package partwriting

// How far apart the notes of a sonority lie.
var spacings = []*Rule{
	{
		ID: "spacing", Family: Placement,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", "how a chord is voiced: neighboring upper voices at most an octave apart; a caution where only a nonchord tone makes the gap, for a beat at most, and in three voices (common practice); the lowest pair is free"},
		Check:  (*Passage).wideGaps,
	},
	{
		ID: "low-spacing", Family: Placement,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "chapter 26", "a second or third between the two lowest voices with the bass below C3; free at a cadence"},
		Check:  (*Passage).lowSpacings,
	},
	{
		ID: "bass-gap", Family: Placement,
		Source: Source{"Common practice, no source", "", "the bass more than a twelfth below the next voice while the upper voices lie within an octave"},
		Check:  (*Passage).bassGaps,
	},
	{
		ID: "hand-span", Family: Placement,
		Source: Source{"Open Music Theory v1", "keyboard-style voice-leading", "the upper voices within an octave; for keyboard style only"},
		Check:  (*Passage).handSpans,
	},
}

func (p *Passage) wideGaps() []Finding {
	limit := p.Limits.UpperSpacing
	wide := func(m, upper, lower int) bool {
		i, both := p.dyad(m, upper, lower)
		if !both {
			return false
		}
		_, broken := tooWide(i, &p.Limits, len(p.Voices))
		return broken
	}
	var found []Finding
	for m := range p.Moments {
		for upper := 0; upper+2 < len(p.Voices); upper++ {
			if wide(m, upper, upper+1) && !p.goesOn(m, upper, upper+1, wide) {
				f := p.atDyad(m, upper, upper+1)
				i, _ := p.dyad(m, upper, upper+1)
				f.Args = append(f.Args, Arg{"interval", i.Abs()}, Arg{"limit", limit})
				if f.Severity, _ = tooWide(i, &p.Limits, len(p.Voices)); p.fleeting(m, upper, upper+1, wide) {
					f.Severity = Caution
				}
				found = append(found, f)
			}
		}
	}
	return found
}

func (p *Passage) lowSpacings() []Finding {
	bass := len(p.Voices) - 1
	if bass < 1 {
		return nil
	}
	muddy := func(m, upper, lower int) bool {
		i, both := p.dyad(m, upper, lower)
		return both && tooLow(int(p.cell(m, lower).semitones), i, &p.Limits)
	}
	return p.runs(bass-1, bass, muddy, func(m int) (Finding, bool) {
		f := p.atDyad(m, bass-1, bass)
		i, _ := p.dyad(m, bass-1, bass)
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
		below, both := p.dyad(m, upper, lower)
		above, all := p.dyad(m, 0, upper)
		return both && all && farFromBass(below, above, &p.Limits)
	}
	return p.runs(bass-1, bass, gap, func(m int) (Finding, bool) {
		f := p.atDyad(m, bass-1, bass)
		i, _ := p.dyad(m, bass-1, bass)
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
		i, both := p.dyad(m, upper, lower)
		return both && wider(i, p.Limits.HandSpan)
	}
	return p.runs(0, lowest, span, func(m int) (Finding, bool) {
		f := p.atDyad(m, 0, lowest)
		i, _ := p.dyad(m, 0, lowest)
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
