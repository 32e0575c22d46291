package partwriting

var ranges = []*Rule{
	{
		ID: "range", Family: Placement, Severity: Fault,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", "the conservative ranges of its example unless the rule set names others; one finding for a voice in a phrase"},
		Check:  (*Passage).outOfRange,
	},
}

// outOfRange tells each voice once in a phrase, at the note that lies furthest
// outside; the others are named with it.
func (p *Passage) outOfRange() []Finding {
	var found []Finding
	for v := range p.Voices {
		limits, known := p.Limits.Ranges[p.Voices[v].Name]
		if !known {
			continue
		}
		var outside []NoteRef
		flush := func() {
			if len(outside) > 0 {
				found = append(found, p.rangeFinding(limits, outside))
				outside = nil
			}
		}
		phrase := -1
		for i := range p.Voices[v].Notes {
			ref := NoteRef{v, i}
			if now := p.Phrase(p.MomentOf(ref)); now != phrase {
				flush()
				phrase = now
			}
			if !limits.Holds(p.Note(ref).Pitch) {
				outside = append(outside, ref)
			}
		}
		flush()
	}
	return found
}

func (p *Passage) rangeFinding(limits Range, outside []NoteRef) Finding {
	worst := outside[0]
	for _, ref := range outside[1:] {
		if limits.excess(p.Note(ref).Pitch) > limits.excess(p.Note(worst).Pitch) {
			worst = ref
		}
	}
	f := p.at(p.MomentOf(worst), worst.Voice)
	f.Notes = []NoteRef{worst}
	for _, ref := range outside {
		if ref != worst {
			f.Related = append(f.Related, ref)
		}
	}
	if p.Limits.RangesAdvise {
		f.Severity, f.Licence = Remark, GrowingVoices
	}
	f.Args = []Arg{
		{"pitch", p.Note(worst).Pitch}, {"low", limits.Low}, {"high", limits.High},
	}
	return f
}
