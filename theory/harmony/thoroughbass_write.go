package harmony

import (
	"slices"

	"partwright/theory"
)

// usualFigures are the numbers that stand for an inversion of a triad and of a
// seventh chord, from the top (Open Music Theory v1, "Thoroughbass figures").
var usualFigures = [2][4][]int{
	{{}, {6}, {6, 4}, {}},
	{{7}, {6, 5}, {4, 3}, {4, 2}},
}

// accidentalWords are those of a figure's prefix in W3C MusicXML 4.0, from two
// flats up.
var accidentalWords = [5]string{"flat-flat", "flat", "natural", "sharp", "double-sharp"}

// Figures returns the thoroughbass figures of a chord over its bass under a key
// signature, from the top: the usual ones, and whatever the signature has to be
// altered for; an altered third is an accidental alone. None are needed for a
// triad in root position as the signature has it. [realize] takes them back. It
// reports false where a member is altered beyond double accidentals, and for chords that no
// usual figures name.
func (c Chord) Figures(signature theory.KeySignature) (figures []theory.Figure, ok bool) {
	if c.Quality.IsExtended() {
		return nil, false
	}
	size := 0
	if c.Quality.IsSeventh() {
		size = 1
	}
	written := usualFigures[size][c.Inversion]
	bass := c.Bass()
	for i := range c.Quality.Size() {
		if i == c.Inversion {
			continue
		}
		member := c.Quality.Member(c.Root, i)
		f := theory.Figure{Number: (int(member.Step)-int(bass.Step)+7)%7 + 1}
		altered := member.Alter != signature.Alter(member.Step)
		if altered {
			if member.Alter < -2 || member.Alter > 2 {
				return nil, false
			}
			f.Prefix = accidentalWords[member.Alter+2]
		}
		usual := slices.Contains(written, f.Number)
		if altered && f.Number == 3 && !usual {
			f.Number = 0
		}
		if usual || altered {
			figures = append(figures, f)
		}
	}
	slices.SortFunc(figures, func(a, b theory.Figure) int { return b.Number - a.Number })
	return figures, true
}
