package partwriting

import "partwright/theory"

// Distance is how far apart two voices stand, as rules about two voices ask for it;
// compounds count as the simple interval.
type Distance uint8

// Distances.
const (
	OtherDistance Distance = iota
	PerfectFifthApart
	DiminishedFifthApart
	PerfectFourthApart
	SecondOrSeventhApart
	OctaveApart
	UnisonApart
	// Distances is how many there are.
	Distances
)

// DistanceOf names the interval between two voices.
func DistanceOf(i theory.Interval) Distance {
	switch simple := i.Simple(); {
	case i == theory.Unison:
		return UnisonApart
	case simple == theory.Unison:
		return OctaveApart
	case simple == theory.PerfectFifth:
		return PerfectFifthApart
	case simple == theory.Interval{Steps: 4, Semitones: 6}:
		return DiminishedFifthApart
	case simple == theory.PerfectFourth:
		return PerfectFourthApart
	case simple.Steps == 1 || simple.Steps == 6:
		return SecondOrSeventhApart
	}
	return OtherDistance
}

func (d Distance) isOctave() bool  { return d == OctaveApart || d == UnisonApart }
func (d Distance) isPerfect() bool { return d == PerfectFifthApart || d.isOctave() }

// PairMove is how two voices that both move go from one sonority to the next, all
// that the rules about two voices ask.
type PairMove struct {
	Before, After Distance
	// Motion is contrary, similar or parallel.
	Motion theory.Motion
	// UpperLeaps and LowerLeaps are set where a voice moves by more than a second.
	UpperLeaps, LowerLeaps bool
	// Outer is set for the highest and the lowest voice, Bass where the lower voice is
	// the lowest of all.
	Outer, Bass bool
	// Revoiced is set where the harmony only changes its position; Kept where the two
	// voices keep their notes, or exchange them, in other octaves.
	Revoiced, Kept bool
	// FifthExcused is set where a diminished fifth may become a perfect one between
	// upper voices: the upper one runs in tenths with the bass, or a diminished
	// seventh chord sounds.
	FifthExcused bool
	// Overlaps is set where neighbors pass one another's last note, see [Overlap].
	Overlaps bool
	// Joins is set where a phrase ends with the first of the two sonorities.
	Joins bool
}

func (m *PairMove) sameWay() bool { return m.Motion == theory.Similar || m.Motion == theory.Parallel }

// contrary reports whether the voices go in opposite directions, in a pair that the
// rule set looks at.
func (m *PairMove) contrary(l *Limits) bool {
	return m.Motion == theory.Contrary && (m.Outer || l.ContraryPairs == AnyPair)
}

// follow reports whether one perfect interval follows another of its kind. The same
// two notes in new octaves are no succession: nothing has moved on.
func (m *PairMove) follow(kind Distance) bool {
	if m.Kept {
		return false
	}
	if kind == OctaveApart {
		return m.Before.isOctave() && m.After.isOctave() && !(m.Before == UnisonApart && m.After == UnisonApart)
	}
	return m.Before == kind && m.After == kind
}

// pairRule is a rule about two voices at two moments. breaks reports whether they
// break it, and the most that it weighs there, [Off] where the set alone decides.
type pairRule struct {
	id     RuleID
	breaks func(*PairMove, *Limits) (Severity, bool)
	// joins is set for a rule that is asked from one phrase to the next as well, where what
	// it finds is a remark: a singer has taken breath, but the ear may still tell. Chorales
	// have such intervals at 3 phrase joins of 100, and inside phrases at 2 changes of 1,000
	// (counted in the 370 chorales edited by C. Sapp).
	joins bool
}

// asked is what a rule says of a move: the most that it weighs there, and whether it is
// broken.
func (r *pairRule) asked(m *PairMove, l *Limits) (most Severity, broken bool) {
	if m.Joins && !r.joins {
		return Off, false
	}
	most, broken = r.breaks(m, l)
	if broken && m.Joins {
		most = Remark
	}
	return most, broken
}

// pairRules are all of them; the rules of the suite with these names are made of them.
var pairRules = []pairRule{
	{id: "parallel-fifths", joins: true, breaks: func(m *PairMove, _ *Limits) (Severity, bool) {
		return Off, m.sameWay() && m.follow(PerfectFifthApart)
	}},
	{id: "parallel-octaves", joins: true, breaks: func(m *PairMove, _ *Limits) (Severity, bool) {
		return Off, m.sameWay() && m.follow(OctaveApart)
	}},
	{id: "parallel-unisons", joins: true, breaks: func(m *PairMove, _ *Limits) (Severity, bool) {
		return Off, m.sameWay() && m.follow(UnisonApart)
	}},
	{id: "contrary-fifths", joins: true, breaks: func(m *PairMove, l *Limits) (Severity, bool) {
		return Off, m.contrary(l) && m.follow(PerfectFifthApart)
	}},
	{id: "contrary-octaves", joins: true, breaks: func(m *PairMove, l *Limits) (Severity, bool) {
		return Off, m.contrary(l) && m.follow(OctaveApart)
	}},
	{id: "direct-fifths", breaks: func(m *PairMove, l *Limits) (Severity, bool) {
		return m.direct(l, m.After == PerfectFifthApart && m.Before != PerfectFifthApart)
	}},
	{id: "direct-octaves", breaks: func(m *PairMove, l *Limits) (Severity, bool) {
		return m.direct(l, m.After.isOctave() && !m.Before.isOctave())
	}},
	{id: "direct-perfects-other-pairs", breaks: func(m *PairMove, _ *Limits) (Severity, bool) {
		fifth := m.After == PerfectFifthApart && m.Before != PerfectFifthApart && m.Before != DiminishedFifthApart
		octave := m.After.isOctave() && !m.Before.isOctave()
		return Off, !m.Outer && m.sameWay() && (fifth || octave) && m.UpperLeaps && m.LowerLeaps && !m.Revoiced
	}},
	{id: "unequal-fifths", breaks: func(m *PairMove, _ *Limits) (Severity, bool) {
		unequal := m.Before == DiminishedFifthApart && m.After == PerfectFifthApart && m.sameWay()
		if m.Bass {
			return Off, unequal
		}
		return Caution, unequal && !m.FifthExcused
	}},
	{id: "narrowing-fifths", breaks: func(m *PairMove, _ *Limits) (Severity, bool) {
		return Off, m.Before == PerfectFifthApart && m.After == DiminishedFifthApart && m.sameWay()
	}},
	{id: "parallel-fourths", breaks: func(m *PairMove, _ *Limits) (Severity, bool) {
		return Off, m.Motion == theory.Parallel && m.Bass && m.Before == PerfectFourthApart && m.After == PerfectFourthApart
	}},
	{id: "parallel-seconds-sevenths", breaks: func(m *PairMove, _ *Limits) (Severity, bool) {
		return Off, m.Motion == theory.Parallel && m.Before == SecondOrSeventhApart && m.After == SecondOrSeventhApart
	}},
	{id: "voice-overlap", breaks: func(m *PairMove, _ *Limits) (Severity, bool) {
		// Parallel unisons are reported as such.
		return Off, m.Overlaps && !m.Revoiced && !(m.Before == UnisonApart && m.After == UnisonApart)
	}},
}

// direct is how the outer voices reach a perfect interval in one direction: a step in
// the soprano covers it.
func (m *PairMove) direct(l *Limits, reached bool) (Severity, bool) {
	if !reached || !m.Outer || !m.sameWay() || !m.UpperLeaps && l.DirectApproach == ByLeap {
		return Off, false
	}
	if m.Revoiced {
		return Caution, true
	}
	return Off, true
}

// Overlap reports whether one of two neighbors moves past the note that the other has
// just left. The interval leads from the lower one up to the upper one.
func Overlap(before, upper, lower theory.Interval) bool {
	return lower.Semitones > before.Semitones || -upper.Semitones > before.Semitones
}

// pairRuleByID returns the rule about two voices with a name.
func pairRuleByID(id RuleID) *pairRule {
	for i := range pairRules {
		if pairRules[i].id == id {
			return &pairRules[i]
		}
	}
	panic("no rule about two voices is called " + string(id))
}

// inTwoVoices checks every move of two voices by the rule about them with a name; mild
// may make what it finds weigh less.
func inTwoVoices(id RuleID, mild func(*Passage, *pairMove, *Finding) bool) func(*Passage) []Finding {
	return func(p *Passage) []Finding {
		rule := pairRuleByID(id)
		var found []Finding
		for i := 0; i < len(p.pairs) && len(found) < maxPerRule; i++ {
			m := &p.pairs[i]
			most, broken := rule.asked(&m.stretch, &p.Limits)
			if !broken {
				continue
			}
			f := p.atPair(m)
			if most != Off && f.Severity == Off {
				f.Severity = most
			}
			if mild == nil || mild(p, m, &f) {
				found = append(found, f)
			}
		}
		return found
	}
}
