package partwriting

import "partwright/theory"

var conservative = ConservativeRanges()

// ConservativeRanges returns the ranges of Butterfield, Integrated Music Theory,
// unit 10a. Changing and untrained voices need narrower ones: the teacher or
// voice coach knows best.
func ConservativeRanges() map[string]Range {
	return map[string]Range{
		"S": {theory.MustPitch("C4"), theory.MustPitch("G5")},
		"A": {theory.MustPitch("G3"), theory.MustPitch("D5")},
		"T": {theory.MustPitch("C3"), theory.MustPitch("G4")},
		"B": {theory.MustPitch("E2"), theory.MustPitch("D4")},
	}
}
