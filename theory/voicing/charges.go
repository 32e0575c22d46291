package voicing

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// term is one thing that a voicing is charged for.
type term struct {
	// name is in kebab case; says is what each charge is for, in a clause.
	name, says string
	of         func(*Weights) *Cost
}

// terms names every weight. Costs are linear in the weights, so that what one
// term contributes is the cost with all others at 0. What a choice of chord or its
// place in the syntax costs comes on top where there is one.
var terms = []term{
	{"semitone", "each semitone an upper voice moves (the law of the shortest way)", func(w *Weights) *Cost { return &w.Semitone }},
	{"bass-semitone", "each semitone the bass moves", func(w *Weights) *Cost { return &w.BassSemitone }},
	{"common-tone-lost", "an upper voice leaves a note that the next chord has", func(w *Weights) *Cost { return &w.CommonToneLost }},
	{"leap", "each semitone beyond a major third in an upper voice", func(w *Weights) *Cost { return &w.Leap }},
	{"awkward-leap", "a diminished interval in any voice", func(w *Weights) *Cost { return &w.AwkwardLeap }},
	{"similar-to-bass", "an upper voice moves in the direction of the bass", func(w *Weights) *Cost { return &w.SimilarToBass }},
	{"all-same", "all voices move in one direction", func(w *Weights) *Cost { return &w.AllSame }},
	{"overlap", "a voice moves past its neighbor's last note", func(w *Weights) *Cost { return &w.Overlap }},
	{"direct-inner", "a perfect interval is reached by similar motion with an inner voice", func(w *Weights) *Cost { return &w.DirectInner }},
	{"unequal-fifths", "a diminished fifth goes to a perfect one above the bass line", func(w *Weights) *Cost { return &w.UnequalFifths }},
	{"doubling", "a note is doubled that is not the usual one", func(w *Weights) *Cost { return &w.Doubling }},
	{"omitted-fifth", "the chord lacks its fifth", func(w *Weights) *Cost { return &w.OmittedFifth }},
	{"unison-pair", "two neighbors sing one note", func(w *Weights) *Cost { return &w.UnisonPair }},
	{"low-third", "the lowest two voices stand a third or second apart below C3", func(w *Weights) *Cost { return &w.LowThird }},
	{"uneasy", "each semitone outside a voice's comfortable middle", func(w *Weights) *Cost { return &w.Uneasy }},
	{"position-change", "the chord opens or closes", func(w *Weights) *Cost { return &w.PositionChange }},
	{"other-position", "the upper voices stand in another position than was asked for", func(w *Weights) *Cost { return &w.OtherPosition }},
	{"inner-leading-tone", "a leading tone in an inner voice does not rise", func(w *Weights) *Cost { return &w.InnerLeadingTone }},
	{"rising-seventh", "a seventh rises in tenths with the bass", func(w *Weights) *Cost { return &w.RisingSeventh }},
	{"caution", "a rule of the set advises caution", func(w *Weights) *Cost { return &w.Caution }},
	{"soprano-stays", "the top voice repeats its note", func(w *Weights) *Cost { return &w.SopranoStays }},
	{"soprano-turns", "the top voice turns back after a step", func(w *Weights) *Cost { return &w.SopranoTurns }},
	{"leap-left", "the top voice goes on in the direction of a leap larger than a fourth", func(w *Weights) *Cost { return &w.LeapLeft }},
	{"arch", "each semitone outside the arch of the phrase, which is highest two thirds through", func(w *Weights) *Cost { return &w.Arch }},
	{"imperfect-close", "a phrase ends with V-I and another note than the tonic in the top voice", func(w *Weights) *Cost { return &w.ImperfectClose }},
	{"seventh-leap", "a voice leaps a seventh", func(w *Weights) *Cost { return &w.SeventhLeap }},
	{"seam-consecutive", "two voices go from one phrase to the next in perfect fifths, octaves or unisons", func(w *Weights) *Cost { return &w.SeamConsecutive }},
	{"stands-still", "an upper voice keeps a note that more than four chords in a row have", func(w *Weights) *Cost { return &w.StandsStill }},
	{"spread", "each semitone beyond a twelfth between the lowest two voices", func(w *Weights) *Cost { return &w.Spread }},
}

// ChargeNames lists what a voicing can be charged for by weight, in order.
func ChargeNames() []string {
	all := termNames()
	return all[:len(terms)]
}

// Set gives the charge of a name another weight and reports whether there is one of
// that name.
func (w *Weights) Set(name string, cost Cost) bool {
	for _, t := range terms {
		if t.name == name {
			*t.of(w) = cost
			return true
		}
	}
	return false
}

// termNames lists every term that a charge can name, in order.
func termNames() []string {
	names := make([]string, 0, len(terms)+2)
	for _, t := range terms {
		names = append(names, t.name)
	}
	return append(names, "choice", "syntax")
}

// step is all that the charges of a chord depend on: the chord, the one before it,
// and the top voice's move to that one.
type step struct {
	slot       int
	before     sopranoMove
	from, to   harmony.Reading
	leaves, at [MaxVoices]theory.Pitch
}

// charges is [charges], each step worked out once.
func (r *Search) charges(s *Solution, k int) []Charge {
	at := step{slot: k, before: moveBefore(r.problem, s, k), to: s.Chords[k].Reading}
	copy(at.at[:], s.Chords[k].Pitches)
	if k > 0 {
		at.from = s.Chords[k-1].Reading
		copy(at.leaves[:], s.Chords[k-1].Pitches)
	}
	known, ok := r.known[at]
	if !ok {
		known = charges(r.problem, s, k)
		r.known[at] = known
	}
	return known
}

// moveBefore is the top voice's move to the chord before chord k.
func moveBefore(p *Problem, s *Solution, k int) sopranoMove {
	if k < 2 || p.Slots[k-2].PhraseEnd {
		return sopranoFree
	}
	return sopranoMoveOf(theory.Between(s.Chords[k-2].Pitches[0], s.Chords[k-1].Pitches[0]))
}

// charges lists what chord k of a solution costs, with the step that leads to
// it, term by term.
func charges(p *Problem, s *Solution, k int) []Charge {
	var out []Charge
	p.Style.under()
	style := p.Style
	at := newPricedStep(p, s, k)
	for _, t := range terms {
		if *t.of(&p.Style.Weights) == 0 {
			continue
		}
		style.Weights = Weights{}
		*t.of(&style.Weights) = *t.of(&p.Style.Weights)
		if cost := at.cost(&style); cost != 0 {
			out = append(out, Charge{t.name, cost})
		}
	}
	if c := choiceCost(&p.Slots[k], &s.Chords[k]); c != 0 {
		out = append(out, Charge{"choice", c})
	}
	if k > 0 {
		if c := p.progress(k, s.Chords[k-1].Reading, s.Chords[k].Reading); c != 0 {
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

// pricedStep is a chord of a solution and the step to it, set out once to be priced
// under several weights.
type pricedStep struct {
	before   sopranoMove
	from, to *set // from is nil where no step leads to the chord
	taste    taste
	arch     arch
	position Position
	motions  motions
}

func newPricedStep(p *Problem, s *Solution, k int) *pricedStep {
	at := &pricedStep{before: moveBefore(p, s, k), arch: p.archAt(k), position: p.Position}
	at.to = p.exactly(k, &s.Chords[k])
	b := p.beside(k)
	at.taste = b.taste(s.Chords[k].Reading, &p.Style)
	if k == 0 {
		return at
	}
	if a := p.exactly(k-1, &s.Chords[k-1]); len(a.arrangements) > 0 {
		if k > 1 {
			a.follow(&p.Slots[k-2])
		}
		at.from = a
	}
	return at
}

// cost is what the chord and the step to it cost under a style.
func (at *pricedStep) cost(style *Style) Cost {
	if len(at.to.arrangements) == 0 {
		return 0
	}
	b := &at.to.arrangements[0]
	b.cost = at.to.alone(b, &at.taste, style)
	at.to.shape(at.arch, &style.Weights)
	at.position.charge(at.to, &style.Weights)
	if at.from == nil {
		return b.cost
	}
	at.motions.compare(at.from.left, at.to.entered, style, 0)
	cost := b.cost + at.motions.between(&at.from.left.arrangements[0], &at.to.entered.arrangements[0])
	if at.from.phraseEnd {
		return cost
	}
	return cost + style.Weights.after(at.before, at.motions.top(&at.to.entered.arrangements[0]))
}

// exactly is the set of a slot that holds one arrangement only.
func (p *Problem) exactly(k int, c *Chord) *set {
	fixed := Slot{PhraseEnd: p.Slots[k].PhraseEnd, Late: p.Slots[k].Late, leads: p.Slots[k].leads, weary: p.Slots[k].weary, Moving: p.Slots[k].Moving, beside: p.beside(k)}
	for v := range c.Pitches {
		fixed.Fixed = append(fixed.Fixed, &c.Pitches[v])
	}
	return arrangeWith(Choice{Reading: c.Reading}, &fixed, &p.Style, beyondReach)
}
