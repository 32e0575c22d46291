package partwriting

import (
	"sort"

	"partwright/theory"
)

// candidates lists changes of one note, then of two notes struck together, the
// smallest first.
func (s *fixer) candidates(f *Finding) []Fix {
	var singles []Fix
	notes := append([]NoteRef(nil), f.Notes...)
	for _, r := range notes {
		for _, to := range s.places(r) {
			singles = append(singles, Fix{Edits: []Edit{{Note: r, To: to}}})
		}
	}
	s.sort(singles)
	var doubles []Fix
	for i, a := range singles {
		for _, b := range singles[i+1:] {
			x, y := a.Edits[0], b.Edits[0]
			if x.Note.Voice == y.Note.Voice || s.passage.momentOf(x.Note) != s.passage.momentOf(y.Note) {
				continue
			}
			doubles = append(doubles, Fix{Edits: []Edit{x, y}})
		}
	}
	s.sort(doubles)
	return append(singles, doubles...)
}

func (s *fixer) sort(fixes []Fix) {
	size := func(fix Fix) int {
		sum := 0
		for _, e := range fix.Edits {
			sum += abs(e.To.Semitones() - s.passage.Note(e.Note).Pitch.Semitones())
		}
		return sum
	}
	sort.SliceStable(fixes, func(i, j int) bool { return size(fixes[i]) < size(fixes[j]) })
}

// places returns the other pitches of the harmony within an octave of a note and
// between its neighbors. A note that is foreign to the harmony stays as it is,
// unless the chord was named and the note is wrong in it.
func (s *fixer) places(r NoteRef) []theory.Pitch {
	p := s.passage
	m := p.momentOf(r)
	pitch := p.Note(r).Pitch
	classes := s.classes(m, pitch)
	if h := p.chordAt(m); !classes.has(pitch.Class()) && !named(h) {
		return nil
	}
	floor, ceiling := pitch.Semitones()-12, pitch.Semitones()+12
	if r.Voice+1 < len(p.Voices) {
		if c := p.cell(m, r.Voice+1); c.note >= 0 && int(c.semitones) <= pitch.Semitones() {
			floor = max(floor, int(c.semitones))
		}
	}
	if r.Voice > 0 {
		if c := p.cell(m, r.Voice-1); c.note >= 0 && int(c.semitones) >= pitch.Semitones() {
			ceiling = min(ceiling, int(c.semitones))
		}
	}
	var out []theory.Pitch
	for octave := pitch.Octave - 1; octave <= pitch.Octave+1; octave++ {
		for set := classes; set != 0; set &= set - 1 {
			class := set.flattest()
			to := theory.Pitch{Step: class.Step, Alter: class.Alter, Octave: octave}
			if h := to.Semitones(); h >= floor && h <= ceiling && to != pitch {
				out = append(out, to)
			}
		}
	}
	return out
}

// classes are the members of the harmony at a moment, or what sounds there.
func (s *fixer) classes(m int, pitch theory.Pitch) pitchClasses {
	if h := s.passage.chordAt(m); h != nil {
		return h.set
	}
	return s.passage.spelling(m)
}
