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

	// numQualities counts the qualities above, as which music is read.
	numQualities = int(iota)
)

// Qualities that only chord symbols ask for: music is never read as one of them. They
// have three or four members, as four voices sing them: what stands for the third comes
// second, what stands for the fifth third. What is left out is the fifth, and the third
// where it would sound against an eleventh (Hutchinson, Music Theory for the 21st-Century
// Classroom, ch. 37, on chords of the ninth, eleventh and thirteenth; common practice for
// the eleventh of minor chords, no source).
const (
	SuspendedFourth Quality = iota + Quality(numQualities)
	SuspendedSecond
	SeventhSuspendedFourth
	MajorSixth
	MinorSixth
	MajorSixthNinth
	MajorAddedNinth
	MinorAddedNinth
	DominantNinth
	MajorNinth
	MinorNinth
	DominantLoweredNinth
	DominantRaisedNinth
	DominantEleventh
	MinorEleventh
	DominantThirteenth
	MajorThirteenth
	MinorThirteenth
	AugmentedSeventh
	DominantLoweredFifth

	// allQualities counts all of them.
	allQualities = int(iota) + numQualities
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
	// degrees are what is added to the kind or altered in it.
	degrees []theory.GivenDegree
}

// added and altered are degrees as W3C MusicXML 4.0 writes them.
func added(value, alter int) []theory.GivenDegree {
	return []theory.GivenDegree{{Value: value, Alter: alter, Type: "add"}}
}

func alteredFifth(alter int) []theory.GivenDegree {
	return []theory.GivenDegree{{Value: 5, Alter: alter, Type: "alter"}}
}

// qualities has one row for each quality, in the order of the constants. The
// interval content is that of Hutchinson, Music Theory for the 21st-Century
// Classroom, ch. 8 and 13; the kinds are the MusicXML 4.0 kind-value list.
var qualities = [allQualities]qualityRow{
	MajorTriad:             {"major", []int{0, 4, 1}, "major", "", "", false, nil},
	MinorTriad:             {"minor", []int{0, -3, 1}, "minor", "m", "", true, nil},
	DiminishedTriad:        {"diminished", []int{0, -3, -6}, "diminished", "dim", "o", true, nil},
	AugmentedTriad:         {"augmented", []int{0, 4, 8}, "augmented", "+", "+", false, nil},
	DominantSeventh:        {"dominant seventh", []int{0, 4, 1, -2}, "dominant", "7", "", false, nil},
	MajorSeventh:           {"major seventh", []int{0, 4, 1, 5}, "major-seventh", "maj7", "maj", false, nil},
	MinorSeventh:           {"minor seventh", []int{0, -3, 1, -2}, "minor-seventh", "m7", "", true, nil},
	HalfDiminishedSeventh:  {"half-diminished seventh", []int{0, -3, -6, -2}, "half-diminished", "m7b5", "ø", true, nil},
	DiminishedSeventh:      {"diminished seventh", []int{0, -3, -6, -9}, "diminished-seventh", "dim7", "o", true, nil},
	MinorMajorSeventh:      {"minor-major seventh", []int{0, -3, 1, 5}, "major-minor", "m(maj7)", "maj", true, nil},
	AugmentedMajorSeventh:  {"augmented major seventh", []int{0, 4, 8, 5}, "other", "+maj7", "+maj", false, nil},
	ItalianSixth:           {"Italian sixth", []int{0, -10, -6}, "Italian", "It6", "It", false, nil},
	FrenchSixth:            {"French sixth", []int{0, 4, -6, -2}, "French", "Fr6", "Fr", false, nil},
	GermanSixth:            {"German sixth", []int{0, -10, -6, -9}, "German", "Ger6", "Ger", false, nil},
	SuspendedFourth:        {"suspended fourth", []int{0, -1, 1}, "suspended-fourth", "sus4", "[sus4]", false, nil},
	SuspendedSecond:        {"suspended second", []int{0, 2, 1}, "suspended-second", "sus2", "[sus2]", false, nil},
	SeventhSuspendedFourth: {"seventh with suspended fourth", []int{0, -1, 1, -2}, "suspended-fourth", "7sus4", "7[sus4]", false, added(7, 0)},
	MajorSixth:             {"major with added sixth", []int{0, 4, 1, 3}, "major-sixth", "6", "[add6]", false, nil},
	MinorSixth:             {"minor with added sixth", []int{0, -3, 1, 3}, "minor-sixth", "m6", "[add6]", true, nil},
	MajorSixthNinth:        {"major with added sixth and ninth", []int{0, 4, 3, 2}, "major-sixth", "69", "[add6][add9]", false, added(9, 0)},
	MajorAddedNinth:        {"major with added ninth", []int{0, 4, 1, 2}, "major", "add9", "[add9]", false, added(9, 0)},
	MinorAddedNinth:        {"minor with added ninth", []int{0, -3, 1, 2}, "minor", "madd9", "[add9]", true, added(9, 0)},
	DominantNinth:          {"dominant ninth", []int{0, 4, 2, -2}, "dominant-ninth", "9", "9", false, nil},
	MajorNinth:             {"major ninth", []int{0, 4, 2, 5}, "major-ninth", "maj9", "maj9", false, nil},
	MinorNinth:             {"minor ninth", []int{0, -3, 2, -2}, "minor-ninth", "m9", "9", true, nil},
	DominantLoweredNinth:   {"dominant with lowered ninth", []int{0, 4, -5, -2}, "dominant", "7b9", "7[b9]", false, added(9, -1)},
	DominantRaisedNinth:    {"dominant with raised ninth", []int{0, 4, 9, -2}, "dominant", "7#9", "7[#9]", false, added(9, 1)},
	DominantEleventh:       {"dominant eleventh", []int{0, -1, 2, -2}, "dominant-11th", "11", "11", false, nil},
	MinorEleventh:          {"minor eleventh", []int{0, -3, -1, -2}, "minor-11th", "m11", "11", true, nil},
	DominantThirteenth:     {"dominant thirteenth", []int{0, 4, 3, -2}, "dominant-13th", "13", "13", false, nil},
	MajorThirteenth:        {"major thirteenth", []int{0, 4, 3, 5}, "major-13th", "maj13", "maj13", false, nil},
	MinorThirteenth:        {"minor thirteenth", []int{0, -3, 3, -2}, "minor-13th", "m13", "13", true, nil},
	AugmentedSeventh:       {"augmented seventh", []int{0, 4, 8, -2}, "augmented-seventh", "7#5", "7[#5]", false, nil},
	DominantLoweredFifth:   {"dominant with lowered fifth", []int{0, 4, -6, -2}, "dominant", "7b5", "7[b5]", false, alteredFifth(-1)},
}

// String returns the usual words, such as "half-diminished seventh".
func (q Quality) String() string { return qualities[q].name }

// Kind returns the kind-value that W3C MusicXML 4.0 uses for the quality.
func (q Quality) Kind() string { return qualities[q].kind }

// Symbol returns what follows the root in a chord symbol, such as "m7b5".
func (q Quality) Symbol() string { return qualities[q].symbol }

// Size returns the number of members: 3 or 4.
func (q Quality) Size() int { return len(qualities[q].fifths) }

// Degrees are what a chord symbol adds to its kind or alters in it.
func (q Quality) Degrees() []theory.GivenDegree { return qualities[q].degrees }

// KindSymbol is the symbol of the kind alone, without the degrees that are added to it or
// altered in it: "6" of "69", "7" of "7b9".
func (q Quality) KindSymbol() string {
	for plain := range Quality(allQualities) {
		if plain.Kind() == q.Kind() && len(qualities[plain].degrees) == 0 {
			return plain.Symbol()
		}
	}
	return q.Symbol()
}

// IsSeventh reports whether the chord has four members, as sevenths have.
func (q Quality) IsSeventh() bool { return q.Size() == 4 }

// IsExtended reports whether the chord is none of those stacked in thirds up to the
// seventh: suspended, with an added note, a ninth and above, or a seventh with an altered
// fifth.
func (q Quality) IsExtended() bool { return int(q) >= numQualities }

// hasSeventh reports whether the last of four members is a seventh; the augmented sixths
// have none in this sense.
func (q Quality) hasSeventh() bool {
	return q.Size() == 4 && !q.IsAugmentedSixth() && theory.PitchClassAtFifths(qualities[q].fifths[3]).Step == theory.PitchClassAtFifths(-2).Step
}

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
