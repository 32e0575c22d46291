package theory

// AcceptedText is a text in a score by which a teacher lets something stand, such
// as "accepted: direct-fifths".
type AcceptedText struct {
	Onset   Fraction
	Measure int
	// Words is what stands after "accepted" and a colon, empty where nothing does.
	Words string
}
