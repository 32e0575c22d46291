package voicing

import (
	"math/rand/v2"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// Elaboration says how a voiced phrase is to be decorated.
type Elaboration struct {
	// Voices may be decorated, by index from the top; nil means all.
	Voices []int
	// Kinds may be used; nil means passing notes, neighbors, suspensions and
	// anticipations.
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

// Elaborate decorates a solution. It returns the new texture and what was added,
// in order of onset, then voice. Every decoration has been tried: with the chords
// known, the rules found neither a fault nor a caution more than before, and the
// analysis classed each added note as what it was meant to be.
func Elaborate(p *Problem, s *Solution, l Layout, e Elaboration) (*theory.Texture, []Decoration) {
	d := newDecorator(p, s, l, e)
	random := rand.New(rand.NewPCG(e.Seed, 0x9e3779b97f4a7c15))
	chances := d.chances(e)
	random.Shuffle(len(chances), func(i, j int) { chances[i], chances[j] = chances[j], chances[i] })
	wanted := int(e.Density*float64(len(d.places(chances))) + 0.5)
	used := map[place]bool{}
	for _, c := range chances {
		at := place{c.Voice, c.Change}
		if len(used) >= wanted || e.Stop != nil && e.Stop() {
			break
		}
		if used[at] || !d.calm(c) {
			continue
		}
		if d.try(c) {
			used[at] = true
		}
	}
	inOrder(d.added)
	return d.texture(), d.added
}

// place is one change in one voice; it takes one decoration.
type place struct{ voice, change int }

// decorator holds the lines while they are decorated.
type decorator struct {
	problem  *Problem
	solution *Solution
	layout   Layout
	set      *partwriting.RuleSet
	onsets   []theory.Fraction
	lines    [][]lineNote
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

// calm reports whether few enough other voices already move at the same moment:
// one or two at a time keep the texture clear (Hutchinson, ch. 28).
func (d *decorator) calm(c Decoration) bool {
	moving := 0
	for i := range d.added {
		if d.added[i].Onset == c.Onset && d.added[i].Voice != c.Voice {
			moving++
		}
	}
	return moving < 2
}

// try applies a decoration and takes it back if the rules find anything new.
func (d *decorator) try(c Decoration) bool {
	before := append([]lineNote(nil), d.lines[c.Voice]...)
	if !d.apply(c) {
		return false
	}
	texture := d.texture()
	analysis := d.solution.Harmony(texture, d.layout)
	counts := d.count(texture, analysis)
	ok := classedAs(texture, analysis, &c)
	for i := range d.added {
		ok = ok && classedAs(texture, analysis, &d.added[i])
	}
	for rule, n := range counts {
		ok = ok && n <= d.faults[rule]
	}
	if !ok {
		d.lines[c.Voice] = before
		return false
	}
	d.faults = counts
	d.added = append(d.added, c)
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

// apply cuts the decoration into its line. A suspension lengthens the note
// before and shortens the one it delays; everything else takes its time from
// the end of the note before.
func (d *decorator) apply(c Decoration) bool {
	line := d.lines[c.Voice]
	for i := range line {
		if c.Kind == harmony.Suspension || c.Kind == harmony.Retardation {
			if line[i].from != c.Onset || i == 0 {
				continue
			}
			if !c.Onset.Add(c.Duration).Less(line[i].to) {
				return false // an earlier decoration has taken the time to resolve
			}
			line[i-1].to, line[i].from = c.Onset.Add(c.Duration), c.Onset.Add(c.Duration)
			return true
		}
		if line[i].from.Less(c.Onset) && line[i].to == c.Onset.Add(c.Duration) {
			line[i].to = c.Onset
			rest := append([]lineNote{{c.Pitch, c.Onset, c.Onset.Add(c.Duration)}}, line[i+1:]...)
			d.lines[c.Voice] = append(line[:i+1:i+1], rest...)
			return true
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
