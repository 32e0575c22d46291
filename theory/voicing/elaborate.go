package voicing

import (
	"math/rand/v2"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// Elaboration says how a voiced phrase is to be decorated.
type Elaboration struct {
	// Voices may be decorated, by index from the top; nil means all. A line that the
	// problem gives throughout stays as it is.
	Voices []int
	// Kinds may be used; nil means passing notes, neighbors, suspensions and
	// anticipations, in the proportions of the style's repertoire.
	Kinds []harmony.NoteClass
	// Density is how much of what is possible is used, from 0 (plain) to 1
	// (florid).
	Density float64
	// Seed makes the choice reproducible: the same seed, the same sheet.
	Seed uint64
	// RuleSet judges; nil is the default set. A decoration that adds a fault or
	// a caution is not used.
	RuleSet *partwriting.RuleSet
	// Stop, if set, is asked between tries; once it says so, the phrase stays as
	// far decorated as it is.
	Stop func() bool
}

// Decoration is one added note, or for a suspension one note that arrives late.
type Decoration struct {
	Kind harmony.NoteClass
	// Voice is the index from the top; Change is the index of the chord that the
	// decoration leads to or delays.
	Voice, Change int
	Pitch         theory.Pitch
	Onset         theory.Fraction
	Duration      theory.Fraction
}

// Florid is a phrase with everything that was found to add to it. What is added
// has an order, and every beginning of that order is a phrase of its own: the
// levels of one phrase are each more florid than the last, over the same lines.
type Florid struct {
	plain   *decorator
	figures []figure
}

// Elaborate decorates a solution. It returns the new texture and what was added,
// in order of onset, then voice. Every decoration has been tried: with the chords
// known, the rules found neither a fault nor a caution more than before, and the
// analysis classed each added note as what it was meant to be.
func Elaborate(p *Problem, s *Solution, l Layout, e Elaboration) (*theory.Texture, []Decoration) {
	return Decorate(p, s, l, e).At(e.Density)
}

// Decorate finds what can be added to a solution, as [Elaborate] does.
func Decorate(p *Problem, s *Solution, l Layout, e Elaboration) *Florid {
	plain := newDecorator(p, s, l, e)
	if e.Density == 0 {
		return &Florid{plain: plain}
	}
	d := newDecorator(p, s, l, e)
	random := rand.New(rand.NewPCG(e.Seed, 0x9e3779b97f4a7c15))
	pool := d.chances(e, random)
	quota := newQuota(e.Kinds, p.Style.Repertoire, random)
	for {
		best := d.next(pool, quota)
		if best < 0 || quota.open && len(d.figures) >= d.fewest() || e.Stop != nil && e.Stop() {
			return &Florid{plain, d.figures}
		}
		c := pool[best]
		pool = append(pool[:best], pool[best+1:]...)
		if d.try(&c) {
			quota.add(&c)
		}
	}
}

// Steps is how many figures there are to add, and so how many levels above the
// plain phrase can differ.
func (f *Florid) Steps() int { return len(f.figures) }

// At returns the phrase at a density from 0 to 1 and what was added to it. A
// higher density keeps all that a lower one has.
func (f *Florid) At(density float64) (*theory.Texture, []Decoration) {
	d := *f.plain
	d.lines = make([][]lineNote, len(f.plain.lines))
	copy(d.lines, f.plain.lines)
	d.added = nil
	for i := range int(density*float64(len(f.figures)) + 0.5) {
		d.apply(&f.figures[i])
		d.added = append(d.added, f.figures[i].notes...)
	}
	inOrder(d.added)
	return d.texture(), d.added
}

// decorator holds the lines while they are decorated.
type decorator struct {
	problem  *Problem
	solution *Solution
	layout   Layout
	set      *partwriting.RuleSet
	onsets   []theory.Fraction
	lines    [][]lineNote
	figures  []figure
	added    []Decoration
	faults   map[partwriting.RuleID]int
}

func newDecorator(p *Problem, s *Solution, l Layout, e Elaboration) *decorator {
	d := &decorator{problem: p, solution: s, layout: l, set: e.RuleSet}
	d.onsets = l.onsets(len(s.Chords))
	d.lines = s.lines(&p.Style, &d.layout)
	texture := d.texture()
	d.faults = d.count(texture, s.Harmony(texture, l))
	return d
}

func (d *decorator) texture() *theory.Texture {
	return compose(&d.problem.Style, d.lines, d.solution.Chords, d.layout)
}

// count returns how often each rule speaks at caution or above.
func (d *decorator) count(t *theory.Texture, a *harmony.Analysis) map[partwriting.RuleID]int {
	counts := map[partwriting.RuleID]int{}
	for _, f := range partwriting.Check(t, a, d.set) {
		if f.Severity >= partwriting.Caution {
			counts[f.Rule]++
		}
	}
	return counts
}

// next is the index of the figure to try: of the kind that is furthest behind its
// share, the one that suits its place best; -1 where nothing is left that may be added.
func (d *decorator) next(pool []figure, q *quota) int {
	for _, kind := range q.order() {
		best, most := -1, 0.0
		for i := range pool {
			if pool[i].kind != kind {
				continue
			}
			if s := d.suits(&pool[i]); best < 0 || s > most {
				best, most = i, s
			}
		}
		if best >= 0 {
			return best
		}
	}
	if len(d.figures) < d.fewest() && !q.open {
		q.open = true
		return d.next(pool, q)
	}
	return -1
}

// fewest is how many figures a phrase takes before the kinds have to keep their
// proportions, as far as it has room: without them its levels would not differ.
func (d *decorator) fewest() int { return max(3, len(d.solution.Chords)/4) }

// try applies a figure and takes it back if it makes a bad line or pair, or if the
// rules find anything new.
func (d *decorator) try(c *figure) bool {
	if d.taken(c) {
		return false
	}
	before := d.lines[c.voice]
	if !d.apply(c) {
		return false
	}
	if d.sings(c) && d.movesWell(c) && d.judge(c) {
		d.figures = append(d.figures, *c)
		d.added = append(d.added, c.notes...)
		return true
	}
	d.lines[c.voice] = before
	return false
}

// judge asks the rules and the analysis about the whole phrase.
func (d *decorator) judge(c *figure) bool {
	texture := d.texture()
	analysis := d.solution.Harmony(texture, d.layout)
	for i := range c.notes {
		if !classedAs(texture, analysis, &c.notes[i]) {
			return false
		}
	}
	for i := range d.added {
		if !classedAs(texture, analysis, &d.added[i]) {
			return false
		}
	}
	counts := d.count(texture, analysis)
	for rule, n := range counts {
		if n > d.faults[rule] {
			return false
		}
	}
	d.faults = counts
	return true
}

// classedAs reports whether the analysis takes a decoration for what it is meant
// to be.
func classedAs(t *theory.Texture, a *harmony.Analysis, d *Decoration) bool {
	for n := range t.Voices[d.Voice].Notes {
		note := &t.Voices[d.Voice].Notes[n]
		if !d.Onset.Less(note.Onset) && d.Onset.Less(note.End()) {
			return a.Notes[d.Voice][n].Class == d.Kind
		}
	}
	return false
}

func inOrder(all []Decoration) {
	for i := 1; i < len(all); i++ {
		for j := i; j > 0 && (all[j].Onset.Less(all[j-1].Onset) || all[j].Onset == all[j-1].Onset && all[j].Voice < all[j-1].Voice); j-- {
			all[j], all[j-1] = all[j-1], all[j]
		}
	}
}
