package worker

import (
	"flag"
	"math/rand/v2"
	"slices"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/voicing"
)

var everyProof = flag.Bool("every-proof", false, "prove every phrase impossible that has no voicing, not a sample")

// prover searches a phrase for a voicing without a fault, and lets the rules
// alone decide: it knows ranges and chord members, and nothing of the solver.
// Chord by chord it keeps the settings that some setting of the chord before
// leads to without a fault. Where none is left the phrase is impossible.
type prover struct {
	phrase *voicing.Progression
	style  voicing.Style
	onsets []theory.Fraction
	// settings are those of each chord that have no fault standing alone, free
	// those that can be reached.
	settings [][]voicing.Chord
	free     [][]bool
	// from is the setting before, and for a note that is excused by what leads to
	// it the one before that, else -1.
	from   [][][2]int
	checks int
}

func newProver(phrase *voicing.Progression, style voicing.Style) *prover {
	p := &prover{phrase: phrase, style: style}
	at := theory.Fraction{}
	for k := range phrase.Chords {
		p.onsets = append(p.onsets, at)
		at = at.Add(phrase.Layout.Durations[k])
		var alone []voicing.Chord
		for _, c := range settingsOf(phrase.Chords[k].Reading, &style) {
			if wellSet(&c) && len(p.faults(k, c)) == 0 {
				alone = append(alone, c)
			}
		}
		p.settings = append(p.settings, alone)
		p.free = append(p.free, make([]bool, len(alone)))
		p.from = append(p.from, make([][2]int, len(alone)))
	}
	return p
}

// settingsOf lists every way to give each voice a member of the chord within its
// range, the member that the inversion asks for in the bass.
func settingsOf(r harmony.Reading, style *voicing.Style) []voicing.Chord {
	out := []voicing.Chord{{Reading: r}}
	for v, limits := range style.Voices {
		var longer []voicing.Chord
		for _, c := range out {
			for octave := limits.Low.Octave; octave <= limits.High.Octave; octave++ {
				for m := range r.Size() {
					class := r.Member(m)
					pitch := theory.Pitch{Step: class.Step, Alter: class.Alter, Octave: octave}
					if limits.Low.Above(pitch) || pitch.Above(limits.High) || v == len(style.Voices)-1 && m != r.Inversion() {
						continue
					}
					longer = append(longer, voicing.Chord{Reading: r, Pitches: append(slices.Clone(c.Pitches), pitch)})
				}
			}
		}
		out = longer
	}
	return out
}

// wellSet reports whether no voices cross and a chord has all its members, but
// for the fifth in root position, and neither leading tone nor seventh twice
// (Hutchinson, Music Theory for the 21st-Century Classroom, chapters 26 and 27;
// Butterfield, Integrated Music Theory, unit 10a). The rules are more patient:
// they call a missing seventh or inner voices that cross a caution, and pass over
// what is doubled between the beats.
func wellSet(c *voicing.Chord) bool {
	count := make([]int, c.Reading.Size())
	for _, pitch := range c.Pitches {
		count[c.Reading.MemberOf(pitch.Class())]++
	}
	lead, hasLead := c.Reading.LeadingTone()
	for m := range count {
		missing := count[m] == 0 && (m != 2 || c.Reading.Inversion() > 0)
		single := m == 3 || hasLead && c.Reading.Member(m) == lead
		if missing || single && count[m] > 1 {
			return false
		}
	}
	return true
}

// faults checks chords that stand in a row from index k of the phrase on, where
// they stand in its measures.
func (p *prover) faults(k int, chords ...voicing.Chord) []partwriting.Finding {
	p.checks++
	layout := voicing.Layout{Time: p.phrase.Layout.Time, Durations: p.phrase.Layout.Durations[k : k+len(chords)]}
	if full := layout.Time.Measure(); full.Sign() > 0 {
		into := p.onsets[k]
		for !into.Less(full) {
			into = into.Sub(full)
		}
		if into.Sign() > 0 {
			layout.Pickup = full.Sub(into)
		}
	}
	s := &voicing.Solution{Chords: chords}
	texture := s.Texture(&p.style, layout)
	return faultsOfLeading(partwriting.Check(texture, s.Harmony(texture, layout), p.style.Rules))
}

// impossibleAt returns the first chord that cannot be reached, -1 for none.
func (p *prover) impossibleAt() int {
	for k := range p.settings {
		reached := false
		for j := range p.settings[k] {
			p.from[k][j] = [2]int{-1, -1}
			p.free[k][j] = k == 0 || p.reaches(k, j)
			reached = reached || p.free[k][j]
		}
		if !reached {
			return k
		}
	}
	return -1
}

// reaches reports whether some free setting of the chord before leads to setting
// j of chord k, as the two stand or after some chord before them: what leads to a
// leading tone may excuse where it goes. Further back no rule looks where every
// chord is struck. A seventh is to resolve even between the beats, where the rules
// pass over one that is only touched (Open Music Theory v1, keyboard-style voice
// leading).
func (p *prover) reaches(k, j int) bool {
	var doubtful []int
	for i, before := range p.settings[k-1] {
		if !p.free[k-1][i] {
			continue
		}
		switch faults := p.faults(k-1, before, p.settings[k][j]); {
		case len(faults) == 0:
			p.from[k][j] = [2]int{i, -1}
			return true
		case k > 1 && onlyLeads(faults):
			doubtful = append(doubtful, i)
		}
	}
	for _, i := range doubtful {
		for h, first := range p.settings[k-2] {
			if p.free[k-2][h] && len(p.faults(k-2, first, p.settings[k-1][i], p.settings[k][j])) == 0 {
				p.from[k][j] = [2]int{i, h}
				return true
			}
		}
	}
	return false
}

func onlyLeads(faults []partwriting.Finding) bool {
	return !slices.ContainsFunc(faults, func(f partwriting.Finding) bool { return f.Rule != "leading-tone-unresolved" })
}

// voicing follows the first way back from the last chord.
func (p *prover) voicing() []voicing.Chord {
	out := make([]voicing.Chord, len(p.settings))
	j, excuse := slices.Index(p.free[len(out)-1], true), -1
	for k := len(out) - 1; k >= 0; k-- {
		out[k] = p.settings[k][j]
		before := p.from[k][j]
		if excuse >= 0 {
			before = [2]int{excuse, -1}
		}
		j, excuse = before[0], before[1]
	}
	return out
}

// proveImpossible fails the test unless the rules alone find no voicing either.
func proveImpossible(t *testing.T, name string, phrase *voicing.Progression, style voicing.Style, random *rand.Rand) {
	t.Helper()
	p := newProver(phrase, style)
	at := p.impossibleAt()
	if at < 0 {
		t.Errorf("%s: the solver finds no voicing, yet the rules allow one", name)
		for k, c := range p.voicing() {
			t.Logf("%v %v %v", p.onsets[k], c.Reading, c.Pitches)
		}
		return
	}
	p.holdsInContext(t, name, random)
	t.Logf("%s: chord %d, %v after %v: none of %d × %d settings, %d checks", name, at+1,
		phrase.Chords[at].Reading, phrase.Chords[max(at-1, 0)].Reading, len(p.settings[max(at-1, 0)]), len(p.settings[at]), p.checks)
}

// holdsInContext tests what the proof rests on: that a fault of two chords in a
// row, or of one alone, is a fault of the whole phrase too. It draws whole
// voicings at random.
func (p *prover) holdsInContext(t *testing.T, name string, random *rand.Rand) {
	type key struct {
		rule  partwriting.RuleID
		onset theory.Fraction
	}
	for range 20 {
		var whole []voicing.Chord
		for k := range p.settings {
			all := p.settings[k]
			if len(all) == 0 {
				return
			}
			whole = append(whole, all[random.IntN(len(all))])
		}
		in := map[key]bool{}
		for _, f := range p.faults(0, whole...) {
			in[key{f.Rule, f.Onset}] = true
		}
		for k := 1; k < len(whole); k++ {
			for _, f := range p.faults(k-1, whole[k-1:k+1]...) {
				if f.Family != partwriting.Tendency && !in[key{f.Rule, f.Onset.Add(p.onsets[k-1])}] {
					t.Errorf("%s: %s at %v is a fault of chords %d and %d alone, not of the phrase", name, f.Rule, f.Onset, k, k+1)
				}
			}
		}
	}
}
