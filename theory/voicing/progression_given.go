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
)

// givenLines are the words that begin a line of notes, or end it.
var givenLines = map[string]givenLine{"bass": bassLine, "soprano": sopranoLine, "chords": noLine}

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

// readBass reads a bass note with its figures after a stroke: "A2/#6", "D3/#".
func (c *ProgressionChord) readBass(word string, key theory.Key) error {
	name, text, _ := strings.Cut(word, "/")
	bass, err := theory.ParsePitch(name)
	if err != nil {
		return fmt.Errorf("%w; a bass line is written as notes with figures, such as F#2/6 (the word chords goes back to chords)", err)
	}
	figures, err := ParseFigures(text)
	if err != nil {
		return err
	}
	reading, ok, err := harmony.ReadFigures(bass.Class(), figures, key)
	if err != nil {
		return fmt.Errorf("%q: %w", word, err)
	}
	if !ok {
		return fmt.Errorf("%q is no chord stacked in thirds; a suspension is written as the figures it resolves to", word)
	}
	c.Reading, c.Bass = reading, &bass
	return nil
}

// readMelody reads a note of the top voice. The first one begins on the tonic, or
// else on the dominant, where it can.
func (c *ProgressionChord) readMelody(word string, key theory.Key, first bool) error {
	top, err := theory.ParsePitch(word)
	if err != nil {
		return fmt.Errorf("%w; a soprano is written as notes, such as B4 C5 A4 (the word chords goes back to chords)", err)
	}
	if len(c.Fixed) > 0 && c.Fixed[0] != nil {
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
	if first {
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

// ParseFigures reads thoroughbass figures from the top down: "", "6", "65",
// "6/5", "#6", "b7", "#" for an altered third, "4+" for a raised figure. An
// accidental stands before its figure (Open Music Theory v1, "Thoroughbass
// figures").
func ParseFigures(text string) ([]theory.Figure, error) {
	prefixes := map[string]string{"#": "sharp", "b": "flat", "n": "natural", "##": "double-sharp", "bb": "flat-flat"}
	var out []theory.Figure
	for i := 0; i < len(text); {
		if text[i] == '/' || text[i] == ',' {
			i++
			continue
		}
		start := i
		for i < len(text) && strings.IndexByte("#bn", text[i]) >= 0 {
			i++
		}
		f := theory.Figure{}
		if i > start {
			word, ok := prefixes[text[start:i]]
			if !ok {
				return nil, fmt.Errorf("%q is no accidental of a figure; use #, b, n, ## or bb", text[start:i])
			}
			f.Prefix = word
		}
		if i < len(text) && text[i] >= '2' && text[i] <= '9' {
			f.Number = int(text[i] - '0')
			i++
		}
		if i < len(text) && text[i] == '+' && f.Number > 0 {
			f.Suffix = "plus"
			i++
		}
		if i == start {
			return nil, fmt.Errorf("%q are no figures; write them from the top, such as 6, 65, #6 or # for an altered third", text)
		}
		out = append(out, f)
	}
	return out, nil
}
