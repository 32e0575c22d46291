package voicing

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Moving is what an outer line that is given does while a chord lasts: the notes with which
// it comes in and goes on, where these are not the note that the chord is set against, and
// how low the top line goes. Nil means that the line has the one note.
type Moving struct {
	TopIn, TopOut, TopLow, BassOut *theory.Pitch
}

// setLines makes the chord as it is entered and as it is left, where given lines move while
// it lasts: how voices move into a chord and out of it is judged by the notes that sound
// there.
func (s *set) setLines(g *Moving, n int) {
	s.entered, s.left = s, s
	if g.TopIn != nil {
		s.entered = s.with(0, *g.TopIn, n)
	}
	if g.TopOut != nil {
		s.left = s.with(0, *g.TopOut, n)
	}
	if g.BassOut != nil {
		s.left = s.left.with(n-1, *g.BassOut, n)
	}
}

// with is the chord with another note in one voice, whatever it stands for.
func (s *set) with(v int, p theory.Pitch, n int) *set {
	out := *s
	out.tones[v] = make([]tone, len(s.tones[v]))
	lead, hasLead := s.chord.LeadingTone()
	seventh, hasSeventh := s.chord.Seventh()
	member := s.reading.MemberOf(p.Class())
	for i := range out.tones[v] {
		t := &out.tones[v][i]
		*t = tone{
			pitch: p, class: p.Class(), semitones: p.Semitones(), diatonic: p.Diatonic(), member: int8(member),
			third:   (int(p.Step-s.chord.Bass().Step)+7)%7 == 2,
			leading: hasLead && p.Class() == lead, seventh: hasSeventh && p.Class() == seventh,
			asks: member >= 0 && s.chord.Asks(member),
		}
	}
	out.arrangements = append([]arrangement(nil), s.arrangements...)
	out.pairUp(n)
	return &out
}

// crosses reports whether the voice below the top one stands above the lowest note of a
// given top line.
func (s *set) crosses(a *arrangement, n int) bool {
	return s.lowest != nil && n > 2 && s.tones[1][a.tone[1]].semitones > s.lowest.Semitones()
}

// AgainstLine settles the note of a given top line that a chord is set against: the first of
// its notes that is a member. The others are foreign to the chord, as passing notes,
// suspensions and appoggiaturas are, or members beside it. It reports false where none is.
func (c *ProgressionChord) AgainstLine(line []theory.VoiceNote, reading harmony.Reading) bool {
	for i := range line {
		if reading.MemberOf(line[i].Pitch.Class()) < 0 {
			continue
		}
		if len(c.Fixed) == 0 {
			c.Fixed = []*theory.Pitch{nil}
		}
		c.Fixed[0] = &line[i].Pitch
		c.Moving.follow(line, i)
		return true
	}
	return false
}

// follow notes how a top line goes on around the note that its chord is set against.
func (g *Moving) follow(line []theory.VoiceNote, set int) {
	last := len(line) - 1
	if set > 0 {
		g.TopIn = &line[0].Pitch
	}
	if set < last {
		g.TopOut = &line[last].Pitch
	}
	for i := range line {
		if g.TopLow == nil || g.TopLow.Above(line[i].Pitch) {
			g.TopLow = &line[i].Pitch
		}
	}
}
