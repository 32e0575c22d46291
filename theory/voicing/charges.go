package voicing

import "partwright/theory"

// terms names every weight. Costs are linear in the weights, so that what one
// term contributes is the cost with all others at 0.
var terms = []struct {
	name string
	of   func(*Weights) *Cost
}{
	{"semitone", func(w *Weights) *Cost { return &w.Semitone }},
	{"bass-semitone", func(w *Weights) *Cost { return &w.BassSemitone }},
	{"common-tone-lost", func(w *Weights) *Cost { return &w.CommonToneLost }},
	{"leap", func(w *Weights) *Cost { return &w.Leap }},
	{"awkward-leap", func(w *Weights) *Cost { return &w.AwkwardLeap }},
	{"similar-to-bass", func(w *Weights) *Cost { return &w.SimilarToBass }},
	{"all-same", func(w *Weights) *Cost { return &w.AllSame }},
	{"overlap", func(w *Weights) *Cost { return &w.Overlap }},
	{"direct-inner", func(w *Weights) *Cost { return &w.DirectInner }},
	{"unequal-fifths", func(w *Weights) *Cost { return &w.UnequalFifths }},
	{"doubling", func(w *Weights) *Cost { return &w.Doubling }},
	{"omitted-fifth", func(w *Weights) *Cost { return &w.OmittedFifth }},
	{"unison-pair", func(w *Weights) *Cost { return &w.UnisonPair }},
	{"low-third", func(w *Weights) *Cost { return &w.LowThird }},
	{"uneasy", func(w *Weights) *Cost { return &w.Uneasy }},
	{"position-change", func(w *Weights) *Cost { return &w.PositionChange }},
	{"inner-leading-tone", func(w *Weights) *Cost { return &w.InnerLeadingTone }},
	{"rising-seventh", func(w *Weights) *Cost { return &w.RisingSeventh }},
	{"soprano-stays", func(w *Weights) *Cost { return &w.SopranoStays }},
	{"soprano-turns", func(w *Weights) *Cost { return &w.SopranoTurns }},
	{"leap-left", func(w *Weights) *Cost { return &w.LeapLeft }},
	{"arch", func(w *Weights) *Cost { return &w.Arch }},
	{"spread", func(w *Weights) *Cost { return &w.Spread }},
}

// termNames lists every term that a charge can name, in order.
func termNames() []string {
	names := make([]string, 0, len(terms)+2)
	for _, t := range terms {
		names = append(names, t.name)
	}
	return append(names, "choice", "syntax")
}

// charges lists what chord k of a solution costs, with the step that leads to
// it, term by term.
func charges(p *Problem, s *Solution, k int) []Charge {
	var out []Charge
	for _, t := range terms {
		style := p.Style
		style.Weights = Weights{}
		*t.of(&style.Weights) = *t.of(&p.Style.Weights)
		if cost := stepCost(p, s, k, &style); cost != 0 {
			out = append(out, Charge{t.name, cost})
		}
	}
	if c := choiceCost(&p.Slots[k], &s.Chords[k]); c != 0 {
		out = append(out, Charge{"choice", c})
	}
	if k > 0 && p.Syntax != nil && !p.Slots[k-1].PhraseEnd {
		if c := p.Syntax(s.Chords[k-1].Reading, s.Chords[k].Reading); c != 0 {
			out = append(out, Charge{"syntax", c})
		}
	}
	return out
}

func choiceCost(slot *Slot, c *Chord) Cost {
	for _, choice := range slot.Choices {
		if choice.Reading == c.Reading {
			return choice.Cost
		}
	}
	return 0
}

// stepCost is the cost of one chord and the step to it under a style.
func stepCost(p *Problem, s *Solution, k int, style *Style) Cost {
	b := exactly(&p.Slots[k], &s.Chords[k], style)
	if len(b.arrangements) == 0 {
		return 0
	}
	b.shape(p.archAt(k), &style.Weights)
	cost := b.arrangements[0].cost
	if k == 0 {
		return cost
	}
	a := exactly(&p.Slots[k-1], &s.Chords[k-1], style)
	if len(a.arrangements) == 0 {
		return cost
	}
	if k > 1 {
		a.follow(&p.Slots[k-2])
	}
	m := newMotions(a, b, style, 0)
	cost += m.between(&a.arrangements[0], &b.arrangements[0])
	if a.phraseEnd {
		return cost
	}
	before := sopranoFree
	if k > 1 && !p.Slots[k-2].PhraseEnd {
		before = sopranoMoveOf(theory.Between(s.Chords[k-2].Pitches[0], s.Chords[k-1].Pitches[0]))
	}
	return cost + style.Weights.after(before, m.soprano[0])
}

// exactly is the set that holds one arrangement only.
func exactly(slot *Slot, c *Chord, style *Style) *set {
	fixed := Slot{PhraseEnd: slot.PhraseEnd}
	for v := range c.Pitches {
		fixed.Fixed = append(fixed.Fixed, &c.Pitches[v])
	}
	return arrange(Choice{Reading: c.Reading}, &fixed, style)
}
