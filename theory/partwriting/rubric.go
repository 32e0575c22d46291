package partwriting

import (
	"fmt"
	"math"
	"strconv"
)

// Points counts half points, so that grades stay exact.
type Points int

// Whole returns n points.
func whole(n int) Points { return Points(2 * n) }

// maxPoints is more than any work is worth.
const maxPoints = Points(1 << 30)

// ParsePoints reads "3" or "2.5": whole or half points from 0 to 1000.
func ParsePoints(text string) (Points, error) {
	f, err := strconv.ParseFloat(text, 64)
	if err != nil || !(f >= 0 && f <= 1000) || f*2 != math.Trunc(f*2) {
		return 0, fmt.Errorf("%q is no number of points; write whole or half points from 0 to 1000, such as 2.5", text)
	}
	return Points(f * 2), nil
}

// Float returns the points as a number, exact to the half.
func (p Points) Float() float32 { return float32(p) / 2 }

// String returns "3", "2.5" or "-1".
func (p Points) String() string {
	text := strconv.Itoa(int(p) / 2)
	if p%2 != 0 {
		if p < 0 && p > -2 {
			text = "-0"
		}
		text += ".5"
	}
	return text
}

// Rubric turns findings into a grade: so many points, less so many for each
// finding. It is a proposal: the teacher decides.
type Rubric struct {
	// Name is our own; Source tells which published scheme it follows.
	Name   string
	Source Source
	// Fixed is what a piece of work is worth as a whole; PerChord and EachPhrase
	// add what each chord and each phrase of it is worth.
	Fixed, PerChord, EachPhrase Points
	// Faults, Cautions and Remarks are what a finding of that weight costs
	// unless Rules or Families name its rule or its family.
	Faults, Cautions, Remarks Points
	// Rules and Families are what a finding costs as a fault, the rule before the
	// family; as a caution it costs half of that, but no less than half a point,
	// and as a remark what Remarks says.
	Rules    map[RuleID]Points
	Families map[Family]Points
	// PerPhrase is the most that one phrase can cost, 0 for no limit. PerRule and
	// PerFamily are the most that one rule and one family can cost in the whole
	// work.
	PerPhrase, PerRule, PerFamily Points
	// Praise asks for what is well done; it costs and earns nothing.
	Praise bool
}

// Grade is the result of a rubric with its breakdown.
type Grade struct {
	Rubric            string
	Earned, Available Points
	Lines             []GradeLine
	// Phrases says what each phrase costs, in order.
	Phrases []GradePhrase
	// Praise is what is well done, if the rubric asks for it.
	Praise []Praise
}

// GradeLine is what one rule costs.
type GradeLine struct {
	Rule  RuleID
	Count int
	// Lost is what is taken off; Capped is set where a limit made it less.
	Lost   Points
	Capped bool
}

// GradePhrase is what one phrase costs.
type GradePhrase struct {
	// Measure is the index of the measure in which the phrase begins.
	Measure int
	// Available is what the phrase is worth, 0 where the rubric counts by the
	// whole work; Lost is what its findings take off.
	Available, Lost Points
	Capped          bool
}

// rubrics after published schemes; which scheme is ours to say is the teacher's.
var rubrics = []Rubric{
	{
		Name:     "points-a-chord",
		Source:   Source{"General formula for grading part-writing (Florida State University)", "", "three points a chord"},
		PerChord: whole(3), Faults: whole(1), Cautions: 1,
		// The scheme knows no praise; that it is given beside the points is ours.
		Praise: true,
		Rules: map[RuleID]Points{
			"parallel-fifths": whole(3), "parallel-octaves": whole(3), "parallel-unisons": whole(3),
			"third-missing": whole(3), "root-missing": whole(3), "retrogression": whole(3),
			"contrary-fifths": whole(2), "contrary-octaves": whole(2), "direct-fifths": whole(2), "direct-octaves": whole(2),
			"seventh-unresolved": whole(2), "seventh-doubled": whole(2), "leading-tone-unresolved": whole(2), "inner-leading-tone-unresolved": whole(2), "weak-progression": whole(4),
			"six-four-misused": whole(2), "cadence-missing": whole(2),
			"leading-tone-doubled": whole(1), "fifth-missing": whole(2), "voice-crossing": whole(1),
			"seventh-unprepared": whole(2), "range": whole(1), "augmented-second": whole(1), "unrecovered-leap": whole(2),
			"harmony-held-into-strong-beat": whole(2), "diminished-triad-root-position": whole(2),
			"spacing": 1, "voice-overlap": 1,
		},
	},
	{
		Name:   "hundred",
		Source: Source{"Wieland, Part-writing quiz rubrics (Northern State University)", "later version", "a hundred points, three for each fault"},
		Fixed:  whole(100), Faults: whole(3), Cautions: 0,
	},
	{
		// What an answer is worth is ours: three points a phrase are the most
		// that the scheme takes off.
		Name:       "points-a-phrase",
		Source:     Source{"College Board, AP Music Theory scoring guidelines 2021, question 7", "", "two lesser errors count as one, and no phrase loses more than three"},
		EachPhrase: whole(3), Faults: whole(1), Cautions: 1, PerPhrase: whole(3),
	},
}

// Rubrics returns the rubrics that come with the program.
func Rubrics() []Rubric { return append([]Rubric(nil), rubrics...) }

// RubricByName returns the rubric of that name, and false where there is none.
func RubricByName(name string) (Rubric, bool) {
	for _, r := range rubrics {
		if r.Name == name {
			return r, true
		}
	}
	return Rubric{}, false
}
