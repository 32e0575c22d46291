package partwriting

// costs returns what each finding takes off. What follows from another one costs
// nothing of its own: the first cause bears what the gravest of its chain costs.
func (r *Rubric) costs(findings []Finding) []Points {
	costs := make([]Points, len(findings))
	first := make([]int, len(findings)) // the index of the first cause
	for i := range findings {
		first[i] = i
		if cause := findings[i].Follows; cause > 0 {
			first[i] = first[cause-1] // a cause stands before what follows from it
		}
		costs[first[i]] = max(costs[first[i]], r.cost(&findings[i]))
	}
	return costs
}

// cost returns what one finding takes off where it stands alone.
func (r *Rubric) cost(f *Finding) Points {
	full, named := r.Rules[f.Rule]
	if !named {
		full, named = r.Families[f.Family]
	}
	switch {
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

// Grade applies the rubric to findings in a passage. Nothing goes below 0.
func (r *Rubric) Grade(p *Passage, findings []Finding) Grade {
	g := Grade{Rubric: r.Name, Phrases: p.gradePhrases(r.EachPhrase)}
	g.Available = r.Fixed + r.EachPhrase*Points(len(g.Phrases))
	if p.Harmony != nil {
		g.Available += r.PerChord * Points(len(p.chords))
	}
	lines := map[RuleID]int{}
	families := map[Family]Points{}
	lost := Points(0)
	for i, cost := range r.costs(findings) {
		f := &findings[i]
		if cost == 0 {
			continue
		}
		n, known := lines[f.Rule]
		if !known {
			n = len(g.Lines)
			lines[f.Rule] = n
			g.Lines = append(g.Lines, GradeLine{Rule: f.Rule})
		}
		line, phrase := &g.Lines[n], &g.Phrases[p.phraseOf(f)]
		allowed := min(cost, left(r.PerRule, line.Lost), left(r.PerFamily, families[f.Family]), left(r.PerPhrase, phrase.Lost))
		line.Count++
		line.Lost += allowed
		line.Capped = line.Capped || allowed < cost
		phrase.Lost += allowed
		phrase.Capped = phrase.Capped || allowed < cost
		families[f.Family] += allowed
		lost += allowed
	}
	g.Earned = max(g.Available-lost, 0)
	if r.Praise {
		g.Praise = p.Praise(findings)
	}
	return g
}

// left returns what a limit still allows; a limit of 0 is none.
func left(limit, lost Points) Points {
	if limit == 0 {
		return maxPoints
	}
	return limit - lost
}

// gradePhrases returns the phrases of a passage, each worth so much.
func (p *Passage) gradePhrases(worth Points) []GradePhrase {
	var phrases []GradePhrase
	for m := range p.Moments {
		if p.Phrase(m) == len(phrases) {
			phrases = append(phrases, GradePhrase{Measure: int(p.Moments[m].Measure), Available: worth})
		}
	}
	return phrases
}

// phraseOf returns the phrase in which a finding stands, by its last note.
func (p *Passage) phraseOf(f *Finding) int {
	if len(f.Notes) == 0 {
		return 0
	}
	return p.Phrase(p.momentOf(f.Notes[len(f.Notes)-1]))
}

// String returns "21.5 of 24".
func (g Grade) String() string { return g.Earned.String() + " of " + g.Available.String() }
