package separation_test

import (
	"fmt"

	"partwright/theory/separation"
	"partwright/theory/theorytest"
)

func ExampleFindVoices() {
	score := theorytest.Score(
		"Keys/1/1: E4+G4+C5 F4+G4+B4 E4+G4+C5*2",
		"Keys/2/5: C3 G3 C3*2")
	texture := separation.FindVoices(score)
	fmt.Println(texture.Found)
	for _, v := range texture.Voices {
		fmt.Print(v.Name, ":")
		for _, n := range v.Notes {
			fmt.Print(" ", n.Pitch)
		}
		fmt.Printf(" (%s)\n", v.Found)
	}
	// Output:
	// keyboard: 4 voices on 2 staves, chords split by rank from the top
	// S: C5 B4 C5 (note 1 from the top on staff 1 of part P1)
	// A: G4 G4 G4 (note 2 from the top on staff 1 of part P1)
	// T: E4 F4 E4 (note 3 from the top on staff 1 of part P1)
	// B: C3 G3 C3 (the one line on staff 2 of part P1)
}
