package partwriting

// Where in its range a voice lies.
var ranges = []*Rule{
	{
		ID: "range", Family: Placement,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", "the conservative ranges of its example unless the rule set names others; one finding for a voice in a phrase"},
		Check:  (*Passage).outOfRange,
	},
	{
		ID: "tessitura", Family: Placement,
		Source: Source{"Own count over the 370 chorales in the edition by C. S. Sapp (2009)", "", "more than half of a phrase outside the middle nine tenths of what each voice sings there"},
		Check:  (*Passage).strainedTessituras,
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
			if now := p.Phrase(p.momentOf(ref)); now != phrase {
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
	f := p.at(p.momentOf(worst), worst.Voice)
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

// middle holds, for each voice, the pitches between which nine tenths of its
// sounding time lie in the chorales.
var middle = fourRanges("E4-E5", "B3-Bb4", "F#3-F4", "G2-Bb3")

func (p *Passage) strainedTessituras() []Finding {
	var found []Finding
	for v := range p.Voices {
		band, known := middle[p.Voices[v].Name]
		if !known {
			continue
		}
		notes := p.spans[v]
		for n := 0; n < len(notes); {
			phrase := p.Phrase(int(notes[n].moment))
			var inside, outside int64
			first := n
			for ; n < len(notes) && p.Phrase(int(notes[n].moment)) == phrase; n++ {
				length := notes[n].end - notes[n].onset
				if band.Holds(p.Voices[v].Notes[n].Pitch) {
					inside += length
				} else {
					outside += length
				}
			}
			if outside <= inside || n-first < 4 {
				continue
			}
			f := p.at(int(notes[first].moment), v)
			for i := first; i < n; i++ {
				if !band.Holds(p.Voices[v].Notes[i].Pitch) {
					f.Notes = append(f.Notes, NoteRef{v, i})
				}
			}
			f.Args = []Arg{{"low", band.Low}, {"high", band.High}}
			found = append(found, f)
		}
	}
	return found
}
