package harmony

import "partwright/theory"

// Quality is the kind of a chord: its intervals above the root, as spelled.
type Quality int8

// The qualities of tonal harmony. Ninths are read as their sevenths.
const (
	MajorTriad Quality = iota
	MinorTriad
	DiminishedTriad
	AugmentedTriad
	DominantSeventh
	MajorSeventh
	MinorSeventh
	HalfDiminishedSeventh
	DiminishedSeventh
	MinorMajorSeventh
	AugmentedMajorSeventh
	// The augmented sixths are stacked in thirds from the raised fourth degree
	// (Italian, German) or the second (French), so that the lowered sixth degree
	// in the bass makes them first and second inversions.
	ItalianSixth
	FrenchSixth
	GermanSixth

	// numQualities counts the qualities above.
	numQualities = int(iota)
)

// qualityRow is what there is to know about one quality.
type qualityRow struct {
	name string
	// fifths holds the members above the root as steps on the line of fifths:
	// a major third is 4, a minor third -3, a perfect fifth 1.
	fifths []int
	// kind is the kind-value of W3C MusicXML 4.0.
	kind string
	// symbol follows the root in a chord symbol.
	symbol string
	// mark follows the numeral; lower says that the numeral is in small letters.
	mark  string
	lower bool
}

// qualities has one row for each quality, in the order of the constants. The
// interval content is that of Hutchinson, Music Theory for the 21st-Century
// Classroom, ch. 8 and 13; the kinds are the MusicXML 4.0 kind-value list.
var qualities = [numQualities]qualityRow{
	MajorTriad:            {"major", []int{0, 4, 1}, "major", "", "", false},
	MinorTriad:            {"minor", []int{0, -3, 1}, "minor", "m", "", true},
	DiminishedTriad:       {"diminished", []int{0, -3, -6}, "diminished", "dim", "o", true},
	AugmentedTriad:        {"augmented", []int{0, 4, 8}, "augmented", "+", "+", false},
	DominantSeventh:       {"dominant seventh", []int{0, 4, 1, -2}, "dominant", "7", "", false},
	MajorSeventh:          {"major seventh", []int{0, 4, 1, 5}, "major-seventh", "maj7", "maj", false},
	MinorSeventh:          {"minor seventh", []int{0, -3, 1, -2}, "minor-seventh", "m7", "", true},
	HalfDiminishedSeventh: {"half-diminished seventh", []int{0, -3, -6, -2}, "half-diminished", "m7b5", "ø", true},
	DiminishedSeventh:     {"diminished seventh", []int{0, -3, -6, -9}, "diminished-seventh", "dim7", "o", true},
	MinorMajorSeventh:     {"minor-major seventh", []int{0, -3, 1, 5}, "major-minor", "m(maj7)", "maj", true},
	AugmentedMajorSeventh: {"augmented major seventh", []int{0, 4, 8, 5}, "other", "+maj7", "+maj", false},
	ItalianSixth:          {"Italian sixth", []int{0, -10, -6}, "Italian", "It6", "It", false},
	FrenchSixth:           {"French sixth", []int{0, 4, -6, -2}, "French", "Fr6", "Fr", false},
	GermanSixth:           {"German sixth", []int{0, -10, -6, -9}, "German", "Ger6", "Ger", false},
}

// String returns the usual words, such as "half-diminished seventh".
func (q Quality) String() string { return qualities[q].name }

// Kind returns the kind-value that W3C MusicXML 4.0 uses for the quality.
func (q Quality) Kind() string { return qualities[q].kind }

// Symbol returns what follows the root in a chord symbol, such as "m7b5".
func (q Quality) Symbol() string { return qualities[q].symbol }

// Size returns the number of members: 3 or 4.
func (q Quality) Size() int { return len(qualities[q].fifths) }

// IsSeventh reports whether the chord has a seventh.
func (q Quality) IsSeventh() bool { return q.Size() == 4 }

// IsAugmentedSixth reports whether it is an Italian, French or German sixth.
func (q Quality) IsAugmentedSixth() bool { return q >= ItalianSixth && q <= GermanSixth }

// Member returns the i-th member above a root: 0 the root, 1 the third, 2 the
// fifth, 3 the seventh.
func (q Quality) Member(root theory.PitchClass, i int) theory.PitchClass {
	return theory.PitchClassAtFifths(root.Fifths() + qualities[q].fifths[i])
}

// figures by inversion, for chords of three and of four members.
var (
	triadFigures   = [4]string{"", "6", "64", ""}
	seventhFigures = [4]string{"7", "65", "43", "42"}
)

// Figures returns the usual thoroughbass figures of an inversion, top down and
// without strokes between them: "", "6", "64", "7", "65", "43", "42".
func (q Quality) Figures(inversion int) string {
	if q.IsSeventh() {
		return seventhFigures[inversion&3]
	}
	return triadFigures[inversion&3]
}
