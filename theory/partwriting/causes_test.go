package partwriting_test

import (
	"strings"
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

// One slip is one finding that stands alone and is charged, whatever it brings along; two
// slips are two (common practice, no source). A fault costs two points and a caution one; the
// music is our own.
func TestOneSlipCostsOnce(t *testing.T) {
	rubric := partwriting.Rubric{Name: "own", Fixed: 40, Faults: 4, Cautions: 2}
	for _, test := range []struct {
		why, music string
		// alone are the findings of weight that follow from nothing, with what they cost
		// together in half points.
		alone string
		lost  partwriting.Points
		// brought is how many findings follow from another.
		brought int
	}{
		{
			"a doubled leading tone, with octaves on either side",
			"C: I C3 E4 G4 C5 | V6 B2 D4 G4 B4 | I C3 E4 G4 C5 ||", "leading-tone-doubled", 4, 2,
		},
		{
			"two leaps of a seventh",
			"C: I6 E3 G3 C4 G4 | IV F2 A3 C4 F4 | I6 E3 G3 C4 G4", "leap-of-seventh leap-of-seventh", 8, 0,
		},
		{
			"the leading tone of minor written as the lowered tonic",
			"unsure i A2 C4 E4 A4 | D3 D4 F4 A4 | E3 B3 E4 G#4 | A2 C4 E4 A4 / C3 E4 E4 A4 | D3 D4 F4 A4 | E3 B3 E4 Ab4 | A2 C4 E4 A4 ||", "leading-tone-misspelled", 4, 1,
		},
		{
			"a note far out of range, for which two voices stand too far apart",
			"C: I C3 C4 G4 E5 | IV F2 C4 F4 A5 | I6 E2 C4 G4 G5", "range", 4, 1,
		},
	} {
		texture := theorytest.Chords(strings.TrimPrefix(test.music, "unsure i "))
		analysis := harmony.Analyze(texture)
		if !strings.HasPrefix(test.music, "unsure ") {
			analysis = labeled(t, test.music, texture)
		}
		passage := partwriting.NewPassage(texture, analysis, nil)
		findings := passage.Check()
		var alone []string
		brought := 0
		for i := range findings {
			switch f := &findings[i]; {
			case f.Follows > 0:
				brought++
				if cause := &findings[f.Follows-1]; f.Follows > i || f.Onset.Less(cause.Onset) {
					t.Errorf("%s: %s comes before %s, from which it follows", test.why, f.Rule, cause.Rule)
				}
			case f.Severity >= partwriting.Caution:
				alone = append(alone, string(f.Rule))
			}
		}
		grade := rubric.Grade(passage, findings)
		if got := strings.Join(alone, " "); got != test.alone || brought != test.brought || grade.Available-grade.Earned != test.lost {
			t.Errorf("%s: %q alone, %d brought along, %s; want %q, %d, %s lost", test.why, got, brought, grade, test.alone, test.brought, test.lost)
		}
	}
}
