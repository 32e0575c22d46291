package voicing

import (
	"fmt"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
)

// givenLine says what the bare notes of a text are.
type givenLine int8

const (
	noLine givenLine = iota
	bassLine
	sopranoLine
	unfiguredLine
)

// givenLines are the words that begin a line of notes, or end it.
var givenLines = map[string]givenLine{"bass": bassLine, "soprano": sopranoLine, "unfigured": unfiguredLine, "chords": noLine}

// readFixed takes the notes in braces off a word: "V7{D5,-,F4}".
func (c *ProgressionChord) readFixed(word string) (bare string, err error) {
	bare, notes, found := strings.Cut(word, "{")
	if !found {
		return word, nil
	}
	notes, closed := strings.CutSuffix(notes, "}")
	if !closed {
		return "", fmt.Errorf("%q: the notes after { end with }, without a space between them, such as V{D5,-,G4}", word)
	}
	for _, name := range strings.Split(notes, ",") {
		if name == "-" {
			c.Fixed = append(c.Fixed, nil)
			continue
		}
		p, err := theory.ParsePitch(name)
		if err != nil {
			return "", fmt.Errorf("%q: %w; write notes from the top voice down, and - for a voice that is free", word, err)
		}
		c.Fixed = append(c.Fixed, &p)
	}
	if len(c.Fixed) > MaxVoices {
		return "", fmt.Errorf("%q gives %d notes; there are at most %d voices", word, len(c.Fixed), MaxVoices)
	}
	return bare, nil
}

// readMelody reads a note of the top voice. The first one begins on the tonic, or
// else on the dominant, where it can.
func (c *ProgressionChord) readMelody(word string, key theory.Key, first bool) error {
	top, err := theory.ParsePitch(word)
	if err != nil {
		return fmt.Errorf("%w; a soprano is written as notes, such as B4 C5 A4 (the word chords goes back to chords)", err)
	}
	if len(c.Fixed) > 0 && c.Fixed[0] != nil && *c.Fixed[0] != top {
		return fmt.Errorf("%q gives the top voice a second note", c.Text)
	}
	if len(c.Fixed) == 0 {
		c.Fixed = []*theory.Pitch{nil}
	}
	c.Fixed[0] = &top
	c.Reading = harmony.Reading{Key: key}
	if c.Choices = UnderMelody(top, key).Choices; len(c.Choices) == 0 {
		return fmt.Errorf("%v is in no chord that harmonizes a melody in %v; give its chord, such as V7/V{%v}", top, key, top)
	}
	if c.Open = !first; first {
		c.Choices = Opening(c.Choices)
	}
	return nil
}

// readUnfigured reads a note of a bass whose chords are to be chosen. The first one is
// taken as that of a melody is.
func (c *ProgressionChord) readUnfigured(word string, key theory.Key, first bool) error {
	bass, err := theory.ParsePitch(word)
	if err != nil {
		return fmt.Errorf("%w; a bass without figures is written as notes, such as G2 A2 B2 (after the word bass figures may follow, the word chords goes back to chords)", err)
	}
	c.Bass, c.Reading = &bass, harmony.Reading{Key: key}
	if c.Choices = OverBass(bass, key).Choices; len(c.Choices) == 0 {
		return fmt.Errorf("%v is the bass of no chord in %v; give its figures after the word bass, such as bass %v/6", bass, key, bass)
	}
	if c.Open = !first; first {
		c.Choices = Opening(c.Choices)
	}
	return nil
}

// Opening keeps of the choices for a first chord the tonic in root position, or
// else the dominant, where one of them is among them; else all.
func Opening(choices []Choice) []Choice {
	for _, degree := range []int8{1, 5} {
		for _, choice := range choices {
			if n := choice.Reading.Numeral; n.Degree == degree && n.Inversion == 0 && !n.Quality.IsSeventh() {
				return []Choice{choice}
			}
		}
	}
	return choices
}
