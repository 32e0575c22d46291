package theory_test

import (
	"fmt"

	"partwright/theory"
	"partwright/theory/separation"
	"partwright/theory/theorytest"
)

func ExamplePitch_Transpose() {
	c := theory.MustPitch("C4")
	fifth := theory.PerfectFifth
	fmt.Println(c.Transpose(fifth), c.Transpose(fifth.Invert()))
	fmt.Println(theory.MustPitch("Ab4").Transpose(theory.MajorThird))
	// Output:
	// G4 F3
	// C5
}

func ExampleBetween() {
	// They sound alike and follow different rules.
	fmt.Println(theory.Between(theory.MustPitch("B3"), theory.MustPitch("F4")))
	fmt.Println(theory.Between(theory.MustPitch("Cb4"), theory.MustPitch("F4")))
	fmt.Println(theory.Between(theory.MustPitch("C5"), theory.MustPitch("F4")))
	// Output:
	// d5
	// A4
	// -P5
}

func ExampleParseKey() {
	k, err := theory.ParseKey("f#")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(k, "with", k.Signature(), "sharps, leading tone", k.LeadingTone())
	// Output:
	// F# minor with 3 sharps, leading tone E#
}

func ExampleFraction() {
	triplet := theory.Frac(1, 3)
	fmt.Println(triplet.Add(triplet), triplet.Add(theory.Frac(1, 2)))
	// Output:
	// 2/3 5/6
}

func ExampleTimeSignature_BeatAt() {
	sixEight := theory.TimeSignature{Beats: 6, BeatType: 8}
	fmt.Println(sixEight.BeatAt(theory.Frac(3, 2)))
	// Output:
	// 2
}

func ExampleTexture_Sounding() {
	texture := separation.FindVoices(theorytest.Score("I: E5*2 D5", "II: C4 D4 B3"))
	for m := range texture.Moments {
		fmt.Print(texture.Moments[m].Onset, ":")
		for v := range texture.Voices {
			held := ""
			if !texture.IsStruck(m, v) {
				held = " held"
			}
			fmt.Print(" ", texture.Sounding(m, v).Pitch, held)
		}
		fmt.Println()
	}
	// Output:
	// 0: E5 C4
	// 1: E5 held D4
	// 2: D5 B3
}
