package musicxml

import (
	"cmp"
	"slices"

	"partwright/theory"
)

// placement moves what was read from its measures into the score, as fractions
// from the score's start, and finds their common denominator on the way.
type placement struct {
	*reader
	denominator int64
}

func (r *reader) placeInTime() {
	p := placement{reader: r, denominator: 1}
	p.notes()
	p.signatures()
	p.labels()
	p.measures()
	r.doc.Score.Resolution = p.denominator
}

// length turns ticks into quarter notes.
func (p *placement) length(ticks int64) theory.Fraction {
	f := p.fraction(ticks)
	if p.denominator%f.Den() != 0 {
		p.denominator, _ = lcm(p.denominator, f.Den(), theory.MaxResolution) // divides the resolution
	}
	return f
}

// onset turns ticks from the start of a measure into quarter notes from the
// start of the score.
func (p *placement) onset(measure int32, ticks theory.Fraction) theory.Fraction {
	return p.length(p.frame[measure].start + ticks.Num())
}

func (p *placement) notes() {
	notes := p.doc.Score.Notes
	for i := range notes {
		n := &notes[i]
		ticks := n.Duration.Num()
		if rest := p.frame[n.Measure].length - n.Onset.Num(); n.Flags.Has(theory.Rest) && ticks > rest {
			ticks = max(rest, 0)
		}
		n.Onset, n.Duration = p.onset(n.Measure, n.Onset), p.length(ticks)
	}
}

func (p *placement) signatures() {
	score := p.doc.Score
	score.Keys = make([]theory.KeyChange, 0, len(p.keys))
	for _, k := range p.keys {
		k.Onset = p.onset(k.measure, k.Onset)
		score.Keys = append(score.Keys, k.KeyChange)
	}
	score.Times = make([]theory.TimeChange, 0, len(p.times))
	for _, t := range p.times {
		t.Onset = p.onset(t.measure, t.Onset)
		score.Times = append(score.Times, t.TimeChange)
	}
	slices.SortStableFunc(score.Keys, func(a, b theory.KeyChange) int {
		return cmp.Or(a.Onset.Cmp(b.Onset), cmp.Compare(a.Part, b.Part), cmp.Compare(a.Staff, b.Staff))
	})
	slices.SortStableFunc(score.Times, func(a, b theory.TimeChange) int {
		return cmp.Or(a.Onset.Cmp(b.Onset), cmp.Compare(a.Part, b.Part), cmp.Compare(a.Staff, b.Staff))
	})
}

func (p *placement) labels() {
	score := p.doc.Score
	for i := range score.Chords {
		c := &score.Chords[i]
		c.Onset = p.onset(int32(c.Measure), c.Onset)
	}
	for i := range score.Figures {
		f := &score.Figures[i]
		f.Onset, f.Duration = p.onset(int32(f.Measure), f.Onset), p.length(f.Duration.Num())
	}
	for i := range score.Accepted {
		a := &score.Accepted[i]
		a.Onset = p.onset(int32(a.Measure), a.Onset)
	}
	for i := range score.Tempos {
		t := &score.Tempos[i]
		t.Onset = p.onset(int32(t.Measure), t.Onset)
	}
	slices.SortStableFunc(score.Tempos, func(a, b theory.Tempo) int { return a.Onset.Cmp(b.Onset) })
	// Parts repeat the tempo for their players.
	score.Tempos = slices.CompactFunc(score.Tempos, func(a, b theory.Tempo) bool { return a.Onset == b.Onset })
	slices.SortStableFunc(score.Accepted, func(a, b theory.AcceptedText) int { return a.Onset.Cmp(b.Onset) })
	slices.SortStableFunc(score.Chords, func(a, b theory.GivenChord) int { return a.Onset.Cmp(b.Onset) })
	slices.SortStableFunc(score.Figures, func(a, b theory.GivenFigures) int { return a.Onset.Cmp(b.Onset) })
}

// measures takes the measures into the common denominator. Where a pickup would
// make it too large the measure counts as beginning with its metre.
func (p *placement) measures() {
	measures := p.doc.Score.Measures
	for i := range measures {
		m := &measures[i]
		m.Onset, m.Length = p.length(p.frame[i].start), p.length(p.frame[i].length)
		n, ok := lcm(p.denominator, m.Into.Den(), theory.MaxResolution)
		if !ok {
			m.Into = theory.Fraction{}
			continue
		}
		p.denominator = n
	}
}
