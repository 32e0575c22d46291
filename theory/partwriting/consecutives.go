package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Intervals that follow one another in two voices: perfect ones in parallel and
// contrary motion, unequal fifths, and runs of one interval.
var consecutives = []*Rule{
	{
		ID: "parallel-fifths", Family: Consecutives,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "any pair of voices, compound fifths included"},
		Check:  inTwoVoices("parallel-fifths", (*Passage).weighConsecutive),
	},
	{
		ID: "parallel-octaves", Family: Consecutives,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "any pair of voices, fifteenths and unison to octave included"},
		Check:  inTwoVoices("parallel-octaves", (*Passage).weighConsecutive),
	},
	{
		ID: "parallel-unisons", Family: Consecutives,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.3", "unisons are listed with the octaves"},
		Check:  inTwoVoices("parallel-unisons", (*Passage).weighConsecutive),
	},
	{
		ID: "contrary-fifths", Family: Consecutives,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "any pair of voices; Open Music Theory v1 tests the outer voices only"},
		Check:  inTwoVoices("contrary-fifths", (*Passage).weighConsecutive),
	},
	{
		ID: "contrary-octaves", Family: Consecutives,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "any pair of voices; Open Music Theory v1 tests the outer voices only"},
		Check:  inTwoVoices("contrary-octaves", (*Passage).weighConsecutive),
	},
	{
		ID: "consecutives-at-repeat", Family: Consecutives,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "parallel fifths, octaves and unisons where a repeat or an ending is taken; a remark between phrases"},
		Check:  (*Passage).consecutivesAtRepeats,
	},
	{
		ID: "unequal-fifths", Family: Consecutives,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10b", "diminished to perfect: a fault with the bass, a caution between upper voices, free in tenths with the bass (Hutchinson, section 27.1) and from a diminished seventh chord (section 29.1)"},
		Check:  inTwoVoices("unequal-fifths", nil),
	},
	{
		ID: "narrowing-fifths", Family: Consecutives,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.10", "perfect to diminished; most books allow it, so it is off unless a set asks for it"},
		Check:  inTwoVoices("narrowing-fifths", nil),
	},
	{
		ID: "parallel-fourths", Family: Consecutives,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.3", "above the bass; free between upper voices"},
		Check:  inTwoVoices("parallel-fourths", nil),
	},
	{
		ID: "parallel-seconds-sevenths", Family: Consecutives,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.3", "seconds, sevenths and their compounds"},
		Check:  inTwoVoices("parallel-seconds-sevenths", nil),
	},
	{
		ID: "octave-doubling", Family: Consecutives,
		Source: Source{"common practice, no source", "", "in music for keyboard, guitar and ensemble, octaves and unisons of one part with itself or along a line are doublings"},
		Check:  (*Passage).doubledLines,
	},
	{
		ID: "imperfect-run", Family: Consecutives,
		Source: Source{"Open Music Theory v1", "species counterpoint", "more than three thirds or sixths of one kind in a row"},
		Check:  (*Passage).imperfectRuns,
	},
}

// weighConsecutive makes consecutives weigh less where an embellishment has a part in
// them, and leaves out those that the rule set passes over and those that are doublings.
func (p *Passage) weighConsecutive(m *pairMove, f *Finding) bool {
	severity, ok := p.embellishedSeverity(m)
	if f.Severity == Off {
		f.Severity = severity
	}
	if f.Licence == "" && p.anticipates(m) {
		f.Severity, f.Licence = Remark, Anticipated
	}
	return ok && !m.doubles
}

// embellishedSeverity returns what the rule set makes of parallels in which a
// nonchord tone has a part, Off for what the rule itself weighs, and whether they
// are reported at all.
func (p *Passage) embellishedSeverity(m *pairMove) (Severity, bool) {
	if p.Limits.EmbellishedParallels == WeighedAsOthers || p.Harmony == nil {
		return Off, true
	}
	for _, r := range []NoteRef{
		{m.Upper, int(m.UpperNotes[0])}, {m.Upper, int(m.UpperNotes[1])}, {m.Lower, int(m.LowerNotes[0])}, {m.Lower, int(m.LowerNotes[1])},
	} {
		if !p.chordTone(r) {
			return p.Limits.EmbellishedParallels.severity()
		}
	}
	return Off, true
}

// beatBetween reports whether a moment on a beat lies strictly between two others.
func (p *Passage) beatBetween(from, to int) bool {
	for m := from + 1; m < to; m++ {
		if p.strength(m) > 0 {
			return true
		}
	}
	return false
}

// anticipates reports whether one of two voices moves between the beats to its
// note in the final chord of a phrase, before that chord is struck. Teachers often pass over what
// that makes with the dominant (common practice, no source).
func (p *Passage) anticipates(m *pairMove) bool {
	if p.Harmony == nil || p.strength(m.To) > 0 {
		return false
	}
	for _, r := range []NoteRef{{m.Upper, int(m.UpperNotes[1])}, {m.Lower, int(m.LowerNotes[1])}} {
		line := p.Voices[r.Voice].Notes
		if p.Harmony.Notes[r.Voice][r.Note].Class != harmony.Anticipation || r.Note+1 == len(line) {
			continue
		}
		if next := p.momentOf(NoteRef{r.Voice, r.Note + 1}); p.isCadence(next) && !p.beatBetween(m.To, next) {
			return true
		}
	}
	return false
}

// onlyChangesRegister reports whether the pair keeps its two pitch classes, in
// the same voices or exchanged, within a phrase: a change of position inside one
// harmony. Common practice, no source.
func (p *Passage) onlyChangesRegister(m *pairMove) bool {
	if m.PhraseEnd {
		return false
	}
	upper, lower := p.Voices[m.Upper].Notes, p.Voices[m.Lower].Notes
	u0, u1 := upper[m.UpperNotes[0]].Pitch.Class(), upper[m.UpperNotes[1]].Pitch.Class()
	l0, l1 := lower[m.LowerNotes[0]].Pitch.Class(), lower[m.LowerNotes[1]].Pitch.Class()
	return (u0 == u1 && l0 == l1) || (u0 == l1 && l0 == u1)
}

func (p *Passage) consecutivesAtRepeats() []Finding {
	var found []Finding
	if !Compared(p.Texture) {
		return nil
	}
	for _, j := range p.Joins() {
		if j.To == j.From+1 {
			continue // the page shows it
		}
		for upper := range p.Voices {
			for lower := upper + 1; lower < len(p.Voices) && len(found) < maxPerRule; lower++ {
				if f, parallel := p.parallelOver(j.From, j.To, upper, lower); parallel {
					found = append(found, f)
				}
			}
		}
	}
	return found
}

// parallelOver reports the finding where a pair of voices moves in parallel
// perfect intervals from the last sonority before a jump to the first one after
// it.
func (p *Passage) parallelOver(from, to, upper, lower int) (Finding, bool) {
	for _, v := range []int{upper, lower} {
		if p.cell(from, v).note < 0 || p.cell(to, v).note < 0 || !p.IsStruck(to, v) {
			return Finding{}, false
		}
	}
	if !bothMove(p.cell(from, upper), p.cell(to, upper), p.cell(from, lower), p.cell(to, lower)) {
		return Finding{}, false
	}
	m := p.pairMove(from, to, upper, lower)
	m.PhraseEnd = p.phraseEnds[from] || from == len(p.Moments)-1
	s := &m.stretch
	if s.Kept = p.onlyChangesRegister(&m); !s.sameWay() || !s.follow(PerfectFifthApart) && !s.follow(OctaveApart) && !s.follow(UnisonApart) {
		return Finding{}, false
	}
	f := p.atPair(&m)
	interval := Word("fifths")
	switch {
	case s.follow(UnisonApart):
		interval = "unisons"
	case s.follow(OctaveApart):
		interval = "octaves"
	}
	where := Word("over-repeat")
	if to > from {
		where = "over-jump"
	}
	f.Args = append(f.Args, Arg{"interval", interval}, Arg{"where", where})
	// The reader meets it at the sign that sends the players away.
	f.Onset, f.Measure = p.Moments[from].Onset, int(p.Moments[from].Measure)
	return f, true
}

// inTenths reports whether a voice runs with the bass in thirds or tenths over
// the same two sonorities: the fourth degree then rises with good reason.
func (p *Passage) inTenths(voice, bass int, m *pairMove) bool {
	before, both := p.dyad(m.From, voice, bass)
	after, still := p.dyad(m.To, voice, bass)
	return both && still && before.Simple().Steps == 2 && after.Simple().Steps == 2
}

// isDiminishedSeventh reports whether a complete diminished seventh chord, as
// spelled, sounds at a moment.
func (p *Passage) isDiminishedSeventh(m int) bool {
	return p.spelling(m).shape() == diminishedSeventh
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
