package harmony

import (
	"fmt"
	"slices"
	"strings"

	"partwright/theory"
)

// FiguredNote is a bass note with its figures: one stack after the other, each for as long
// as it holds. Without figures it has one empty stack.
type FiguredNote struct {
	Bass   theory.PitchClass
	Stacks []FigureStack
}

// FigureStack is a stack of figures from the top down. Holds is set for lines alone, which
// keep the chord before while the bass moves.
type FigureStack struct {
	Figures []theory.Figure
	Length  theory.Fraction
	Holds   bool
}

// FiguredChord is what figures ask for: a chord for a while, with the members that come
// late. Note and Stack say where it begins; a chord that a suspended bass delays begins
// with the note before its own, and Below is how long that one holds.
type FiguredChord struct {
	Chord       Chord
	Length      theory.Fraction
	Late        []Late
	Note, Stack int
	Below       theory.Fraction
	Text        string
}

// FiguresError says which figures could not be realized, and why.
type FiguresError struct {
	Note, Stack int
	Problem     string
}

// Error returns the problem.
func (e *FiguresError) Error() string { return e.Problem }

// RealizeFigures names the chords of a figured bass under a key signature. What is no chord
// stacked in thirds is a suspension or retardation, if the next figures over the same note
// resolve each foreign note by step (4-3, 7-6, 9-8, 5/4-5/3, 9/4-8/3, 7-8 over the tonic),
// or one of the bass, if the next note lies a step below and has the chord (5/2 before 6).
// Anything else is a [*FiguresError] (Open Music Theory v1, "Thoroughbass figures").
func RealizeFigures(notes []FiguredNote, signature func(note int) theory.KeySignature) ([]FiguredChord, error) {
	var out []FiguredChord
	for n := 0; n < len(notes); n++ {
		r := realizer{note: n, bass: notes[n].Bass}
		for s := range notes[n].Stacks {
			if err := r.add(&notes[n].Stacks[s], signature(n)); err != nil {
				return nil, &FiguresError{n, s, err.Error()}
			}
		}
		chords, waits, err := r.chords()
		for waits != nil && n+1 < len(notes) && notes[n+1].Bass == r.bass { // struck again, or its octave
			n++
			r.note = n
			for s := range notes[n].Stacks {
				if err := r.add(&notes[n].Stacks[s], signature(n)); err != nil {
					return nil, &FiguresError{n, s, err.Error()}
				}
			}
			chords, waits, err = r.chords()
		}
		if err != nil {
			return nil, err
		}
		for _, c := range chords {
			if c.Text == holdText {
				if len(out) == 0 {
					return nil, &FiguresError{c.Note, c.Stack, "a line has no chord before it to hold"}
				}
				out[len(out)-1].Length = out[len(out)-1].Length.Add(c.Length)
				continue
			}
			out = append(out, c)
		}
		if waits == nil {
			continue
		}
		if n+1 == len(notes) {
			return nil, r.unresolved(len(r.stacks) - 1)
		}
		next := realizer{note: n + 1, bass: notes[n+1].Bass}
		for s := range notes[n+1].Stacks {
			if err := next.add(&notes[n+1].Stacks[s], signature(n+1)); err != nil {
				return nil, &FiguresError{n + 1, s, err.Error()}
			}
		}
		if !r.suspendedOver(waits, &next) {
			return nil, r.unresolved(len(r.stacks) - 1)
		}
		more, _, err := next.chords()
		if err != nil {
			return nil, err
		}
		more[0].Length, more[0].Below = more[0].Length.Add(waits.Length), waits.Length
		more[0].Note, more[0].Stack, more[0].Text = waits.Note, waits.Stack, waits.Text+" "+more[0].Text
		out = append(out, more...)
		n++
	}
	return out, nil
}

// holdText stands for lines that keep the chord before.
const holdText = "-"

// realizer works out the chords over one note, which may be struck again; note is the last
// that was added.
type realizer struct {
	note   int
	bass   theory.PitchClass
	stacks []realized
}

// realized is one stack with the notes it asks for, and which of its note's it is.
type realized struct {
	note, stack int
	classes     []theory.PitchClass
	chord       Chord
	// stands is set where the notes are a chord stacked in thirds.
	stands, holds bool
	numbers       []int
	length        theory.Fraction
	text          string
}

func (r *realizer) add(s *FigureStack, signature theory.KeySignature) error {
	place := 0
	if n := len(r.stacks); n > 0 && r.stacks[n-1].note == r.note {
		place = r.stacks[n-1].stack + 1
	}
	if s.Holds {
		r.stacks = append(r.stacks, realized{note: r.note, stack: place, holds: true, stands: true, length: s.Length, text: holdText})
		return nil
	}
	to := realized{note: r.note, stack: place, length: s.Length, text: figureText(s.Figures)}
	for _, way := range []bool{false, true} {
		classes, err := realizeAs(r.bass, s.Figures, signature, way)
		if err != nil {
			return fmt.Errorf("the figures %s over %v: %w", to.text, r.bass, err)
		}
		chord, ok := Identify(classes, r.bass)
		if way && !ok {
			break
		}
		to.classes, to.chord, to.stands = classes, chord, ok
		if ok {
			break
		}
	}
	for _, f := range s.Figures {
		to.numbers = append(to.numbers, f.Number)
	}
	r.stacks = append(r.stacks, to)
	return nil
}

// chords are those over the note; waits is the last stack where it resolves only over the
// next note.
func (r *realizer) chords() (out []FiguredChord, waits *FiguredChord, err error) {
	for s := 0; s < len(r.stacks); {
		first := &r.stacks[s]
		c := FiguredChord{Chord: first.chord, Length: first.length, Note: first.note, Stack: first.stack, Text: first.text}
		end := s + 1
		for end < len(r.stacks) && r.suspends(end-1) {
			c.Length, c.Text = c.Length.Add(r.stacks[end].length), c.Text+"-"+r.stacks[end].text
			end++
		}
		last := &r.stacks[end-1]
		if !last.stands {
			if end-s > 1 || end < len(r.stacks) {
				return nil, nil, r.unresolved(s)
			}
			return out, &c, nil
		}
		c.Chord = last.chord
		if end-s > 1 {
			if c.Late, err = r.late(s, end-1); err != nil {
				return nil, nil, err
			}
		}
		out = append(out, c)
		s = end
	}
	return out, nil, nil
}

// suspends reports whether the notes of a stack are a suspension that the next one goes on
// with or resolves: no chord, or 7 before 6 and 6 before 5 as [isSuspension] has them.
func (r *realizer) suspends(s int) bool {
	a, b := &r.stacks[s], &r.stacks[s+1]
	if a.holds || b.holds {
		return false
	}
	if !a.stands {
		return true
	}
	return slices.Contains(a.numbers, 7) && slices.Contains(b.numbers, 6) && !slices.Contains(b.numbers, 7) ||
		a.chord.Quality == AugmentedTriad && slices.Contains(a.numbers, 6) && slices.Contains(b.numbers, 5)
}

// late are the notes of the stacks from s on that are foreign to the chord of the last one,
// each with the member that it delays.
func (r *realizer) late(s, last int) ([]Late, error) {
	var out []Late
	first, chord := &r.stacks[s], &r.stacks[last]
	for _, c := range r.stacks[s].classes {
		if slices.Contains(chord.classes, c) || r.understoodFifth(s, last, c) {
			continue
		}
		l := Late{From: c}
		for i := s; i < last && slices.Contains(r.stacks[i].classes, c); i++ {
			l.For = l.For.Add(r.stacks[i].length)
		}
		to, ok := r.resolution(c, r.stacks[s].classes, chord.classes, out)
		if !ok {
			return nil, &FiguresError{first.note, first.stack, fmt.Sprintf("the figures %s over %v: %v has no note a step away to resolve to; write the figures it resolves to, such as 4-3, 7-6 or 9-8", r.text(s, last), r.bass, c)}
		}
		l.To = to
		out = append(out, l)
	}
	if len(out) == 0 {
		return nil, &FiguresError{first.note, first.stack, fmt.Sprintf("the figures %s over %v form no chord stacked in thirds and no suspension; write a chord, or the figures it resolves to", r.text(s, last), r.bass)}
	}
	return out, nil
}

// understoodFifth reports whether a note is the fifth of a stack that does not write it,
// before a sixth: over 7-6 there is none.
func (r *realizer) understoodFifth(s, last int, c theory.PitchClass) bool {
	return c.Step == (r.bass.Step+4)%7 && !slices.Contains(r.stacks[s].numbers, 5) && slices.Contains(r.stacks[last].numbers, 6)
}

// resolution is the member a step below a foreign note, or else a step above, that does not
// sound beside it and that no other foreign note goes to; the bass may sound below a ninth.
func (r *realizer) resolution(c theory.PitchClass, beside, chord []theory.PitchClass, taken []Late) (theory.PitchClass, bool) {
	for _, step := range []theory.Step{6, 1} {
		for _, to := range chord {
			if to.Step != (c.Step+step)%7 || to != r.bass && slices.ContainsFunc(taken, func(l Late) bool { return l.To == to }) {
				continue
			}
			if to == r.bass || !slices.Contains(beside, to) {
				return to, true
			}
		}
	}
	return theory.PitchClass{}, false
}

// suspendedOver reports whether a stack waits for the next bass note a step below, over
// which its other notes are the chord.
func (r *realizer) suspendedOver(waits *FiguredChord, next *realizer) bool {
	to := &next.stacks[0]
	if !to.stands || to.holds || next.bass.Step != (r.bass.Step+6)%7 {
		return false
	}
	for _, c := range r.stacks[len(r.stacks)-1].classes { // what waits is the last
		if c != r.bass && !slices.Contains(to.classes, c) {
			return false
		}
	}
	return true
}

func (r *realizer) text(s, last int) string {
	var words []string
	for i := s; i <= last; i++ {
		words = append(words, r.stacks[i].text)
	}
	return strings.Join(words, "-")
}

// unresolved is the error of a stack that is neither a chord nor a suspension; it says
// which notes the figures ask for, since a sign often means another note than was thought.
func (r *realizer) unresolved(s int) error {
	of := &r.stacks[s]
	notes := make([]string, len(of.classes))
	for i, c := range of.classes {
		notes[i] = c.String()
	}
	return &FiguresError{of.note, of.stack, fmt.Sprintf("the figures %s over %v ask for %s, no chord stacked in thirds, and what follows does not resolve them by step; write the figures they resolve to behind them, as in 4-3, 7-6 or 9-8, or a chord", of.text, r.bass, strings.Join(notes, " "))}
}
