package partwriting_test

import (
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// A doubled leading tone sends both voices to the tonic in octaves, which is one
// slip (common practice, no source): what follows from a finding stands behind it,
// names it, and costs nothing of its own.
func TestWhatFollowsStandsBehindItsCause(t *testing.T) {
	music := "C: I C3 E4 G4 C5 | V6 B2 D4 G4 B4 | I C3 E4 G4 C5 ||"
	texture := theorytest.Chords(music)
	passage := partwriting.NewPassage(texture, labeled(t, music, texture), nil)
	findings := passage.Check()
	cause := 0
	for i := range findings {
		f := &findings[i]
		switch {
		case f.Rule == "leading-tone-doubled":
			cause = i + 1
		case f.Rule == "parallel-octaves" && f.Onset == theory.Whole(2):
			if f.Follows != cause || f.Cause != "leading-tone-doubled" {
				t.Errorf("octaves follow from %d (%s), want %d", f.Follows, f.Cause, cause)
			}
		}
		if f.Follows > i {
			t.Errorf("%s, number %d, stands before its cause, number %d", f.Rule, i+1, f.Follows)
		}
	}
	if cause == 0 {
		t.Fatal("the doubled leading tone was not found")
	}
}

// The gravest of a chain is what is charged: a caution that brings a fault along
// costs as much as the fault, once.
func TestTheGravestOfAChainIsCharged(t *testing.T) {
	texture := theorytest.Chords("C3 E4 G4 C5 | C3 E4 G4 C5")
	passage := partwriting.NewPassage(texture, harmony.Analyze(texture), nil)
	rubric := partwriting.Rubric{Name: "own", Fixed: 40, Faults: 6, Cautions: 2}
	chain := []partwriting.Finding{
		{Rule: "diminished-interval", Severity: partwriting.Caution},
		{Rule: "leading-tone-unresolved", Severity: partwriting.Fault, Follows: 1},
		{Rule: "unrecovered-leap", Severity: partwriting.Caution, Follows: 2},
		{Rule: "range", Severity: partwriting.Fault},
	}
	grade := rubric.Grade(passage, chain)
	if grade.Earned != 28 || len(grade.Lines) != 2 || grade.Lines[0].Rule != "diminished-interval" || grade.Lines[0].Lost != 6 {
		t.Errorf("%s, lines %+v; want 20 less 3 for the chain and 3 for the range", grade, grade.Lines)
	}
}
