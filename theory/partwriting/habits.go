package partwriting

// What a line does over a whole phrase.
var habits = []*Rule{
	{
		ID: "restless-upper-voices", Family: Line, Severity: Remark,
		Source: Source{"Open Music Theory v1", "keyboard-style voice-leading", "two upper voices leap more than a third at once while the harmony changes"},
		Check:  (*Passage).restlessVoices,
	},
	{
		ID: "tessitura", Family: Placement, Severity: Remark,
		Source: Source{"Own count over the 370 chorales in the edition by C. S. Sapp (2009)", "", "more than half of a phrase outside the middle nine tenths of what each voice sings there"},
		Check:  (*Passage).strainedTessituras,
	},
	{
		ID: "cadential-six-four-weak", Family: Progression, Severity: Caution,
		Source: Source{"Kelley, Grading notations for part-writing assignments", "metric place", "on a weaker beat than the dominant it delays"},
		Check:  (*Passage).weakCadentials,
	},
}

func (p *Passage) restlessVoices() []Finding {
	var found []Finding
	bass := len(p.Voices) - 1
	for m := 1; m < len(p.Moments); m++ {
		if p.phraseEnds[m-1] || p.revoiced(m-1, m) {
			continue
		}
		var leaping []NoteRef
		for v := 0; v < bass; v++ {
			a, b := p.cell(m-1, v), p.cell(m, v)
			if a.note >= 0 && b.note >= 0 && abs(int(b.steps-a.steps)) > 2 {
				leaping = append(leaping, NoteRef{v, int(b.note)})
			}
		}
		if len(leaping) > 1 {
			found = append(found, p.atNotes(m, leaping))
		}
	}
	return found
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

func (p *Passage) weakCadentials() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		next := p.succeeding(i)
		if !h.Numeral.Cadential || next == nil || p.strength(h.FirstMoment) >= p.strength(next.FirstMoment) {
			return
		}
		if p.betweenDominants(i) {
			return // inside a double cadence the dominant is there already
		}
		found = append(found, p.atChord(h.FirstMoment, h))
	})
	return found
}
