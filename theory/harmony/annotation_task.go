package harmony

import (
	"errors"
	"fmt"
	"slices"

	"partwright/theory"
)

// TaskAnnotations returns the labels of a score as [ScoreAnnotations] does, for a task that
// is to be carried out: chord symbols with all that they ask for, figures with the members
// that come late. What is not understood is a label with a Problem.
func TaskAnnotations(t *theory.Texture) []Annotation {
	labels := numeralAnnotations(t)
	labels = fill(labels, figuredAnnotations(t))
	return fill(labels, fullSymbols(t.Score))
}

// fullSymbols reads the chord symbols in full, each until the next one; no chord is a label
// that is Silent.
func fullSymbols(s *theory.Score) []Annotation {
	part := busiest(s.Chords, func(c *theory.GivenChord) int {
		if isNumeral(c) {
			return -1
		}
		return c.Part
	})
	var out []Annotation
	for i := range s.Chords {
		given := &s.Chords[i]
		if given.Part != part || isNumeral(given) {
			continue
		}
		a := Annotation{Onset: given.Onset, End: s.End(), Source: FromSymbol}
		switch chord, err := FullChord(given); {
		case given.Kind == theory.NoChordKind || !given.HasRoot && IsNoChord(given.Text):
			a.Silent, a.Text = true, noChord[0]
		case !given.HasRoot:
			a.Text, a.Problem = "a chord symbol", "a chord symbol has no root; write one, such as C or Am7"
		case err != nil:
			a.Text, a.Problem = given.Root.String()+symbolText(given), err.Error()
		default:
			a.Chord, a.OpenBass, a.Text = chord, !given.HasBass && given.Inversion == 0, chord.Symbol()
		}
		out = append(out, a)
	}
	return withChord(inTurn(out))
}

// figuredAnnotations are the chords of the figured bass notes, each for as long as its
// figures and their note hold.
func figuredAnnotations(t *theory.Texture) []Annotation {
	s := t.Score
	part := busiest(s.Figures, func(f *theory.GivenFigures) int { return f.Part })
	if part < 0 || len(t.Voices) == 0 {
		return nil
	}
	bass := &t.Voices[len(t.Voices)-1]
	for v := range t.Voices {
		if t.Voices[v].Part == part {
			bass = &t.Voices[v]
		}
	}
	figured := stacksOver(s, part, bass)
	var out []Annotation
	for n := 0; n < len(figured); n++ {
		if len(figured[n].Stacks) == 0 {
			continue
		}
		first := n
		if figured[n].Stacks[0].Holds && n > 0 {
			first-- // an unfigured chord is held
			figured[first].Stacks = []FigureStack{{Length: bass.Notes[first].Duration}}
		}
		for n < len(figured) && len(figured[n].Stacks) > 0 {
			n++
		}
		out = append(out, figuredRun(s, bass, figured, first, n)...)
	}
	out = append(out, overRests(s, part, bass)...)
	slices.SortStableFunc(out, func(a, b Annotation) int { return a.Onset.Cmp(b.Onset) })
	return inTurn(out)
}

// overRests are the figures of a part that stand where its bass has no note, which are
// nobody's: a problem each.
func overRests(s *theory.Score, part int, bass *theory.Voice) []Annotation {
	var out []Annotation
	next := 0
	for i := range s.Figures {
		f := &s.Figures[i]
		for next < len(bass.Notes) && !f.Onset.Less(bass.Notes[next].End()) {
			next++
		}
		if f.Part != part || isExtension(f) || isBlank(f.Figures) || next < len(bass.Notes) && !f.Onset.Less(bass.Notes[next].Onset) {
			continue
		}
		end := s.End()
		if next < len(bass.Notes) {
			end = bass.Notes[next].Onset
		}
		text := figureText(f.Figures)
		out = append(out, Annotation{Onset: f.Onset, End: end, Source: FromFigures, Text: text,
			Problem: fmt.Sprintf("the figures %s stand where the bass rests; a figure belongs to the note above it", text)})
	}
	return out
}

// GivenFigures are the figures of the part that has the most of them, in order, over the
// notes of a bass.
func GivenFigures(s *theory.Score, bass *theory.Voice) []theory.GivenFigures {
	return figuresOver(s, busiest(s.Figures, func(f *theory.GivenFigures) int { return f.Part }), bass)
}

// figuresOver are the figures of a part over a bass, in order. Stacks that stand under one
// note without durations share its time alike, as those of a text do; with durations W3C
// MusicXML 4.0 says when each begins.
func figuresOver(s *theory.Score, part int, bass *theory.Voice) []theory.GivenFigures {
	var out []theory.GivenFigures
	for i := range s.Figures {
		if s.Figures[i].Part == part {
			out = append(out, s.Figures[i])
		}
	}
	note := 0
	for first, end := 0, 0; first < len(out); first = end {
		onset := out[first].Onset
		for end = first; end < len(out) && out[end].Onset == onset && out[end].Duration.Sign() == 0; end++ {
		}
		for note < len(bass.Notes) && !onset.Less(bass.Notes[note].End()) {
			note++
		}
		if end-first < 2 || note == len(bass.Notes) || onset.Less(bass.Notes[note].Onset) {
			end = max(end, first+1)
			continue
		}
		each := bass.Notes[note].End().Sub(onset).Mul(theory.Frac(1, int64(end-first)))
		for i := first; i < end; i++ {
			out[i].Onset, out[i].Duration = onset, each
			onset = onset.Add(each)
		}
	}
	return out
}

// figuredRun realizes the notes from one up to another, which are all figured.
func figuredRun(s *theory.Score, bass *theory.Voice, figured []FiguredNote, first, end int) []Annotation {
	at := func(note, stack int) theory.Fraction {
		onset := bass.Notes[note].Onset
		for _, before := range figured[note].Stacks[:stack] {
			onset = onset.Add(before.Length)
		}
		return onset
	}
	chords, err := RealizeFigures(figured[first:end], func(n int) theory.KeySignature {
		return s.MeasureAt(bass.Notes[first+n].Onset).Key
	})
	var wrong *FiguresError
	if errors.As(err, &wrong) {
		note := first + wrong.Note
		onset := at(note, wrong.Stack)
		return []Annotation{{Onset: onset, End: bass.Notes[note].End(), Source: FromFigures, Text: "figures", Problem: wrong.Problem}}
	}
	var out []Annotation
	for _, c := range chords {
		a := Annotation{Onset: at(first+c.Note, c.Stack), Source: FromFigures, Text: c.Text, Chord: c.Chord, Late: c.Late, Below: c.Below}
		a.End = a.Onset.Add(c.Length)
		if a.Text == "" {
			a.Text = "5 3"
		}
		out = append(out, a)
	}
	return out
}

// stacksOver are the notes of a bass with the figures of a part over them; a note without
// figures has no stack.
func stacksOver(s *theory.Score, part int, bass *theory.Voice) []FiguredNote {
	notes := make([]FiguredNote, len(bass.Notes))
	figures, next := figuresOver(s, part, bass), 0
	var before []theory.Figure
	for n := range bass.Notes {
		note := &bass.Notes[n]
		notes[n].Bass = note.Pitch.Class()
		at := note.Onset
		for ; next < len(figures) && figures[next].Onset.Less(note.End()); next++ {
			f := &figures[next]
			if f.Onset.Less(note.Onset) {
				continue
			}
			stacks := &notes[n].Stacks
			if len(*stacks) == 0 && note.Onset.Less(f.Onset) {
				*stacks = append(*stacks, FigureStack{})
			}
			if k := len(*stacks); k > 0 {
				(*stacks)[k-1].Length = f.Onset.Sub(at)
			}
			at = f.Onset
			stack := FigureStack{Figures: continued(f.Figures, before), Holds: isExtension(f)}
			if stack.Holds && len(*stacks) > 0 {
				stack = (*stacks)[len(*stacks)-1]
				(*stacks) = (*stacks)[:len(*stacks)-1]
				at = at.Sub(stack.Length)
			}
			before = stack.Figures
			*stacks = append(*stacks, stack)
		}
		if k := len(notes[n].Stacks); k > 0 {
			notes[n].Stacks[k-1].Length = note.End().Sub(at)
		}
	}
	return notes
}

// continued are the figures of a stack, with those of the one before where a line continues
// them in the same row.
func continued(figures, before []theory.Figure) []theory.Figure {
	out := make([]theory.Figure, 0, len(figures))
	for row, f := range figures {
		switch {
		case !f.Extends || f.Number > 0 || f.Prefix != "":
			out = append(out, f)
		case row < len(before):
			out = append(out, before[row])
		}
	}
	return slices.Clip(out)
}
