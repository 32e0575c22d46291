package voicing

import (
	"math"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// Moving is what an outer line that is given does while a chord lasts: the notes with which
// it comes in and goes on, where these are not the note that the chord is set against, how
// low the top line goes, and its further notes. Nil means that the line has the one note.
type Moving struct {
	TopIn, TopOut, TopLow, BassOut *theory.Pitch
	Beside                         []TopNote
	// TopRests is set where a given top line has no note while the chord lasts: the other
	// voices sing all of the chord then.
	TopRests bool
}

// TopNote is a further note of a given top line, and whether it begins on a beat.
type TopNote struct {
	Pitch  theory.Pitch
	OnBeat bool
}

// fleeting is how many cautions a fault weighs that only a further note of a given top line
// makes, and arriving a member that only comes with such a note: they are avoided where they
// can be.
const fleeting, arriving = 20, 4

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

// besideTop sets out the further notes of a given top line.
func (s *set) besideTop(notes []TopNote) {
	for i := range notes {
		p := notes[i].Pitch
		s.line = append(s.line, topTone{
			tone:   tone{pitch: p, semitones: p.Semitones(), diatonic: p.Diatonic(), member: int8(s.reading.MemberOf(p.Class()))},
			onBeat: notes[i].OnBeat,
		})
	}
}

// topTone is a further note of a given top line above a chord.
type topTone struct {
	tone
	onBeat bool
}

// unheard adds what is missing of a chord under a rest of the top line: members that a chord
// usually has and no other voice sings, which are avoided as [fleeting] faults are.
func (s *set) unheard(a *arrangement, count memberCounts, taste *taste, v *ruling) {
	count[s.tones[0][a.tone[0]].member]--
	for m := range taste.size {
		if count[m] < taste.least[m] {
			v.cautions = uint8(min(int(v.cautions)+fleeting, math.MaxUint8))
		}
	}
}

// heard counts the members of a chord with those that the top line brings later.
func (s *set) heard(count memberCounts) memberCounts {
	for i := range s.line {
		if m := s.line[i].member; m >= 0 && count[m] == 0 {
			count[m] = 1
		}
	}
	return count
}

// against adds what the rules say of the further notes of the top line above the others:
// gaps, and members doubled on a beat.
func (s *set) against(a *arrangement, count memberCounts, style *Style, v *ruling) {
	n, law := len(style.Voices), style.under()
	faults := 0
	for i := range s.line {
		note := &s.line[i]
		if n > 2 {
			if gap := from(&s.tones[1][a.tone[1]], &note.tone); gap.Semitones > law.gap && law.Gap(gap, n) >= partwriting.Fault {
				faults++
			}
		}
		top := s.tones[0][a.tone[0]].member
		if note.onBeat && note.member >= 0 && note.member != top && count[note.member] > 0 {
			moved := count
			moved[top]--
			moved[note.member]++
			faults += int(s.judged(moved, style, doublings).faults)
		}
	}
	v.cautions = uint8(min(int(v.cautions)+fleeting*faults, math.MaxUint8))
}

// AgainstLine settles the note of a given top line that a chord is set against: the first of
// its notes that is a member. The others are foreign to the chord, as passing notes,
// suspensions and appoggiaturas are, or members beside it. It reports false where none is.
// The other function tells which onsets are beats.
func (c *ProgressionChord) AgainstLine(line []theory.VoiceNote, reading harmony.Reading, beat func(theory.Fraction) bool) bool {
	for i := range line {
		if reading.MemberOf(line[i].Pitch.Class()) < 0 {
			continue
		}
		if len(c.Fixed) == 0 {
			c.Fixed = []*theory.Pitch{nil}
		}
		c.Fixed[0] = &line[i].Pitch
		c.FollowLine(line, i, beat)
		return true
	}
	return false
}

// FollowLine notes how a given top line goes on around the note that the chord is set
// against, by its index in the line.
func (c *ProgressionChord) FollowLine(line []theory.VoiceNote, set int, beat func(theory.Fraction) bool) {
	g := &c.Moving
	last := len(line) - 1
	if set > 0 {
		g.TopIn = &line[0].Pitch
	}
	if set < last {
		g.TopOut = &line[last].Pitch
	}
	for i := range line {
		if i != set && line[i].Pitch != line[set].Pitch {
			g.Beside = append(g.Beside, TopNote{line[i].Pitch, beat(line[i].Onset)})
		}
		if g.TopLow == nil || g.TopLow.Above(line[i].Pitch) {
			g.TopLow = &line[i].Pitch
		}
	}
}
