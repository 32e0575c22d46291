package harmony

import (
	"errors"
	"fmt"
	"slices"

	"partwright/theory"
)

// realize returns the spelled pitch classes that figures ask for above a bass,
// the bass first and then upwards, under a key signature. Figures are understood
// as thoroughbass players read them (Open Music Theory v1, "Thoroughbass
// figures"): a fifth unless a six is written, a third unless a four or two is,
// the usual abbreviations 7, 6/5, 4/3, 4/2, 2, 9; an accidental standing alone
// alters the third, one beside a number that interval; a slash or plus raises it
// by a semitone. Other stacks are read literally.
func realize(bass theory.PitchClass, figures []theory.Figure, signature theory.KeySignature) ([]theory.PitchClass, error) {
	return realizeAs(bass, figures, signature, false)
}

// realizeAs is [realize]. As older prints have it, a sharp raises what the signature flats
// and a flat lowers what it sharpens, each to the natural note, where old is set.
func realizeAs(bass theory.PitchClass, figures []theory.Figure, signature theory.KeySignature, old bool) ([]theory.PitchClass, error) {
	numbers, accidentals, err := writtenFigures(figures)
	if err != nil {
		return nil, err
	}
	numbers = understood(numbers)
	classes := []theory.PitchClass{bass}
	for _, n := range numbers {
		c := theory.PitchClass{Step: theory.Step((int(bass.Step) + n - 1) % 7)}
		c.Alter = signature.Alter(c.Step)
		if mark, ok := accidentals[n]; ok {
			alter, err := altered(c, mark)
			if old && (mark == "sharp" && c.Alter < 0 || mark == "flat" && c.Alter > 0) {
				alter = 0
			}
			if err != nil {
				return nil, err
			}
			c.Alter = alter
		}
		if !slices.Contains(classes, c) {
			classes = append(classes, c)
		}
	}
	return classes, nil
}

// isBlank reports whether a stack is one figure that says nothing: it holds the place of
// those that come later over a note, where W3C MusicXML 4.0 has no other way to say when.
func isBlank(figures []theory.Figure) bool {
	return len(figures) == 1 && figures[0] == theory.Figure{}
}

// writtenFigures are the numbers that are written, from the top down, and the accidentals by
// number. Each number is written once, and an accidental alone stands for the third.
func writtenFigures(figures []theory.Figure) (numbers []int, accidentals map[int]string, err error) {
	accidentals = map[int]string{}
	var written []int
	for _, f := range figures {
		number := f.Number
		switch {
		case isBlank(figures):
			return nil, accidentals, nil
		case number == 0 && f.Prefix == "" && f.Suffix == "" && !f.Extends:
			return nil, nil, errors.New("a figure has neither a number nor an accidental; figures are 2 to 13, or an accidental for the third")
		case number > 0 && slices.Contains(written, number):
			return nil, nil, fmt.Errorf("%d stands there twice; write each figure once", number)
		case number == 0:
			number = 3
		}
		written = append(written, f.Number)
		if number < 2 || number > 13 {
			return nil, nil, fmt.Errorf("%d is no figure of thoroughbass; figures are 2 to 13", f.Number)
		}
		if number > 9 {
			number -= 7 // early prints write where the note lies: 13 is a six in the next octave
		}
		numbers = append(numbers, number)
		for _, mark := range []string{f.Prefix, f.Suffix} {
			if mark != "" {
				accidentals[number] = mark
			}
		}
	}
	return numbers, accidentals, nil
}

// understood adds the figures that are not written, in rising order.
func understood(written []int) []int {
	has := func(n int) bool { return slices.Contains(written, n) }
	out := slices.Clone(written)
	add := func(n int) {
		if !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	if !has(6) && !has(5) && !has(4) && !has(2) {
		add(5)
	}
	switch {
	case has(2) && (has(5) || has(7) || has(3)): // read as it stands
	case has(2):
		add(4)
		add(6)
	case has(4) && has(3):
		add(6)
	case has(4) && !has(6):
		add(5)
	case !has(4) && !has(3):
		add(3)
	}
	slices.Sort(out)
	return out
}

// altered applies the mark of a figure, in the words of W3C MusicXML 4.0.
func altered(c theory.PitchClass, mark string) (int8, error) {
	switch mark {
	case "sharp", "natural-sharp":
		return 1, nil
	case "flat", "natural-flat":
		return -1, nil
	case "natural":
		return 0, nil
	case "double-sharp", "sharp-sharp":
		return 2, nil
	case "flat-flat", "double-flat":
		return -2, nil
	case "plus", "slash", "back-slash", "vertical", "cross":
		return c.Alter + 1, nil
	}
	return 0, fmt.Errorf("%q is no accidental of a figure", mark)
}

// ReadFigures reads a bass note with its figures in a key. It reports false
// where the figures are no chord stacked in thirds, as those of suspensions.
func ReadFigures(bass theory.PitchClass, figures []theory.Figure, key theory.Key) (Reading, bool, error) {
	classes, err := realize(bass, figures, theory.KeySignature{Fifths: int8(key.Signature())})
	if err != nil {
		return Reading{}, false, err
	}
	chord, ok := Identify(classes, bass)
	if !ok {
		return Reading{}, false, nil
	}
	r := ReadIn(key, chord)
	return r, true, nil
}
