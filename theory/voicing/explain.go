package voicing

import (
	"context"

	"partwright/theory"
	"partwright/theory/harmony"
)

// VoiceMove is what one voice does at a change.
type VoiceMove struct {
	// Voice is the index from the top.
	Voice    int
	From, To theory.Pitch
	Interval theory.Interval
	// Kept is set where the voice holds a common tone; CouldKeep where it leaves
	// a note that the next chord has.
	Kept, CouldKeep bool
	// AgainstBass is the motion against the lowest voice; [theory.NoMotion] for
	// the lowest voice itself.
	AgainstBass theory.Motion
	// Tendency says what the note it leaves asked for.
	Tendency Tendency
}

// Tendency is a note with a strong expected next note, and what became of it.
type Tendency int8

// Tendencies.
const (
	// NoTendency: the note may go anywhere.
	NoTendency Tendency = iota
	// LeadingToneRises, LeadingToneFalls (to the fifth, or on in a chain),
	// LeadingToneWaits (the dominant goes on).
	LeadingToneRises
	LeadingToneFalls
	LeadingToneWaits
	// SeventhFalls by step, SeventhStays as a note of the next chord,
	// SeventhWaits while the harmony goes on.
	SeventhFalls
	SeventhStays
	SeventhWaits
	// SeventhRises in tenths with the bass.
	SeventhRises
)

// String returns a phrase in English for logs and tests.
func (t Tendency) String() string {
	return [...]string{"", "leading tone rises", "leading tone falls", "leading tone waits",
		"seventh falls", "seventh stays", "seventh waits", "seventh rises"}[t]
}

// Charge is one term of a cost.
type Charge struct {
	// Term is the name of the weight in kebab case.
	Term string
	Cost Cost
}

// Change is one step of a solution with its reasons.
type Change struct {
	Moves []VoiceMove
	// Charges are the terms that are not 0; they sum to Cost, which contains
	// what the second chord costs by itself.
	Charges []Charge
	Cost    Cost
	// Semitones is the sum of what the upper voices move.
	Semitones int
	// RunnerUp is the arrangement of the second chord in the cheapest other
	// voicing of the whole phrase, which costs Behind more; nil if there is no
	// other.
	RunnerUp []theory.Pitch
	Behind   Cost
	// Instead says why: by term, how much more the other voicing costs in all than
	// this one, or less where negative. Where this one is the best, the terms sum
	// to Behind.
	Instead []Charge
}

// Explanation gives the reasons for a solution.
type Explanation struct {
	// Opening are the charges of the first chord by itself.
	Opening []Charge
	// Changes has one entry fewer than there are chords.
	Changes []Change
	// Semitones is the motion of all upper voices in the whole phrase.
	Semitones int
	// Soprano is the top line; Highest indexes its highest note (the first of
	// equals), and Peaks counts how often that height is reached.
	Soprano        []theory.Pitch
	Highest, Peaks int
}

// Explain gives the reasons for a solution of the problem, also for the least bad
// one where the hard rules leave none. What was found out for one voicing serves the
// others, so that the reasons for ten cost little more than those for one.
func (r *Search) Explain(ctx context.Context, s *Solution) (*Explanation, error) {
	own := make([][]Charge, len(s.Chords))
	for k := range own {
		own[k] = r.charges(s, k)
	}
	e := &Explanation{Opening: own[0]}
	for k := 1; k < len(s.Chords); k++ {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		c := Change{Moves: moves(&s.Chords[k-1], &s.Chords[k]), Charges: own[k]}
		for _, charge := range c.Charges {
			c.Cost += charge.Cost
		}
		for _, m := range c.Moves[:len(c.Moves)-1] {
			c.Semitones += abs(m.Interval.Semitones)
		}
		// A voicing that breaks more rules than the best is no runner-up.
		if other := r.lattice.runnerUp(k, s); other != nil && other.broken == r.best.broken {
			c.RunnerUp, c.Behind = other.Chords[k].Pitches, other.Cost-r.best.Cost
			c.Instead = r.difference(other, s, own)
		}
		e.Semitones += c.Semitones
		e.Changes = append(e.Changes, c)
	}
	for k := range s.Chords {
		top := s.Chords[k].Pitches[0]
		e.Soprano = append(e.Soprano, top)
		switch {
		case k == 0 || top.Above(e.Soprano[e.Highest]):
			e.Highest, e.Peaks = k, 1
		case !e.Soprano[e.Highest].Above(top):
			e.Peaks++
		}
	}
	return e, nil
}

// moves describes a change voice by voice.
func moves(a, b *Chord) []VoiceMove {
	out := make([]VoiceMove, len(a.Pitches))
	m := newMover(a, b.Reading)
	m.moves(b.Pitches, out)
	return out
}

// mover describes changes from one chord as it sounds to the arrangements of another.
type mover struct {
	from *Chord
	duty duty
	// common is set for the voices whose note the next chord has, leads and sevenths for
	// those that have such a note.
	common, leads, sevenths [MaxVoices]bool
}

func newMover(from *Chord, to harmony.Reading) *mover {
	m := &mover{from: from, duty: dutyBetween(from.Reading, to)}
	lead, hasLead := from.Reading.LeadingTone()
	seventh, hasSeventh := from.Reading.Seventh()
	for v := range from.Pitches {
		class := from.Pitches[v].Class()
		m.common[v] = to.MemberOf(class) >= 0
		m.leads[v], m.sevenths[v] = hasLead && class == lead, hasSeventh && class == seventh
	}
	return m
}

// moves describes the change to these notes, into out.
func (m *mover) moves(to []theory.Pitch, out []VoiceMove) {
	a, n := m.from.Pitches, len(to)
	bass := theory.Between(a[n-1], to[n-1])
	for v := range n {
		i := theory.Between(a[v], to[v])
		out[v] = VoiceMove{
			Voice: v, From: a[v], To: to[v], Interval: i,
			Kept: m.common[v] && i == theory.Unison, CouldKeep: m.common[v] && i != theory.Unison, Tendency: m.tendency(v, i),
		}
		if v < n-1 {
			out[v].AgainstBass = theory.MotionOf(i, bass)
		}
	}
}

func (m *mover) tendency(v int, move theory.Interval) Tendency {
	d := &m.duty
	if m.leads[v] {
		switch {
		case d.same || !d.resolves && !d.deceptive && move == theory.Unison:
			return LeadingToneWaits
		case move.Steps == 1:
			return LeadingToneRises
		}
		return LeadingToneFalls
	}
	if m.sevenths[v] {
		switch {
		case move.Steps == -1:
			return SeventhFalls
		case d.same:
			return SeventhWaits
		case move.Steps == 1:
			return SeventhRises
		}
		return SeventhStays
	}
	return NoTendency
}

// runnerUp returns the cheapest whole voicing that has another arrangement in slot
// k than the solution, nil where there is none.
func (l *lattice) runnerUp(k int, s *Solution) *Solution {
	layer := &l.layers[k]
	cheapest, other := unreachable, noNode
	for index := range layer.size {
		for move := range sopranoMoves {
			at := layer.at(index, move)
			if layer.cost[at] == unreachable || layer.rest[at] == unreachable || layer.cost[at]+layer.rest[at] >= cheapest {
				continue
			}
			if !samePitches(layer.chord(index, len(l.problem.Style.Voices)).Pitches, s.Chords[k].Pitches) {
				cheapest, other = layer.cost[at]+layer.rest[at], at
			}
		}
	}
	if cheapest == unreachable {
		return nil
	}
	whole := l.blank()
	l.whole(passing{cost: cheapest, slot: int32(k), at: other, next: noNode}, whole)
	return whole
}

// difference lists by term how much more a voicing costs than another one whose
// charges are known chord by chord. Only chords that differ, and the two after
// them, can cost otherwise.
func (r *Search) difference(a, b *Solution, known [][]Charge) []Charge {
	sums := map[string]Cost{}
	last := -3
	for k := range a.Chords {
		if !samePitches(a.Chords[k].Pitches, b.Chords[k].Pitches) || a.Chords[k].Reading != b.Chords[k].Reading {
			last = k
		}
		if k-last > 2 {
			continue
		}
		for _, c := range r.charges(a, k) {
			sums[c.Term] += c.Cost
		}
		for _, c := range known[k] {
			sums[c.Term] -= c.Cost
		}
	}
	var out []Charge
	for _, name := range termNames() {
		if sums[name] != 0 {
			out = append(out, Charge{name, sums[name]})
		}
	}
	return out
}

func samePitches(a, b []theory.Pitch) bool {
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}
