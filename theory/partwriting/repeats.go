package partwriting

// Perfect intervals over a join that only performance makes: from the end of a
// repeated section back to its beginning, or from before a first ending to the
// second.
var repeats = []*Rule{
	{
		ID: "consecutives-at-repeat", Family: Consecutives, Severity: Caution,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "parallel fifths, octaves and unisons where a repeat or an ending is taken; a remark between phrases"},
		Check:  (*Passage).consecutivesAtRepeats,
	},
}

func (p *Passage) consecutivesAtRepeats() []Finding {
	var found []Finding
	if !Compared(p.Texture) {
		return nil
	}
	for _, j := range p.Joins() {
		if j.To == j.From+1 {
			continue // the page shows it
		}
		for upper := range p.Voices {
			for lower := upper + 1; lower < len(p.Voices) && len(found) < maxPerRule; lower++ {
				if f, parallel := p.parallelOver(j.From, j.To, upper, lower); parallel {
					found = append(found, f)
				}
			}
		}
	}
	return found
}

// parallelOver reports the finding where a pair of voices moves in parallel
// perfect intervals from the last sonority before a jump to the first one after
// it.
func (p *Passage) parallelOver(from, to, upper, lower int) (Finding, bool) {
	for _, v := range []int{upper, lower} {
		if p.cell(from, v).note < 0 || p.cell(to, v).note < 0 || !p.IsStruck(to, v) {
			return Finding{}, false
		}
	}
	if !bothMove(p.cell(from, upper), p.cell(to, upper), p.cell(from, lower), p.cell(to, lower)) {
		return Finding{}, false
	}
	m := p.pairMove(from, to, upper, lower)
	m.PhraseEnd = p.phraseEnds[from] || from == len(p.Moments)-1
	if perfectsOf(&m) == noPerfects || !m.SameWay() || p.onlyChangesRegister(&m) {
		return Finding{}, false
	}
	f := p.atPair(&m)
	// The reader meets it at the sign that sends the players away.
	f.Onset, f.Measure = p.Moments[from].Onset, int(p.Moments[from].Measure)
	return f, true
}
