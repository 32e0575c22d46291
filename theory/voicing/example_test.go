package voicing_test

import (
	"fmt"

	"partwright/theory/voicing"
)

// A progression is read, voiced for four singers, and printed from the top down.
func ExampleSolve() {
	progression, err := voicing.ReadProgression("C: I IV V7 I")
	if err != nil {
		fmt.Println(err)
		return
	}
	solution, err := voicing.Solve(progression.Problem(voicing.Chorale()))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range solution.Chords {
		fmt.Println(c.Reading, c.Pitches)
	}
	// Output:
	// C: I [C5 G4 E4 C3]
	// C: IV [C5 A4 F4 F3]
	// C: V7 [B4 G4 F4 G3]
	// C: I [C5 G4 E4 C3]
}
