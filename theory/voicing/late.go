package voicing

import (
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// Late is a member of a chord that comes late, as a thoroughbass asks for it: in its place
// the note before sounds on, which a voice of the chord before has prepared (Open Music
// Theory v1, "Thoroughbass figures"; Butterfield, unit 10).
type Late = harmony.Late

// lead is a note of one chord that is to go to a note of the next in the same voice, by
// step. What a figure asks for is an order; what a suspended chord symbol means is a wish.
type lead struct {
	from, to theory.PitchClass
	order    bool
}

// leadsInto are the leads from a chord to the next: what prepares its late notes, and the
// resolution of a suspended fourth or of a ninth where the next chord holds it.
func leadsInto(before, chord *ProgressionChord) []lead {
	var out []lead
	for _, l := range chord.Late {
		out = append(out, lead{l.From, l.To, true})
	}
	if before.Choices != nil || chord.Choices != nil || before.PhraseEnd {
		return out
	}
	for _, member := range restless(before.Reading.Quality()) {
		note := before.Reading.Member(member)
		if chord.Reading.MemberOf(note) >= 0 {
			continue
		}
		for m := range chord.Reading.Size() {
			if goal := chord.Reading.Member(m); (goal.Step+1)%7 == note.Step {
				out = append(out, lead{note, goal, false})
			}
		}
	}
	return out
}

// restless are the members that resolve down by step: a suspended fourth, the ninth of a
// dominant. Sevenths have rules of their own.
func restless(q harmony.Quality) []int {
	switch q {
	case harmony.SuspendedFourth, harmony.SeventhSuspendedFourth, harmony.DominantEleventh:
		return []int{1}
	case harmony.DominantNinth, harmony.DominantLoweredNinth, harmony.MinorNinth, harmony.MajorNinth:
		return []int{2}
	}
	return nil
}

// of is what one voice has to do with a lead.
func (l lead) of(r *partwriting.Resolution) partwriting.Part {
	if r.Note == l.from && r.Goal == l.to && abs(r.Move.Steps) == 1 && !r.Bass {
		return partwriting.Settles
	}
	return partwriting.LeavesOpen | partwriting.CallsFor
}

// leadsTo adds the leads to what the two chords ask of all voices together.
func (m *motions) leadsTo() {
	for _, l := range m.b.leads {
		if len(m.shared) == maxShared {
			return
		}
		price := 2 * m.style.Weights.Caution
		if l.order {
			price = m.barred
		}
		m.shared, m.prices = append(m.shared, partwriting.Shared{Of: l.of}), append(m.prices, price)
	}
}

// crowded reports whether a note that is to come late sounds in another upper voice
// already, so that its coming would be no news, or is not there.
func (s *set) crowded(a *arrangement, n int) bool {
	for _, l := range s.late {
		has := 0
		for _, other := range s.late {
			if other.To == l.To {
				has--
			}
		}
		for v := range n - 1 {
			if s.tones[v][a.tone[v]].class == l.To {
				has++
			}
		}
		if has != 0 {
			return true
		}
	}
	return false
}

// delay lets the late notes of a chord come late in a line that holds the chord's note
// last: the note before goes on where it is the same.
func (l *Layout) delay(line []lineNote, k int) []lineNote {
	if k >= len(l.Late) {
		return line
	}
	last := &line[len(line)-1]
	late := l.lateNote(line, k)
	if late == nil {
		return line
	}
	held := lineNote{pitch: stepAway(last.pitch, late.From), from: last.from, to: last.from.Add(late.For)}
	if !held.to.Less(last.to) {
		return line
	}
	last.from = held.to
	if n := len(line); n > 1 && line[n-2].pitch == held.pitch && line[n-2].to == held.from {
		line[n-2].to = held.to
		return line
	}
	return slices.Insert(line, len(line)-1, held)
}

// lateNote is what the last note of a line waits for, nil for nothing: of two late notes
// that come to it the one that its voice has before.
func (l *Layout) lateNote(line []lineNote, k int) *Late {
	var found *Late
	last := line[len(line)-1].pitch
	for i := range l.Late[k] {
		late := &l.Late[k][i]
		if last.Class() != late.To {
			continue
		}
		if n := len(line); n > 1 && line[n-2].pitch == stepAway(last, late.From) {
			return late
		}
		if found == nil {
			found = late
		}
	}
	return found
}

// stepAway is the note of a class that lies a step from a pitch.
func stepAway(p theory.Pitch, c theory.PitchClass) theory.Pitch {
	out := theory.Pitch{Step: c.Step, Alter: c.Alter, Octave: p.Octave}
	for out.Diatonic() > p.Diatonic()+1 {
		out.Octave--
	}
	for out.Diatonic() < p.Diatonic()-1 {
		out.Octave++
	}
	return out
}

// hush takes the rests out of a line.
func (l *Layout) hush(line []lineNote) []lineNote {
	for _, r := range l.Rests {
		var out []lineNote
		for _, n := range line {
			if !n.from.Less(r.To) || !r.From.Less(n.to) {
				out = append(out, n)
				continue
			}
			if n.from.Less(r.From) {
				out = append(out, lineNote{pitch: n.pitch, from: n.from, to: r.From})
			}
			if r.To.Less(n.to) {
				out = append(out, lineNote{pitch: n.pitch, from: r.To, to: n.to})
			}
		}
		line = out
	}
	return line
}

// under puts the notes that the lowest voice has in place of those of its chords.
func (l *Layout) under(line []lineNote) []lineNote {
	for _, given := range l.Under {
		at := lineNote{pitch: given.Pitch, from: given.Onset, to: given.End()}
		var out []lineNote
		for _, n := range line {
			if n.from.Less(at.from) {
				out = append(out, lineNote{pitch: n.pitch, from: n.from, to: earliest(n.to, at.from)})
			}
		}
		if n := len(out); n > 0 && out[n-1].pitch == at.pitch && out[n-1].to == at.from {
			out[n-1].to = at.to // a suspended bass is held over
		} else {
			out = append(out, at)
		}
		for _, n := range line {
			if at.to.Less(n.to) {
				out = append(out, lineNote{pitch: n.pitch, from: latest(n.from, at.to), to: n.to})
			}
		}
		line = out
	}
	return line
}

func earliest(a, b theory.Fraction) theory.Fraction {
	if b.Less(a) {
		return b
	}
	return a
}

func latest(a, b theory.Fraction) theory.Fraction {
	if a.Less(b) {
		return b
	}
	return a
}
