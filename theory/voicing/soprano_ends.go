package voicing

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
)

// Degree is a degree of the scale that the top voice begins or ends on.
type Degree struct {
	// Number is 1 to 7.
	Number int
	// Alter is how many semitones it is raised or lowered, where Altered is set; else
	// it is in the form that its chord has, raised or not.
	Alter   int
	Altered bool
}

// ParseDegree reads a degree such as "3", "b6" or "#7".
func ParseDegree(word string) (Degree, error) {
	number := strings.TrimLeft(word, "b#")
	signs := word[:len(word)-len(number)]
	n, err := strconv.Atoi(number)
	sharps, flats := strings.Count(signs, "#"), strings.Count(signs, "b")
	if err != nil || len(number) != 1 || n < 1 || n > 7 || len(signs) > 2 || sharps > 0 && flats > 0 {
		return Degree{}, fmt.Errorf("%.16q is no degree of the scale; write 1 to 7, with b or # before one that is lowered or raised", word)
	}
	return Degree{Number: n, Alter: sharps - flats, Altered: signs != ""}, nil
}

// String returns "3", "b6" or "#7".
func (d Degree) String() string {
	sign := "#"
	if d.Alter < 0 {
		sign = "b"
	}
	return strings.Repeat(sign, abs(d.Alter)) + strconv.Itoa(d.Number)
}

func (d Degree) is(class theory.PitchClass, key theory.Key) bool {
	number, alter := key.Degree(class)
	return number == d.Number && (!d.Altered || alter == d.Alter)
}

// StartOn has the top voice begin on one of some degrees, EndOn end on one. Degrees
// count in the key of the chord. Where neither the chord nor what is given or asked for
// already allows one of them, the error is an [*EndingError].
func (p *Progression) StartOn(degrees []Degree) error { return p.topOn(0, degrees) }

// EndOn is described at [Progression.StartOn].
func (p *Progression) EndOn(degrees []Degree) error { return p.topOn(len(p.Chords)-1, degrees) }

func (p *Progression) topOn(k int, degrees []Degree) error {
	if len(degrees) == 0 {
		return nil
	}
	if len(p.Chords) == 0 {
		return ErrEmpty
	}
	c := &p.Chords[k]
	possible := c.topNotes()
	var top []theory.PitchClass
	for _, note := range possible {
		if slices.ContainsFunc(degrees, func(d Degree) bool { return d.is(note, c.Reading.Key) }) {
			top = append(top, note)
		}
	}
	if len(top) == 0 {
		chord := c.Text
		if c.Choices == nil {
			chord = c.Reading.String()
		}
		return &EndingError{fmt.Sprintf("the top voice cannot have degree %s in chord %d, %s: it may have %s",
			inWords(degrees), k+1, chord, degreesOf(possible, c.Reading.Key))}
	}
	c.Top = top
	return nil
}

// topNotes are the notes that the top voice may have in a chord, lowest member first.
func (c *ProgressionChord) topNotes() []theory.PitchClass {
	readings := []harmony.Reading{c.Reading}
	if c.Choices != nil {
		readings = nil
		for _, choice := range c.Choices {
			readings = append(readings, choice.Reading)
		}
	}
	var notes []theory.PitchClass
	for _, r := range readings {
		for m := range r.Size() {
			note := r.Member(m)
			given := len(c.Fixed) > 0 && c.Fixed[0] != nil && c.Fixed[0].Class() != note
			barred := len(c.Top) > 0 && !slices.Contains(c.Top, note)
			if !given && !barred && !slices.Contains(notes, note) {
				notes = append(notes, note)
			}
		}
	}
	return notes
}

func inWords(degrees []Degree) string {
	var words []string
	for _, d := range degrees {
		words = append(words, d.String())
	}
	return strings.Join(words, " or ")
}

func degreesOf(notes []theory.PitchClass, key theory.Key) string {
	var degrees []Degree
	for _, n := range notes {
		number, alter := key.Degree(n)
		degrees = append(degrees, Degree{number, alter, alter != 0})
	}
	return inWords(degrees)
}
