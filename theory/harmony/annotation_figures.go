package harmony

import (
	"slices"
	"strconv"

	"partwright/theory"
)

// figureAnnotations reads the figured bass. Figures stand for chords above the
// lowest note of their own part, whatever sounds below it elsewhere, and hold as
// long as that note does or until the next ones.
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
		chord, ok := chordOver(note.Pitch.Class(), f, s)
		if !ok || isSuspension(f, nextOver(s, i, part, note)) {
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

func chordOver(bass theory.PitchClass, f *theory.GivenFigures, s *theory.Score) (Chord, bool) {
	signature := s.Measures[f.Measure].Key
	classes, err := Realize(bass, f.Figures, signature)
	if err != nil {
		return Chord{}, false
	}
	return Identify(classes, bass)
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

// isSuspension reports whether figures that would be a seventh chord are a suspension
// that the next ones resolve: 7 to 6 (Open Music Theory v1, "Thoroughbass
// figures").
func isSuspension(f, next *theory.GivenFigures) bool {
	return next != nil && len(f.Figures) == 1 && f.Figures[0].Number == 7 &&
		len(next.Figures) == 1 && next.Figures[0].Number == 6
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
