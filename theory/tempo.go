package theory

// Tempo is a tempo mark: how it is printed and how fast is played from its onset on.
type Tempo struct {
	Onset   Fraction
	Measure int
	// Words are what is printed, such as "Andante", empty for none.
	Words string
	// Beat is the note value that is counted, in quarters, and PerMinute how many of them
	// there are; 0 where no such mark is printed.
	Beat, PerMinute Fraction
	// Quarters is how many quarters are played in a minute, 0 where the mark does not say.
	Quarters Fraction
}
