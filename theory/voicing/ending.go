package voicing

import (
	"fmt"
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// Ending is how a progression closes. The chords are those that Hutchinson, Music
// Theory for the 21st-Century Classroom, ch. 11, gives the cadences.
type Ending int8

// Endings.
const (
	// AsGiven leaves the chords as they are; a melody whose chords are to be chosen
	// closes on a triad in root position, as people close such a melody.
	AsGiven Ending = iota
	// Perfect is V or V7 to I in root position, the tonic in the top voice;
	// Imperfect the same with the third or fifth there.
	Perfect
	Imperfect
	// Half stops on V.
	Half
	// Plagal is IV to I, Deceptive V or V7 to vi.
	Plagal
	Deceptive
)

var endingNames = [...]string{"given", "perfect", "imperfect", "half", "plagal", "deceptive"}

// endingWords name the endings in the words of a catalog; that of [AsGiven] is never said.
var endingWords = [...]partwriting.Word{"", "cadence-PAC", "cadence-IAC", "cadence-HC", "cadence-PC", "cadence-DC"}

// String returns a word such as "half".
func (e Ending) String() string { return endingNames[e] }

// EndingNames lists the words of all endings.
func EndingNames() []string { return slices.Clone(endingNames[:]) }

// ParseEnding reads the word of an ending; "" is "given".
func ParseEnding(word string) (Ending, bool) {
	if word == "" {
		return AsGiven, true
	}
	i := slices.Index(endingNames[:], word)
	return Ending(max(i, 0)), i >= 0
}

// EndingError says why a progression cannot close in a way.
type EndingError struct{ Problem string }

// Error returns the problem.
func (e *EndingError) Error() string { return e.Problem }

// closing is one chord of an ending with what the top voice may have in it.
type closing struct {
	choices []Choice
	top     []theory.PitchClass
}

// closings are the chords of an ending in a key.
func (e Ending) closings(key theory.Key) []closing {
	numeral := func(degree int8, q harmony.Quality, cost Cost) Choice {
		return Choice{harmony.Reading{Key: key, Numeral: harmony.Numeral{Degree: degree, Quality: q}}, cost}
	}
	tonic, four, six := harmony.MajorTriad, harmony.MajorTriad, harmony.MinorTriad
	if key.Mode == theory.MinorMode {
		tonic, four, six = harmony.MinorTriad, harmony.MinorTriad, harmony.MajorTriad
	}
	five := closing{choices: []Choice{numeral(5, harmony.MajorTriad, 0), numeral(5, harmony.DominantSeventh, 40)}}
	one := closing{choices: []Choice{numeral(1, tonic, 0)}}
	chord := one.choices[0].Reading
	switch e {
	case Perfect:
		one.top = []theory.PitchClass{chord.Member(0)}
		return []closing{five, one}
	case Imperfect:
		one.top = []theory.PitchClass{chord.Member(1), chord.Member(2)}
		return []closing{five, one}
	case Half:
		return []closing{{choices: five.choices[:1]}}
	case Plagal:
		return []closing{{choices: []Choice{numeral(4, four, 0)}}, one}
	case Deceptive:
		return []closing{five, {choices: []Choice{numeral(6, six, 0)}}}
	}
	return nil
}

// End closes the progression in one way: the last chords become those of the
// ending and keep their durations and given notes. A way that the given notes do
// not allow is an [*EndingError].
func (p *Progression) End(e Ending) error {
	if len(p.Chords) == 0 {
		return ErrEmpty
	}
	last := &p.Chords[len(p.Chords)-1]
	if e != AsGiven {
		return p.end(e)
	}
	if last.Choices == nil || last.Open {
		return nil
	}
	for _, way := range []Ending{Perfect, Imperfect, Half, Plagal, Deceptive} {
		if p.end(way) == nil {
			return nil
		}
	}
	return nil // a melody that fits no ending closes as the line wants
}

func (p *Progression) end(e Ending) error {
	key := p.Chords[len(p.Chords)-1].Reading.Key
	all := e.closings(key)
	from := len(p.Chords) - len(all)
	if from < 0 {
		return &EndingError{fmt.Sprintf("a %v ending has %d chords, the progression has one; add a chord", e, len(all))}
	}
	var chords []ProgressionChord
	for i, closing := range all {
		c := p.Chords[from+i]
		if c.PhraseEnd && i < len(all)-1 {
			return &EndingError{fmt.Sprintf("a %v ending has %d chords, the last phrase has one; add a chord to it", e, len(all))}
		}
		c.Open = false
		c.Choices, c.Top = c.fitting(closing.like(&p.Chords[from+i])), closing.top
		if len(c.Choices) == 0 {
			return &EndingError{fmt.Sprintf("chord %d cannot be part of a %v ending: %s; choose another ending or free the note",
				from+i+1, e, c.misfit(closing))}
		}
		c.Reading = harmony.Reading{Key: key}
		if len(c.Choices) == 1 {
			c.Reading, c.Choices = c.Choices[0].Reading, nil
		}
		if c.Reading != p.Chords[from+i].Reading {
			c.Late = nil
		}
		chords = append(chords, c)
	}
	changed := p.Chords[from].Choices != nil || p.Chords[from].Reading != chords[0].Reading
	p.sayChanges(e, from, chords)
	copy(p.Chords[from:], chords)
	p.joinTwice(from, changed)
	p.lay()
	return nil
}

// lay tells the layout the durations and late notes of the chords.
func (p *Progression) lay() {
	p.Layout.Durations, p.Layout.Late = nil, nil
	for i := range p.Chords {
		p.Layout.Durations = append(p.Layout.Durations, p.Chords[i].Duration)
		p.Layout.Late = append(p.Layout.Late, p.Chords[i].Late)
	}
}

// like leaves of the choices those of the quality that is written, if the chord there
// stands on their degree already: a V7 keeps its seventh, a closing major tonic in minor
// its third.
func (e closing) like(written *ProgressionChord) closing {
	n := written.Reading.Numeral
	if written.Choices != nil || n.IsApplied() || n.Cadential || n.Alter != 0 {
		return e
	}
	for _, c := range e.choices {
		own := c.Reading.Numeral
		if own.Degree != n.Degree || (n.Degree == 5 && !n.IsDominant()) {
			continue
		}
		if n.Degree == 5 && n.Quality.IsSeventh() && !e.hasSeventh() {
			continue // a half cadence rests on the triad
		}
		own.Quality = n.Quality
		if n.Degree == 1 && !own.IsTonic() {
			continue
		}
		return closing{[]Choice{{Reading: harmony.Reading{Key: c.Reading.Key, Numeral: own}}}, e.top}
	}
	return e
}

func (e closing) hasSeventh() bool {
	return slices.ContainsFunc(e.choices, func(c Choice) bool { return c.Reading.Quality().IsSeventh() })
}

// sayChanges notes which chords an ending makes others.
func (p *Progression) sayChanges(e Ending, from int, chords []ProgressionChord) {
	for i := range chords {
		was, is := &p.Chords[from+i], &chords[i]
		if was.Choices != nil || is.Choices == nil && was.Reading == is.Reading {
			continue
		}
		reading := is.Reading
		if is.Choices != nil {
			reading = is.Choices[0].Reading
		}
		p.Changed = append(p.Changed, partwriting.Said{
			Phrase: partwriting.ChordForEnding,
			Pairs:  []any{"chord", from + i + 1, "was", was.Reading, "now", reading, "ending", endingWords[e]},
		})
	}
}

// joinTwice joins the first chord of an ending with the same chord just before it, so
// that the ending is not heard as a repetition: V-V is no half cadence. Where the ending
// has changed the chord, one on its degree in any form is joined; a chord that stays as it
// is written is joined with its like only, and V-V7 is left alone. Where notes are given
// both chords stay.
func (p *Progression) joinTwice(first int, changed bool) {
	if first == 0 {
		return
	}
	a, b := &p.Chords[first-1], &p.Chords[first]
	if a.PhraseEnd || a.Choices != nil || givesNotes(a) || givesNotes(b) {
		return
	}
	reading := b.Reading
	if b.Choices != nil {
		reading = b.Choices[0].Reading
	}
	if !changed && a.Reading != reading {
		return
	}
	n, m := a.Reading.Numeral, reading.Numeral
	if a.Reading.Key != reading.Key || n.Degree != m.Degree || n.Alter != m.Alter || n.IsApplied() || n.Cadential {
		return
	}
	b.Duration = a.Duration.Add(b.Duration)
	p.Changed = append(p.Changed, partwriting.Said{
		Phrase: partwriting.ChordJoined, Pairs: []any{"chord", first, "was", a.Reading},
	})
	p.Chords = slices.Delete(p.Chords, first-1, first)
	p.Layout.Durations = nil
	for i := range p.Chords {
		p.Layout.Durations = append(p.Layout.Durations, p.Chords[i].Duration)
	}
}

func givesNotes(c *ProgressionChord) bool {
	return c.Bass != nil || slices.ContainsFunc(c.Fixed, func(p *theory.Pitch) bool { return p != nil })
}

// fitting are the choices of an ending that hold the notes given to a chord.
func (c *ProgressionChord) fitting(e closing) []Choice {
	var out []Choice
	for _, choice := range e.choices {
		ok := c.Bass == nil || choice.Reading.Bass() == c.Bass.Class()
		for v, p := range c.Fixed {
			ok = ok && (p == nil || choice.Reading.MemberOf(p.Class()) >= 0 &&
				(v > 0 || len(e.top) == 0 || slices.Contains(e.top, p.Class())))
		}
		if ok {
			out = append(out, choice)
		}
	}
	return out
}

// misfit says which given note is in the way.
func (c *ProgressionChord) misfit(e closing) string {
	reading := e.choices[0].Reading
	if c.Bass != nil && c.Bass.Class() != reading.Bass() {
		return fmt.Sprintf("its bass is given as %v", c.Bass)
	}
	for _, p := range c.Fixed {
		if p != nil {
			return fmt.Sprintf("%v is given, and does not stand there in %v", p, reading)
		}
	}
	return "it does not fit"
}

// SixFour puts a cadential six-four before the dominant that the progression ends
// with, on the first half of its time. Without a dominant in root position there,
// or where a given note is not in the six-four, it is an [*EndingError].
func (p *Progression) SixFour() error {
	for k := len(p.Chords) - 1; k >= max(len(p.Chords)-2, 0); k-- {
		c := p.Chords[k]
		reading := c.Reading
		if len(c.Choices) > 0 {
			reading = c.Choices[0].Reading
		}
		if reading.Numeral.Degree != 5 || reading.Inversion() != 0 || !reading.Numeral.IsDominant() || reading.Numeral.IsApplied() {
			continue
		}
		if len(c.Late) > 0 {
			return &EndingError{fmt.Sprintf("chord %d has a suspension where the six-four would stand; leave one of the two out", k+1)}
		}
		first := c
		quality := harmony.MajorTriad
		if reading.Key.Mode == theory.MinorMode {
			quality = harmony.MinorTriad
		}
		first.Reading = harmony.Reading{Key: reading.Key, Numeral: harmony.Numeral{Degree: 1, Quality: quality, Inversion: 2, Cadential: true}}
		first.Choices, first.Top, first.PhraseEnd, first.Text = nil, nil, false, "Cad64"
		if len(first.fitting(closing{choices: []Choice{{Reading: first.Reading}}})) == 0 {
			return &EndingError{fmt.Sprintf("no six-four can stand before chord %d: a note is given there that it does not have", k+1)}
		}
		first.Duration = c.Duration.Mul(theory.Frac(1, 2))
		p.Chords[k].Duration = c.Duration.Sub(first.Duration)
		p.Chords = slices.Insert(p.Chords, k, first)
		p.lay()
		return nil
	}
	return &EndingError{"there is no dominant in root position at the end for a six-four to stand before; choose an ending with one"}
}

// NameSixFours marks each tonic six-four that goes to the dominant over the same
// bass as cadential, which figures and chord symbols do not say.
func (p *Progression) NameSixFours() {
	for k := len(p.Chords) - 2; k >= 0; k-- {
		c, next := &p.Chords[k], &p.Chords[k+1]
		if c.Choices == nil && next.Choices == nil && !c.PhraseEnd && isCadential(c.Reading, next.Reading) {
			c.Reading.Numeral.Cadential = true
		}
	}
}

// NameChosen marks the cadential six-fours among the chords of a solution that were chosen.
func (p *Progression) NameChosen(s *Solution) {
	for k := min(len(s.Chords)-2, len(p.Chords)-1); k >= 0; k-- {
		if c := &s.Chords[k].Reading; p.Chords[k].Open && !p.Chords[k].PhraseEnd && isCadential(*c, s.Chords[k+1].Reading) {
			c.Numeral.Cadential = true
		}
	}
}

// isCadential reports whether a chord is the tonic six-four of the dominant that follows, or of one that
// follows the same six-four, which is marked already.
func isCadential(r, next harmony.Reading) bool {
	tonic := r.Numeral
	tonic.Inversion = 0
	return r.Key == next.Key && r.Numeral.Inversion == 2 && tonic.IsTonic() && r.Bass() == next.Bass() &&
		(next.Numeral.Cadential || next.Numeral.IsDominant() && !next.Numeral.IsApplied())
}
