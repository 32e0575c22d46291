package partwriting_test

var perfectIntervalExamples = []example{
	{imt10b + "example 1", "C: I C3 G3 E4 C5 | ii6 F3 A3 D4 A4 | V7 G3 B3 F4 B4 | I C3 C4 E4 C5",
		[]string{"all-one-direction SATB 3", "parallel-octaves ST 3", "parallel-octaves ST 4"}, "the doubled leading tone makes octaves on both sides"},
	{imt10b + "example 2", "C: I C3 G3 E4 C5 | ii D3 A3 F4 A4 | V7 G3 D4 F4 B4 | I C3 C4 E4 C5",
		[]string{"parallel-fifths TB 2", "parallel-fifths TB 3"}, "bass and tenor a fifth apart three times"},
	{imt10b + "example 3", "C: I C3 G3 E4 C5 | ii6 F3 A3 D4 A4 | V7 G3 B3 F4 B4 | I C3 C3 E4 C5",
		[]string{"all-one-direction SATB 3", "contrary-octaves ST 4", "leap-of-seventh T 4", "parallel-octaves ST 3", "spacing AT 4", "voice-overlap TB 4"}, "octaves by contrary motion are octaves; the tenor also falls past the G that the bass leaves"},
	{imt10b + "example 4", "C: I C3 G3 E4 C5 | ii D2 A3 F4 A4 | V7 G2 D3 F4 B4 | I C3 C4 E4 C5",
		[]string{"contrary-fifths TB 2", "contrary-fifths TB 3", "direct-fifths SB 2", "leap-of-seventh B 2", "leap-of-seventh T 4", "range B 2", "spacing AT 3"}, "fifths by contrary motion; the book lets the low D and the direct fifth pass"},
	{imt10b + "example 5", "C: I C3 C4 E4 C5 | ii D3 A3 F4 D5 | V65 B2 G3 F4 D5 | I C3 E3 G4 C5",
		[]string{"parallel-octaves SB 2", "spacing AT 4", "unequal-fifths AB 4"}, "the book shows the unequal fifths and passes over the octaves of the outer voices"},
	{imt10b + "example 6", "C: I C3 C4 G4 E5 | vi A2 C4 A4 A4 | IV F2 C4 F4 A4 | V7 G2 D4 F4 B4 | I C3 C4 E4 C5",
		[]string{"direct-octaves SB 2", "parallel-octaves AB 3", "parallel-fifths TB 4"}, "the soprano leaps a fifth into the octave; the book passes over the parallels"},
	{hutch + "fig. 26.3.1a", "C: V G3 D4 G4 B4 | vi A3 E4 E4 C5", []string{"parallel-fifths TB 2"}, "V to vi, everything rising"},
	{hutch + "fig. 26.3.1b", "C: V G3 B3 D4 D5 | vi A3 C4 E4 C5", []string{"parallel-fifths AB 2"}, "V to vi, everything rising"},
	{hutch + "fig. 26.3.1c", "C: V6 B2 G3 G4 D5 | vi A2 A3 E4 E5", []string{"parallel-fifths ST 2"}, "V6 to vi"},
	{hutch + "fig. 26.3.1d", "C: V G2 B3 D4 G4 | vi A2 C4 E4 A4", []string{"all-one-direction SATB 2", "parallel-fifths AB 2", "parallel-octaves SB 2"}, "fifths and octaves at once"},
	{hutch + "fig. 26.10.1", "C: ii6 F3 D4 D4 A4 | I64 G3 C4 E4 G4", []string{"parallel-fifths ST 2"}, "ii6 to I6/4 with the fifth on top"},
	{hutch + "fig. 26.10.2", "C: ii6 F3 D4 A4 D5 | I64 G3 E4 G4 C5", nil, "turned over, the fifths are fourths"},
	{hutch + "fig. 26.10.2", "C: I C3 E4 G4 C5 | viio6 D3 D4 F4 B4", nil, "turned over, the fifths are fourths"},
	{common, "C: I C3 G3 E4 C5 | ii D3 A3 D4 F4", []string{"parallel-fifths TB 2"}, "root position a step up"},
	{common, "C: I C3 C4 E4 G4 | V G2 G3 D4 B4", []string{"parallel-octaves TB 2"}, "tenor follows bass"},
	{common, "C: I C3 G3 E4 C5 | IV F2 C4 F4 A4", []string{"contrary-fifths TB 2"}, "fifth to twelfth"},
	{common, "C: IV F2 C4 F4 A4 | V G2 B3 D4 D5", []string{"direct-fifths SB 2"}, "the soprano leaps a fourth into the nineteenth"},
	{common, "C: I C3 C4 E4 G4 | V G2 D4 B3 G4", []string{"voice-crossing AT 2"}, "tenor above alto, told once and not as overlap too"},
	{common, "C: I C3 E3 C4 G4 | IV F3 A3 C4 F4", []string{"voice-overlap TB 2"}, "the bass passes the tenor's E3"},
	{common, "C: I C3 G3 C4 E5 | V G2 G3 B3 D5", []string{"spacing SA 1", "spacing SA 2"}, "a tenth between soprano and alto"},
	{common, "C: I C3 E4 G4 C5 | IV F2 C4 F4 A4", []string{"all-one-direction SATB 2"}, "all voices fall, no perfect interval repeats"},
}

var spacingExamples = []example{
	{imt10a + "example 1", "C3 G3 E4 C6", []string{"range S 1", "spacing SA 1"}, "soprano two octaves above the alto's third"},
	{imt10a + "example 1", "C3 G3 E5 C6", []string{"range S 1", "range A 1", "spacing AT 1"}, "alto out of reach of the tenor"},
	{imt10a + "example 1", "C3 G4 E5 C6", []string{"range S 1", "range A 1"}, "wide at the bottom only: spacing is right"},
	{imt10a + "example 1", "C3 G3 E4 C5", nil, "close position"},
}
