package theory

// GivenChord is a chord label that the document itself carries: a chord symbol,
// a numeral or a function.
type GivenChord struct {
	Onset         Fraction
	Part, Measure int
	// ID is the place of the label in the document, as its reader counts them.
	ID int32
	// Root is set for chord symbols; HasRoot tells.
	Root    PitchClass
	HasRoot bool
	// Numeral is the text of a Roman numeral or function, else empty. Degree, 1 to
	// 7, and DegreeAlter say the same of a numeral in figures; the alteration is
	// against [Key.Scale]. Degree is 0 for a function.
	Numeral             string
	Degree, DegreeAlter int
	// NumeralKey is the key that a numeral names, if HasKey.
	NumeralKey Key
	HasKey     bool
	// Kind is the W3C MusicXML 4.0 kind-value, such as "dominant".
	Kind string
	// Text is how the label is printed, if the document says.
	Text string
	// Inversion is 0 for root position; Bass is set for slash chords.
	Inversion int
	Bass      PitchClass
	HasBass   bool
	Degrees   []GivenDegree
}

// NoChordKind is the W3C MusicXML 4.0 kind-value of a label that says that no chord sounds, as
// which [NoChordText] is printed.
const (
	NoChordKind = "none"
	NoChordText = "N.C."
)

// GivenDegree alters a chord: add, alter or subtract a degree.
type GivenDegree struct {
	Value, Alter int
	// Type is "add", "alter" or "subtract".
	Type string
}

// GivenFigures is one stack of thoroughbass figures, from the top down.
type GivenFigures struct {
	Onset, Duration Fraction
	Part, Measure   int
	// ID is the place of the figures in the document.
	ID      int32
	Figures []Figure
}

// Figure is one figure of a stack. Number 0 is an accidental standing alone.
type Figure struct {
	Number int
	// Prefix and Suffix are the W3C MusicXML words: sharp, flat, natural,
	// double-sharp, flat-flat, plus, slash, back-slash, vertical.
	Prefix, Suffix string
	// Extends is set where a line continues the figure.
	Extends bool
}
