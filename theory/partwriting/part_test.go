package partwriting_test

import (
	"slices"
	"testing"

	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// A bass an octave low: the hand-in as a whole says so once, and what it puts out of
// range is left out. A stretch cut out of longer music says nothing about the hand-in,
// and what lies out of range is found. The music is our own.
func TestPartIsNoHandIn(t *testing.T) {
	texture := theorytest.Chords("C2 G3 E4 C5 | F2 A3 F4 C5 | G1 B3 D4 B4 | C2 C4 E4 G4 | A1 C4 E4 A4 | D2 D4 F4 A4 | G1 D4 F4 B4 | C2 C4 E4 C5 | " +
		"E1 C4 G4 C5 | F1 C4 A4 C5 | G1 D4 G4 B4 | A1 C4 E4 C5 | F1 C4 F4 A4 | G1 B3 G4 D5 | C2 C4 E4 C5")
	has := func(findings []partwriting.Finding, rule partwriting.RuleID) bool {
		return slices.ContainsFunc(findings, func(f partwriting.Finding) bool { return f.Rule == rule })
	}
	whole, part := partwriting.Check(texture, nil, nil), partwriting.CheckPart(texture, nil, nil)
	if !has(whole, "misread") || has(whole, "range") {
		t.Errorf("as a hand-in: misread %v, range %v, want only the first", has(whole, "misread"), has(whole, "range"))
	}
	if has(part, "misread") || !has(part, "range") {
		t.Errorf("as a part: misread %v, range %v, want only the second", has(part, "misread"), has(part, "range"))
	}
}

// Three chords in wide position over a low bass, and a bass that lies low and in its
// range, are no slip of the octave.
func TestLowBassIsNoSlip(t *testing.T) {
	wide := "C3 G4 E4 C5 | F2 A3 F4 C5 | G2 B3 D4 B4 | C3 C4 E4 G4 | A2 C4 E4 A4 | D3 D4 F4 A4 | G2 D4 F4 B4 | C3 C4 E4 C5 | " +
		"E2 C4 G4 C5 | F2 C4 A4 C5 | G2 D4 G4 B4 | A2 C4 E4 C5 | F2 C4 F4 A4 | G2 B3 G4 D5 | C3 C4 E4 C5"
	for _, f := range partwriting.Check(theorytest.Chords(wide), nil, nil) {
		if f.Problem != partwriting.NoProblem {
			t.Errorf("%s in measure %d", f.Problem, f.Measure+1)
		}
	}
}
