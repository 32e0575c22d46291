package harmony

import (
	"fmt"
	"strings"

	"partwright/theory"
)

// maxNumeral is the greatest length of a numeral, in bytes; those of published analyses
// stay below 40.
const maxNumeral = 100

// ParseNumeral reads one RomanText numeral as it stands in a key of the given
// mode: "V65/V", "vii/o7", "viiø7", "Ger6", "N6", "Cad64", "V6/5[no3]".
//
// Degrees 6 and 7 of minor follow their letters: capitals are the lowered,
// small letters the raised degree. A seventh without a mark is that of the
// scale. Ninths are read as sevenths, suspension figures as the plain chord, and
// bracketed changes are passed over.
func ParseNumeral(text string, mode theory.Mode) (Numeral, error) {
	fail := func(what string) (Numeral, error) {
		return Numeral{}, fmt.Errorf("%q is not a numeral: %s", text, what)
	}
	if len(text) > maxNumeral {
		text = strings.ToValidUTF8(text[:20], "") + "…"
		return fail(fmt.Sprintf("longer than %d bytes", maxNumeral))
	}
	bare := dropBrackets(text)
	head, target := cutApplied(strings.TrimRight(bare, "/"))
	n := Numeral{}
	own := mode
	if target != "" {
		of, err := parseTarget(target, mode)
		if err != nil {
			return fail(err.Error())
		}
		n.Of, own = of, of.Mode
	}
	alter, rest := cutAccidentals(head)
	name, rest := cutName(rest)
	if name == "" {
		return fail("no Roman digit")
	}
	marks, figures := cutMarks(rest)
	if strings.Trim(figures, "0123456789#b/-+M") != "" {
		return fail("unknown figures " + figures)
	}
	if strings.HasSuffix(figures, "+") {
		marks = append(marks, "+")
	}
	seventh, inversion := readFigures(figures)
	n.Inversion = inversion
	switch name {
	case "Cad":
		if len(marks) > 0 {
			return fail("a cadential six-four has no mark") // Cadd9 is a chord symbol
		}
		n.Of = n.Of.orNone()
		n.Degree, n.Cadential, n.Inversion = 1, true, 2
		if own == theory.MinorMode {
			n.Quality = MinorTriad
		}
		return n, nil
	case "It", "Fr", "Ger":
		return sixth(n, name, figures), nil
	case "N":
		name, alter = "II", -1
	}
	upper := name[0] < 'a'
	n.Degree = romanDegree(name)
	n.Alter = int8(alter)
	if own == theory.MinorMode && n.Degree >= 6 {
		n.Alter = minorAlter(alter, upper)
	}
	n.Quality, _ = n.readQuality(upper, marks, seventh, own)
	if n.Of.Degree == 0 && own != mode {
		// III/i in major is the triad on the lowered third.
		c := theory.PitchClass{Step: theory.C}
		_, alter := theory.Key{Tonic: c, Mode: mode}.Degree(degreeRoot(theory.Key{Tonic: c, Mode: own}, n.Degree, n.Alter))
		n.Alter = int8(alter)
	}
	n.Of = n.Of.orNone()
	return n, nil
}

// orNone turns the tonic itself, to which /I and /i apply, into no target.
func (t Target) orNone() Target {
	if t.Degree == 0 {
		return Target{}
	}
	return t
}

func sixth(n Numeral, name, figures string) Numeral {
	usual := int8(1)
	n.Of = n.Of.orNone()
	n.Degree, n.Alter, n.Quality = 4, 1, ItalianSixth
	switch name {
	case "Ger":
		n.Quality = GermanSixth
	case "Fr":
		n.Degree, n.Alter, n.Quality, usual = 2, 0, FrenchSixth, 2
	}
	if digits := onlyDigits(figures); digits == "" || digits == "6" {
		n.Inversion = usual
	}
	return n
}

func minorAlter(written int, upper bool) int8 {
	switch {
	case upper && written < 0:
		return int8(written + 1)
	case upper:
		return int8(written)
	case written > 0:
		return int8(written)
	}
	return int8(written + 1)
}

// readQuality decides the quality from the case of the numeral, its marks and
// the scale. It reports false for a seventh that no quality has: then it is the
// commonest over that triad.
func (n Numeral) readQuality(upper bool, marks []string, seventh bool, mode theory.Mode) (q Quality, exact bool) {
	third, fifth, top := -3, 1, n.diatonicSeventh(mode)
	if upper {
		third = 4
	}
	for _, mark := range marks {
		switch mark {
		case "o":
			third, fifth, top = -3, -6, -9
		case "ø":
			third, fifth, top = -3, -6, -2
		case "+":
			third, fifth = 4, 8
		case "maj":
			top = 5
		case "d", "m":
			top = -2
			seventh = seventh || mark == "d"
		}
	}
	want := []int{0, third, fifth}
	if seventh {
		want = append(want, top)
	}
	for q := range ItalianSixth {
		if equal(qualities[q].fifths, want) {
			return q, true
		}
	}
	switch {
	case fifth == -6:
		return DiminishedSeventh, false
	case fifth == 8:
		return AugmentedMajorSeventh, false
	case third == 4:
		return DominantSeventh, false
	}
	return MinorSeventh, false
}

func equal(a, b []int) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// parseTarget reads what stands after the stroke. A chain such as V/ii is read
// as its last degree reached; I and i are the key itself and give degree 0 with
// their mode.
func parseTarget(text string, mode theory.Mode) (Target, error) {
	key := theory.Key{Tonic: theory.PitchClass{Step: theory.C}, Mode: mode}
	home := key.Tonic
	parts := strings.Split(text, "/")
	for i := len(parts) - 1; i >= 0; i-- {
		alter, rest := cutAccidentals(parts[i])
		name, _ := cutName(rest)
		switch name {
		case "":
			return Target{}, fmt.Errorf("%q names no degree", parts[i])
		case "It", "Fr", "Ger", "Cad":
			return Target{}, fmt.Errorf("nothing can be applied to %q", parts[i])
		case "N":
			name, alter = "II", -1
		}
		upper, degree := name[0] < 'a', romanDegree(name)
		step := int8(alter)
		if key.Mode == theory.MinorMode && degree >= 6 {
			step = minorAlter(alter, upper)
		}
		key.Tonic = degreeRoot(key, degree, step)
		if key.Mode = theory.MajorMode; !upper {
			key.Mode = theory.MinorMode
		}
	}
	if key.Tonic == home {
		return Target{Mode: key.Mode}, nil
	}
	degree, alter := theory.Key{Tonic: home, Mode: mode}.Degree(key.Tonic)
	return Target{int8(degree), int8(alter), key.Mode}, nil
}
