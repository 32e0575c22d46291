package partwriting

// cost returns what one finding takes off.
func (r *Rubric) cost(f *Finding) Points {
	full, named := r.Rules[f.Rule]
	if !named {
		full, named = r.Families[f.Family]
	}
	switch {
	case f.Cause != "":
		return 0 // counted with the finding it follows from
	case f.Severity == Remark:
		return r.Remarks
	case f.Severity == Caution && named:
		return min(full, max(full/2, 1))
	case f.Severity == Caution:
		return r.Cautions
	case named:
		return full
	}
	return r.Faults
}

// Mark applies the rubric to findings in a passage. Nothing goes below 0.
func (r *Rubric) Mark(p *Passage, findings []Finding) Mark {
	m := Mark{Rubric: r.Name, Phrases: p.phraseMarks(r.EachPhrase)}
	m.Available = r.Fixed + r.EachPhrase*Points(len(m.Phrases))
	if p.Harmony != nil {
		m.Available += r.PerChord * Points(len(p.chords))
	}
	lines := map[RuleID]int{}
	families := map[Family]Points{}
	lost := Points(0)
	for i := range findings {
		f := &findings[i]
		cost := r.cost(f)
		if cost == 0 {
			continue
		}
		n, known := lines[f.Rule]
		if !known {
			n = len(m.Lines)
			lines[f.Rule] = n
			m.Lines = append(m.Lines, MarkLine{Rule: f.Rule})
		}
		line, phrase := &m.Lines[n], &m.Phrases[p.phraseOf(f)]
		allowed := min(cost, left(r.PerRule, line.Lost), left(r.PerFamily, families[f.Family]), left(r.PerPhrase, phrase.Lost))
		line.Count++
		line.Lost += allowed
		line.Capped = line.Capped || allowed < cost
		phrase.Lost += allowed
		phrase.Capped = phrase.Capped || allowed < cost
		families[f.Family] += allowed
		lost += allowed
	}
	m.Earned = max(m.Available-lost, 0)
	if r.Praise {
		m.Praise = p.Praise(findings)
	}
	return m
}

// left returns what a limit still allows; a limit of 0 is none.
func left(limit, lost Points) Points {
	if limit == 0 {
		return maxPoints
	}
	return limit - lost
}

// phraseMarks returns the phrases of a passage, each worth so much.
func (p *Passage) phraseMarks(worth Points) []PhraseMark {
	var phrases []PhraseMark
	for m := range p.Moments {
		if p.Phrase(m) == len(phrases) {
			phrases = append(phrases, PhraseMark{Measure: int(p.Moments[m].Measure), Available: worth})
		}
	}
	return phrases
}

// phraseOf returns the phrase in which a finding stands, by its last note.
func (p *Passage) phraseOf(f *Finding) int {
	if len(f.Notes) == 0 {
		return 0
	}
	return p.Phrase(p.MomentOf(f.Notes[len(f.Notes)-1]))
}

// String returns "21.5 of 24".
func (m Mark) String() string { return m.Earned.String() + " of " + m.Available.String() }
