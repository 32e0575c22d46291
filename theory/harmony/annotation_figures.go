package harmony

import (
	"slices"
	"strconv"

	"partwright/theory"
)

// figureAnnotations reads the figured bass. Figures stand for chords above the
// lowest note of their own part, whatever sounds below it elsewhere, and hold as
// long as that note does or until the next ones. A number without an accidental
// takes the alteration that sounds, since figured basses leave out what the parts
// make plain.
func figureAnnotations(t *theory.Texture) []Annotation {
	s := t.Score
	part := busiest(s.Figures, func(f *theory.GivenFigures) int { return f.Part })
	bass := basses(t, part)
	var out []Annotation
	// Figures of a suspension name no chord: the chord is that of the figures
	// they resolve to over the same note, and begins with the suspension.
	var suspended *theory.Fraction
	for i := range s.Figures {
		f := &s.Figures[i]
		if f.Part != part {
			continue
		}
		note := bass.at(f.Onset)
		if note == nil {
			continue
		}
		if isExtension(f) {
			if n := len(out); n > 0 && out[n-1].End == f.Onset {
				out[n-1].End = note.End()
			}
			continue
		}
		if suspended != nil && suspended.Less(note.Onset) {
			suspended = nil
		}
		next := nextOver(s, i, part, note)
		until := note.End()
		if next != nil {
			until = next.Onset
		}
		chord, ok := chordOver(t, note.Pitch.Class(), f, until)
		if !ok || isSuspension(f, next, chord) {
			if suspended == nil {
				suspended = &f.Onset
			}
			continue
		}
		a := Annotation{
			Onset: f.Onset, End: later(note.End(), f.Onset.Add(f.Duration)), Source: FromFigures,
			Text: figureText(f.Figures), Chord: chord,
		}
		if suspended != nil {
			a.Onset = *suspended
		}
		suspended = nil
		out = append(out, a)
	}
	return withChord(inTurn(out))
}

// chordOver names the chord of figures over a bass that hold until an onset.
func chordOver(t *theory.Texture, bass theory.PitchClass, f *theory.GivenFigures, until theory.Fraction) (Chord, bool) {
	classes, err := realize(bass, f.Figures, t.Score.Measures[f.Measure].Key)
	if err != nil {
		return Chord{}, false
	}
	var altered [7]bool
	for _, figure := range f.Figures {
		if figure.Prefix != "" || figure.Suffix != "" {
			number := figure.Number
			if number == 0 {
				number = 3
			}
			altered[(int(bass.Step)+number-1)%7] = true
		}
	}
	heard := heardBetween(t, f.Onset, until)
	for i, c := range classes[1:] {
		if altered[c.Step] || slices.Contains(heard, c) {
			continue
		}
		if as := slices.IndexFunc(heard, func(h theory.PitchClass) bool { return h.Step == c.Step }); as >= 0 {
			classes[i+1] = heard[as]
		}
	}
	return Identify(classes, bass)
}

// heardBetween lists the pitch classes that sound from one onset up to another.
func heardBetween(t *theory.Texture, from, until theory.Fraction) []theory.PitchClass {
	var heard []theory.PitchClass
	for v := range t.Voices {
		notes := t.Voices[v].Notes
		at, next := noteAt(notes, from)
		if at < 0 {
			at = next
		}
		for ; at < len(notes) && notes[at].Onset.Less(until); at++ {
			if c := notes[at].Pitch.Class(); !slices.Contains(heard, c) {
				heard = append(heard, c)
			}
		}
	}
	return heard
}

// isExtension reports whether a stack is only lines that continue the one before.
func isExtension(f *theory.GivenFigures) bool {
	return !slices.ContainsFunc(f.Figures, func(f theory.Figure) bool { return !f.Extends || f.Number > 0 })
}

// nextOver returns the next figures of the part if they stand over the same note.
func nextOver(s *theory.Score, i, part int, note *theory.Note) *theory.GivenFigures {
	for i++; i < len(s.Figures); i++ {
		if f := &s.Figures[i]; f.Part == part {
			if f.Onset.Less(note.End()) {
				return f
			}
			return nil
		}
	}
	return nil
}

// isSuspension reports whether figures that could be a chord are a suspension that
// the next ones resolve: 7 to 6 (Open Music Theory v1, "Thoroughbass figures"), or 6
// to 5 where the sixth would make an augmented triad.
func isSuspension(f, next *theory.GivenFigures, chord Chord) bool {
	if next == nil {
		return false
	}
	has := func(f *theory.GivenFigures, number int) bool {
		return slices.ContainsFunc(f.Figures, func(f theory.Figure) bool { return f.Number == number })
	}
	return len(f.Figures) == 1 && len(next.Figures) == 1 && has(f, 7) && has(next, 6) ||
		chord.Quality == AugmentedTriad && has(f, 6) && has(next, 5)
}

// bassLine is what sounds in one part, in order of onset.
type bassLine struct{ notes []*theory.Note }

// basses collects the notes of a part; where it has none, as a part of figures
// only, those of the part with the lowest voice.
func basses(t *theory.Texture, part int) bassLine {
	s := t.Score
	if part >= 0 && s.Parts[part].Kind != theory.PitchedPart && len(t.Voices) > 0 {
		part = t.Voices[len(t.Voices)-1].Part
	}
	var b bassLine
	for i := range s.Notes {
		if n := &s.Notes[i]; int(n.Part) == part && n.Sounds() {
			b.notes = append(b.notes, n)
		}
	}
	slices.SortStableFunc(b.notes, func(x, y *theory.Note) int { return x.Onset.Cmp(y.Onset) })
	return b
}

// at returns the lowest note that sounds at an onset, nil in silence.
func (b bassLine) at(onset theory.Fraction) *theory.Note {
	end, _ := slices.BinarySearchFunc(b.notes, onset, func(n *theory.Note, o theory.Fraction) int {
		if o.Less(n.Onset) {
			return 1
		}
		return -1
	})
	var lowest *theory.Note
	// A part sounds few notes at once; what began long before has ended.
	for i := end - 1; i >= max(0, end-maxHeld); i-- {
		n := b.notes[i]
		if onset.Less(n.End()) && (lowest == nil || lowest.Pitch.Above(n.Pitch)) {
			lowest = n
		}
	}
	return lowest
}

// maxHeld is how many notes of its part a bass note may be held under.
const maxHeld = 64

func appendInt(out []byte, n int) []byte { return strconv.AppendInt(out, int64(n), 10) }
