package partwriting_test

import (
	"fmt"
	"slices"
	"testing"

	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// What is well done, and beside it the same with one thing less. The music is our
// own; the labels are RomanText, so that cadences are known.
func TestPraise(t *testing.T) {
	const model = "C3 G3 E4 C5 | A2 A3 E4 C5 | F2 A3 F4 C5 | D3 A3 F4 D5 / G3 G3 F4 D5 | G3 G3 D4 B4 | C3 G3 E4 C5 | C3 G3 E4 C5 ||"
	const numerals = "m1 C: I b2 vi b3 IV b4 ii\nm2 V7 b2 V b3 I"
	for _, test := range []struct {
		praise       partwriting.Praise
		music, roman string
		want         bool
		why          string
	}{
		{partwriting.OuterVoicesContrary, model, numerals, true, "soprano up, bass down into the tonic"},
		{partwriting.OuterVoicesContrary, "C3 G3 E4 C5 | F2 A3 F4 C5 | G2 G3 D4 B4 | C3 G3 E4 C5 ||", "m1 C: I b2 IV b3 V b4 I", false, "both rise"},
		{partwriting.OuterVoicesContrary, "C3 G3 E4 C5 | F2 A3 F4 C5 | C3 G3 E4 C5 | E3 G3 B3 G4 ||", "m1 C: I b2 IV b3 I b4 iii", false, "no cadence, no praise"},

		{partwriting.SeventhsHandled, "C3 C4 E4 G4 | D3 C4 F4 A4 | G2 B3 F4 G4 | C3 C4 E4 G4 ||", "m1 C: I b2 ii7 b3 V7 b4 I", true, "C and F stay, and fall to B and E"},
		{partwriting.SeventhsHandled, "C3 C4 E4 G4 | F3 C4 F4 A4 | G2 B3 F4 G4 | C3 C4 E4 G4 ||", "m1 C: I b2 IV b3 V7 b4 I", false, "one seventh proves nothing"},
		{partwriting.SeventhsHandled, "C3 G3 E4 G4 | D3 C4 F4 A4 | G2 B3 F4 G4 | C3 C4 E4 G4 ||", "m1 C: I b2 ii7 b3 V7 b4 I", false, "the first is reached by leap"},
		{partwriting.SeventhsHandled, "C3 C4 E4 G4 | D3 C4 F4 A4 | G2 B3 F4 D4 | C3 C4 G4 E4 ||", "m1 C: I b2 ii7 b3 V7 b4 I", false, "the second rises"},

		{partwriting.CompleteChords, model, numerals, true, "nothing is missing"},
		{partwriting.CompleteChords, "C3 G3 E4 C5 | A2 A3 E4 C5 | F2 A3 F4 C5 | G2 G3 D4 B4 / C3 C4 E4 C5 | . . . . ||", "m1 C: I b2 vi b3 IV b4 V\nm2 I", false, "the last tonic has no fifth, as it may, but is not complete"},
		{partwriting.CompleteChords, "C3 G3 E4 C5 | G2 G3 D4 B4 | C3 G3 E4 C5 ||", "m1 C: I b2 V b3 I", false, "three chords prove nothing"},

		{partwriting.SingleClimax, "C3 G3 E4 C5 | G2 G3 D4 D5 | C3 G3 C4 E5 | F3 A3 C4 F5 / C3 G3 C4 E5 | G2 G3 B3 D5 | G2 G3 D4 B4 | C3 G3 E4 C5 ||", "m1 C: I b2 V b3 I b4 IV\nm2 I b2 V b4 I", true, "F5 once"},
		{partwriting.SingleClimax, "C3 G3 E4 C5 | G2 G3 D4 D5 | C3 G3 C4 E5 | F3 A3 C4 F5 / F3 A3 C4 F5 | G2 G3 B3 D5 | G2 G3 D4 B4 | C3 G3 E4 C5 ||", "m1 C: I b2 V b3 I b4 IV\nm2 IV b2 V b4 I", true, "struck twice running it is one summit"},
		{partwriting.SingleClimax, "C3 G3 E4 C5 | F3 A3 C4 F5 | C3 G3 C4 E5 | F3 A3 C4 F5 / C3 G3 C4 E5 | G2 G3 B3 D5 | G2 G3 D4 B4 | C3 G3 E4 C5 ||", "m1 C: I b2 IV b3 I b4 IV\nm2 I b2 V b4 I", false, "F5 comes back"},
		{partwriting.SingleClimax, "F3 A3 C4 F5 | C3 G3 C4 E5 | G2 G3 B3 D5 | C3 G3 E4 C5 / C3 G3 C4 E5 | G2 G3 B3 D5 | G2 G3 D4 B4 | C3 G3 E4 C5 ||", "m1 C: IV b2 I b3 V b4 I\nm2 I b2 V b4 I", false, "nothing leads to the first note"},
	} {
		texture := theorytest.Chords(test.music)
		roman, err := harmony.ReadRomanText("Time Signature: 4/4\n\n" + test.roman + "\n")
		if err != nil || len(roman.Problems) > 0 {
			t.Fatal(err, roman.Problems)
		}
		analysis := harmony.GuidedAs(texture, roman.Annotations(texture), harmony.Replace, harmony.ByTexture)
		findings := partwriting.Check(texture, analysis, nil)
		got := partwriting.NewPassage(texture, analysis, nil).Praise(findings)
		if slices.Contains(got, test.praise) != test.want {
			t.Errorf("%s: %s\n got %v, want it %t, because %s", test.praise, test.music, got, test.want, test.why)
		}
	}
}

// Praise is given where a rubric asks, costs nothing and earns nothing.
func TestOnlyARubricAsksForPraise(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | A2 A3 E4 C5 | F2 A3 F4 C5 | D3 A3 F4 D5 / G3 G3 F4 D5 | G3 G3 D4 B4 | C3 G3 E4 C5 ||")
	roman, err := harmony.ReadRomanText("Time Signature: 4/4\n\nm1 C: I b2 vi b3 IV b4 ii\nm2 V7 b2 V b3 I\n")
	if err != nil {
		t.Fatal(err)
	}
	analysis := harmony.GuidedAs(texture, roman.Annotations(texture), harmony.Replace, harmony.ByTexture)
	findings := partwriting.Check(texture, analysis, nil)
	passage := partwriting.NewPassage(texture, analysis, nil)
	silent := partwriting.Rubric{Fixed: 40, Faults: 4}
	asking := silent
	asking.Praise = true
	a, b := silent.Grade(passage, findings), asking.Grade(passage, findings)
	if len(a.Praise) != 0 || len(b.Praise) == 0 || fmt.Sprint(a.Earned, a.Available) != fmt.Sprint(b.Earned, b.Available) {
		t.Errorf("not asked: %+v; asked: %+v", a, b)
	}
}

func TestNothingDeservesNoPraise(t *testing.T) {
	texture := theorytest.Chords("r r r r ||")
	if got := partwriting.NewPassage(texture, nil, nil).Praise(nil); len(got) != 0 {
		t.Errorf("a silence is praised: %v", got)
	}
}
