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
	// C: I [E4 C4 G3 C3]
	// C: IV [F4 C4 A3 F2]
	// C: V7 [F4 B3 G3 G2]
	// C: I [E4 C4 G3 C3]
}
