package partwriting

import "partwright/theory"

// Species counterpoint after Open Music Theory v1: what the species add to the
// rules of lines and consecutives. All are off outside the species sets.
var species = []*Rule{
	{
		ID: "species-dissonance", Family: Embellishment, Severity: Off,
		Source: Source{"Open Music Theory v1", "species counterpoint", "none in the first species; passing between the downbeats in the second; neighbors too in the third; suspensions in the fourth; all of them in the fifth"},
		Check:  (*Passage).speciesDissonances,
	},
	{
		ID: "species-opening", Family: Progression, Severity: Off,
		Source: Source{"Open Music Theory v1", "species counterpoint", "a unison, fifth or octave"},
		Check:  (*Passage).speciesOpening,
	},
	{
		ID: "species-close", Family: Progression, Severity: Off,
		Source: Source{"Open Music Theory v1", "species counterpoint", "a unison or octave, reached by step in contrary motion"},
		Check:  (*Passage).speciesClose,
	},
	{
		ID: "imperfect-run", Family: Consecutives, Severity: Off,
		Source: Source{"Open Music Theory v1", "species counterpoint", "more than three thirds or sixths of one kind in a row"},
		Check:  (*Passage).imperfectRuns,
	},
	{
		ID: "climax-repeated", Family: Line, Severity: Off,
		Source: Source{"Open Music Theory v1", "composing a cantus firmus", "the highest note of a line comes once"},
		Check:  (*Passage).repeatedClimaxes,
	},
}

// isDissonant reports whether an interval above the lowest voice is dissonant:
// seconds, sevenths, the fourth, and everything diminished or augmented.
func isDissonant(i theory.Interval) bool {
	switch s := i.Simple(); s.Steps {
	case 1, 3, 6:
		return true
	default:
		q := s.Quality()
		return q != theory.Perfect && q != theory.Major && q != theory.Minor
	}
}

func (p *Passage) speciesDissonances() []Finding {
	var found []Finding
	for m := range p.Moments {
		lowest := p.lowest(m)
		for v := range p.Voices {
			i, both := p.Dyad(m, v, max(lowest, 0))
			if lowest < 0 || v == lowest || !both || !isDissonant(i) {
				continue
			}
			if p.IsStruck(m, v) || p.IsStruck(m, lowest) {
				if !p.speciesAllows(m, v, lowest) {
					found = append(found, p.dissonance(m, min(v, lowest), max(v, lowest)))
				}
			}
		}
	}
	return found
}

func (p *Passage) dissonance(m, upper, lower int) Finding {
	f := p.atDyad(m, upper, lower)
	i, _ := p.Dyad(m, upper, lower)
	f.Args = append(f.Args, Arg{"interval", i.Abs()})
	return f
}

// lowest returns the voice that sounds lowest at a moment, -1 in silence.
func (p *Passage) lowest(m int) int {
	low := -1
	for v := range p.Voices {
		if c := p.cell(m, v); c.note >= 0 && (low < 0 || c.semitones <= p.cell(m, low).semitones) {
			low = v
		}
	}
	return low
}

// speciesAllows tells whether the dissonance of two voices at a moment is one
// that the species of the set has.
func (p *Passage) speciesAllows(m, a, b int) bool {
	moving, staying := a, b
	switch {
	case p.IsStruck(m, a) && p.IsStruck(m, b):
		return false // struck together: no species has it
	case p.IsStruck(m, b):
		moving, staying = b, a
	}
	s := p.Limits.Species
	passing, neighbor := p.stepwise(NoteRef{moving, p.At(m, moving)})
	weak := p.strength(m) < 3
	switch {
	case (s == 2 || s == 3 || s == 5) && weak && passing:
		return true
	case (s == 3 || s == 5) && weak && neighbor:
		return true
	case s >= 4 && !p.IsStruck(m, staying):
		return p.isSuspension(m, NoteRef{staying, p.At(m, staying)})
	}
	return false
}

// stepwise reports whether a note is reached and left by step, onward (passing)
// or back (neighbor).
func (p *Passage) stepwise(r NoteRef) (passing, neighbor bool) {
	notes := p.Voices[r.Voice].Notes
	if r.Note == 0 || r.Note+1 >= len(notes) {
		return false, false
	}
	in := theory.Between(notes[r.Note-1].Pitch, notes[r.Note].Pitch)
	out := theory.Between(notes[r.Note].Pitch, notes[r.Note+1].Pitch)
	if !in.IsStep() || !out.IsStep() {
		return false, false
	}
	return in.Steps == out.Steps, in.Steps == -out.Steps
}

// isSuspension reports whether a held note was consonant when it was struck,
// stands on a strong place and steps down.
func (p *Passage) isSuspension(m int, r NoteRef) bool {
	notes := p.Voices[r.Voice].Notes
	if r.Note+1 >= len(notes) || p.strength(m) < 2 {
		return false
	}
	struck := p.MomentOf(r)
	if low := p.lowest(struck); low >= 0 && low != r.Voice {
		if i, both := p.Dyad(struck, r.Voice, low); both && isDissonant(i) {
			return false
		}
	}
	return theory.Between(notes[r.Note].Pitch, notes[r.Note+1].Pitch).Steps == -1
}

func (p *Passage) speciesOpening() []Finding {
	if len(p.Voices) < 2 {
		return nil
	}
	for m := range p.Moments {
		i, both := p.Dyad(m, 0, len(p.Voices)-1)
		if !both {
			continue
		}
		if i.IsPerfectFifth() || i.IsPerfectOctave() {
			return nil
		}
		return []Finding{p.dissonance(m, 0, len(p.Voices)-1)}
	}
	return nil
}

func (p *Passage) speciesClose() []Finding {
	last, low := len(p.Moments)-1, len(p.Voices)-1
	if low < 1 || last < 1 {
		return nil
	}
	i, both := p.Dyad(last, 0, low)
	if !both {
		return nil
	}
	if i.IsPerfectOctave() {
		for k := len(p.pairs) - 1; k >= 0; k-- {
			m := &p.pairs[k]
			if m.Upper == 0 && m.Lower == low && m.To == last && m.Motion == theory.Contrary && m.UpperMove.IsStep() && m.LowerMove.IsStep() {
				return nil
			}
		}
	}
	return []Finding{p.dissonance(last, 0, low)}
}

func (p *Passage) imperfectRuns() []Finding {
	var found []Finding
	run := 0
	for i := range p.pairs {
		m := &p.pairs[i]
		steps := m.After.Simple().Steps
		goesOn := run > 0 && i > 0 && p.pairs[i-1].Upper == m.Upper && p.pairs[i-1].Lower == m.Lower && p.pairs[i-1].To == m.From
		if m.Motion != theory.Parallel || (steps != 2 && steps != 5) || m.PhraseEnd {
			run = 0
			continue
		}
		if !goesOn {
			run = 1
		}
		if run++; run == 4 {
			found = append(found, p.atPair(m))
		}
	}
	return found
}

func (p *Passage) repeatedClimaxes() []Finding {
	var found []Finding
	for v := range p.Voices {
		notes := p.Voices[v].Notes
		top := -1
		var again []NoteRef
		for n := range notes {
			switch {
			case top < 0 || notes[n].Pitch.Above(notes[top].Pitch):
				top, again = n, nil
			case notes[n].Pitch == notes[top].Pitch && n > 0 && notes[n-1].Pitch != notes[n].Pitch:
				again = append(again, NoteRef{v, n})
			}
		}
		if len(again) == 0 {
			continue
		}
		f := p.at(p.MomentOf(again[0]), v)
		f.Notes = append([]NoteRef{{v, top}}, again...)
		f.Args = []Arg{{"pitch", notes[top].Pitch}}
		found = append(found, f)
	}
	return found
}
