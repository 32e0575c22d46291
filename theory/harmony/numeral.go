package harmony

import (
	"strings"

	"partwright/theory"
)

// Numeral is a Roman numeral: a chord as a degree of a key, or of a degree that
// is treated as a key for the moment.
type Numeral struct {
	// Degree is 1 to 7; Alter is how many semitones the root is raised or
	// lowered against [theory.Key.Scale] of the key in which the numeral stands,
	// so the leading-tone triad of minor is degree 7, alter +1.
	Degree, Alter int8
	Quality       Quality
	// Inversion is 0 for root position.
	Inversion int8
	// Cadential marks the six-four that stands for the dominant it delays.
	Cadential bool
	// Without has a bit for each member that the label takes away, the root lowest.
	// Only [ExactNumeral] sets it: an analysis tells what sounds without that.
	Without uint8
	// Of is what the chord is applied to; the zero value is the key itself.
	Of Target
}

// Lacks reports whether the label takes a member away: 0 the root, 1 the third.
func (n Numeral) Lacks(member int) bool { return n.Without>>member&1 == 1 }

// Target is the degree that an applied chord leads to, with the mode its own
// key has. Degree 0 means that the chord is not applied.
type Target struct {
	Degree, Alter int8
	Mode          theory.Mode
}

// IsApplied reports whether the numeral stands in the key of another degree.
func (n Numeral) IsApplied() bool { return n.Of.Degree != 0 }

// In returns the key in which the degree counts: key itself, or that of the
// target of an applied chord.
func (n Numeral) In(key theory.Key) theory.Key {
	if !n.IsApplied() {
		return key
	}
	return theory.Key{Tonic: degreeRoot(key, n.Of.Degree, n.Of.Alter), Mode: n.Of.Mode}
}

// Root returns the spelled root of the numeral in a key.
func (n Numeral) Root(key theory.Key) theory.PitchClass {
	return degreeRoot(n.In(key), n.Degree, n.Alter)
}

func degreeRoot(key theory.Key, degree, alter int8) theory.PitchClass {
	root := key.At(int(degree))
	root.Alter += alter
	return root
}

// IsDominant reports whether the chord has dominant function in its key or in
// that of its target: V with a major third, or a chord on the leading tone.
func (n Numeral) IsDominant() bool {
	switch n.Quality {
	case MajorTriad, DominantSeventh, AugmentedTriad,
		DominantNinth, DominantLoweredNinth, DominantRaisedNinth, DominantThirteenth, AugmentedSeventh, DominantLoweredFifth:
		return n.Degree == 5 && n.Alter == 0
	case DiminishedTriad, HalfDiminishedSeventh, DiminishedSeventh:
		return n.Degree == 7
	}
	return false
}

// IsTonic reports whether the chord is the tonic triad of the key itself.
func (n Numeral) IsTonic() bool {
	return n.Degree == 1 && n.Alter == 0 && !n.IsApplied() && !n.Cadential &&
		(n.Quality == MajorTriad || n.Quality == MinorTriad)
}

// IsNeapolitan reports whether it is the major triad on the lowered second.
func (n Numeral) IsNeapolitan(mode theory.Mode) bool {
	return n.Degree == 2 && n.Alter == -1 && n.Quality == MajorTriad && !n.IsApplied()
}

var romans = [8]string{"", "I", "II", "III", "IV", "V", "VI", "VII"}

// Text returns the numeral in RomanText as it stands in a key of the given mode:
// "V65/V", "viiø7", "N6", "Ger65", "Cad64". Degrees 6 and 7 of minor follow the
// rule that capitals are lowered and small letters raised.
func (n Numeral) Text(mode theory.Mode) string {
	var b strings.Builder
	own := mode
	if n.IsApplied() {
		own = n.Of.Mode
	}
	n.write(&b, own)
	for member, word := range membersLeftOut {
		if n.Lacks(member) {
			b.WriteString("[" + word + "]")
		}
	}
	if n.IsApplied() {
		b.WriteByte('/')
		if n.Of.Degree == 2 && n.Of.Alter == -1 && n.Of.Mode == theory.MajorMode {
			b.WriteByte('N')
		} else {
			b.WriteString(degreeText(n.Of.Degree, n.Of.Alter, n.Of.Mode == theory.MinorMode, mode))
		}
	}
	return b.String()
}

func (n Numeral) write(b *strings.Builder, mode theory.Mode) {
	row := &qualities[n.Quality]
	switch {
	case n.Cadential:
		b.WriteString("Cad64")
		return
	case n.Quality.IsAugmentedSixth():
		b.WriteString(row.mark)
	case n.Degree == 2 && n.Alter == -1 && n.Quality == MajorTriad:
		b.WriteByte('N')
	default:
		b.WriteString(degreeText(n.Degree, n.Alter, row.lower, mode))
		if n.Quality.IsExtended() {
			b.WriteString(n.extension())
			return
		}
		b.WriteString(n.mark(mode))
	}
	if n.Quality == ItalianSixth && n.Inversion == 0 {
		b.WriteString("53") // without figures it is the sixth
	}
	b.WriteString(n.Quality.Figures(int(n.Inversion)))
}

// extension is what follows the degree of a chord that is no stack of thirds up to the
// seventh: inverted, the figures of its bass and the rest in brackets.
func (n Numeral) extension() string {
	mark := qualities[n.Quality].mark
	if n.Inversion == 0 {
		return mark
	}
	if mark[0] != '[' {
		mark = "[" + mark + "]"
	}
	return n.Quality.Figures(int(n.Inversion)) + mark
}

// mark returns the quality mark, which a seventh needs only where it is not the
// one that the scale gives.
func (n Numeral) mark(mode theory.Mode) string {
	own := qualities[n.Quality].mark
	if !n.Quality.IsSeventh() || own != "" || n.diatonicSeventh(mode) == -2 {
		return own
	}
	if n.Quality == MinorSeventh {
		return "m"
	}
	return "d"
}

// diatonicSeventh returns the seventh of the scale above the root in steps of
// fifths; numerals on the flat side of major take that of the parallel minor.
func (n Numeral) diatonicSeventh(mode theory.Mode) int {
	c := theory.PitchClass{Step: theory.C}
	root := degreeRoot(theory.Key{Tonic: c, Mode: mode}, n.Degree, n.Alter).Fifths()
	if n.Alter < 0 {
		mode = theory.MinorMode
	}
	scale := theory.Key{Tonic: c, Mode: mode}.Scale()
	return scale[(int(n.Degree)+5)%7].Fifths() - root
}

// degreeText writes a degree with the accidental that RomanText asks for.
func degreeText(degree, alter int8, lower bool, mode theory.Mode) string {
	if mode == theory.MinorMode && degree >= 6 {
		// Small letters mean the raised degree, and one accidental that only
		// repeats what the letters say is ignored by readers.
		if lower {
			if alter--; alter > 0 {
				alter++
			}
		} else if alter < 0 {
			alter--
		}
	}
	roman := romans[degree]
	if lower {
		roman = strings.ToLower(roman)
	}
	if alter < 0 {
		return strings.Repeat("b", int(-alter)) + roman
	}
	return strings.Repeat("#", int(alter)) + roman
}
