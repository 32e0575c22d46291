package classroom

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"partwright/worker/request"
)

// Assignment is an exercise as it is set to a class.
type Assignment struct {
	// ID tells it from others; the marks that go to a school's system name it.
	ID    string `json:"id" yaml:"id"`
	Title string `json:"title" yaml:"title"`
	// Task is the row of chords that it was made of, "" where it was made of a score.
	Task string `json:"task,omitempty" yaml:"task,omitempty"`
	// Demands are what has to be as the model answer has it, a list of [Demand].
	Demands []Demand `json:"demands" yaml:"demands,flow"`
	// Rules and Rubric are names of those that come with the program, or of files of the
	// teacher's own, whose content is in OwnRules and OwnRubric.
	Rules  string `json:"rules,omitempty" yaml:"rules,omitempty"`
	Rubric string `json:"rubric" yaml:"rubric"`
	// Points is what the work is worth, in half points as "12.5"; 0 leaves it to the
	// rubric.
	Points Points `json:"points,omitempty" yaml:"points,omitempty"`
	// Unmet is what each demand costs that is not met.
	Unmet Points `json:"unmet" yaml:"unmet"`
	// Opens and Closes bound when work is handed in; the zero time is no bound.
	Opens  time.Time `json:"opens,omitzero" yaml:"opens,omitempty"`
	Closes time.Time `json:"closes,omitzero" yaml:"closes,omitempty"`
	// Attempts is how many times a pupil may hand in, 0 for any number; Counts says
	// which of them counts.
	Attempts int     `json:"attempts,omitempty" yaml:"attempts,omitempty"`
	Counts   Counted `json:"counts" yaml:"counts"`
	// Late says what becomes of work that comes after Closes.
	Late Late `json:"late" yaml:"late"`
	// Shows is what pupils see of the findings before the teacher releases the marks.
	Shows Showing `json:"shows" yaml:"shows"`
	// Language is that of all sentences.
	Language string `json:"language" yaml:"language"`
	// Groups are references that hand in for several pupils.
	Groups map[string][]string `json:"groups,omitempty" yaml:"groups,omitempty"`
	// Stock are the teacher's own remarks, by a short name.
	Stock map[string]string `json:"stock,omitempty" yaml:"stock,omitempty"`

	// Exercise is the sheet as it was handed out, Models are answers to it, the first of
	// which says what is demanded. OwnRules and OwnRubric are files of the teacher's own.
	Exercise  request.Source   `json:"-" yaml:"-"`
	Models    []request.Source `json:"-" yaml:"-"`
	OwnRules  request.Source   `json:"-" yaml:"-"`
	OwnRubric request.Source   `json:"-" yaml:"-"`
}

// Demand is something that has to be as the model answer has it.
type Demand string

// Demands. What the exercise gives, its key, its metre and its length have to be there
// anyway.
const (
	// Chords wants the same chords at the same places, Inversions the same notes in the
	// bass.
	Chords     Demand = "chords"
	Inversions Demand = "inversions"
	// Labels wants the chords named in the score: numerals, figures or symbols.
	Labels Demand = "labels"
	// Cadence wants the last phrase to end with the same kind of cadence.
	Cadence Demand = "cadence"
)

// Demandable are all of them.
var Demandable = []Demand{Chords, Inversions, Labels, Cadence}

// Counted says which attempt counts.
type Counted string

// Ways to choose an attempt: the last one, or the one with the best mark.
const (
	LastCounts Counted = "last"
	BestCounts Counted = "best"
)

// Showing is what pupils see of the findings before the marks are released.
type Showing string

// What pupils see: the findings at once or once the assignment has closed, how many there
// are, or nothing.
const (
	AtOnce       Showing = "at-once"
	AfterClosing Showing = "after-closing"
	CountsOnly   Showing = "counts"
	ShowsNothing Showing = "never"
)

var (
	counting = []Counted{LastCounts, BestCounts}
	showings = []Showing{AtOnce, AfterClosing, CountsOnly, ShowsNothing}
)

// Late is what becomes of late work.
type Late struct {
	// Policy is one of [LateAccepted], [LateRefused] and [LateCosts].
	Policy string `json:"policy" yaml:"policy"`
	// Points are lost for every day that has begun, Most in all (0 for no limit); Days is
	// how late work may come at most, 0 for no limit.
	Points Points `json:"points,omitempty" yaml:"points,omitempty"`
	Most   Points `json:"most,omitempty" yaml:"most,omitempty"`
	Days   int    `json:"days,omitempty" yaml:"days,omitempty"`
}

// What becomes of late work.
const (
	LateAccepted = "accept"
	LateRefused  = "refuse"
	LateCosts    = "costs"
)

// fillIn gives what is left open its default.
func (a *Assignment) fillIn() {
	if a.Demands == nil {
		a.Demands = []Demand{}
	}
	a.Rubric = cmp.Or(a.Rubric, "hundred")
	a.Counts = cmp.Or(a.Counts, LastCounts)
	a.Shows = cmp.Or(a.Shows, AfterClosing)
	a.Late.Policy = cmp.Or(a.Late.Policy, LateAccepted)
	a.Language = cmp.Or(a.Language, "en")
}

// Check says what is wrong with an assignment: a field and what to write instead.
func (a *Assignment) Check() error {
	a.fillIn()
	for _, d := range a.Demands {
		if err := oneOf("demands", d, Demandable); err != nil {
			return err
		}
	}
	err := errors.Join(
		oneOf("counts", a.Counts, counting), oneOf("shows", a.Shows, showings),
		oneOf("late", a.Late.Policy, []string{LateAccepted, LateRefused, LateCosts}),
	)
	switch {
	case err != nil:
		return err
	case strings.TrimSpace(a.Title) == "":
		return &FieldError{"title", "an assignment needs a title, which stands at the head of the sheet"}
	case len(a.Models) == 0 && len(a.Demands) > 0:
		return &FieldError{"demands", "what is demanded is read from a model answer, and there is none: give one, or demand nothing"}
	case a.Attempts < 0:
		return &FieldError{"attempts", "write how many times a pupil may hand in, or 0 for any number"}
	case a.Late.Policy == LateCosts && a.Late.Points <= 0:
		return &FieldError{"late", "say how many points each day costs"}
	case !a.Opens.IsZero() && !a.Closes.IsZero() && !a.Opens.Before(a.Closes):
		return &FieldError{"closes", "it closes before it opens"}
	}
	if _, err = wordsOf(a.Language); err != nil {
		return &FieldError{"language", err.Error()}
	}
	_, err = a.plan(nil, forTeacher)
	return err
}

// forTeacher and forPupil are whom a report is for, as a request has it.
const (
	forTeacher = "teacher"
	forPupil   = "pupil"
)

// FieldError says which field of an assignment is wrong, and what to write instead.
type FieldError struct{ Field, Problem string }

// Error returns both.
func (e *FieldError) Error() string { return e.Field + ": " + e.Problem }

func oneOf[T ~string](field string, value T, choices []T) error {
	if slices.Contains(choices, value) {
		return nil
	}
	var names []string
	for _, c := range choices {
		names = append(names, string(c))
	}
	return &FieldError{field, fmt.Sprintf("%.64q is none of %s", value, strings.Join(names, ", "))}
}

// demands tells whether something is demanded.
func (a *Assignment) demands(d Demand) bool { return slices.Contains(a.Demands, d) }

// plan is how a hand-in is checked; what is let stand is in the form of a file of
// accepted findings.
func (a *Assignment) plan(letStand *request.Source, view string) (*request.CheckPlan, error) {
	said := request.Values{
		"analysis": {Text: "true"}, "notes": {Text: "true"}, "marks": {Text: "true"}, "upgrade": {Text: "true"},
		"view": {Text: view}, "language": {Text: a.Language},
	}
	own := func(name string, file request.Source, named, by string) {
		switch {
		case file.Text != "":
			said[named] = file
		case name != "":
			said[by] = request.Source{Text: name}
		}
	}
	own(a.Rules, a.OwnRules, "own_rule_set", "rule_set")
	own(a.Rubric, a.OwnRubric, "own_rubric", "rubric")
	if a.Exercise.Text != "" {
		said["task"] = a.Exercise
	}
	if a.demands(Chords) && !a.demands(Labels) {
		// What is demanded is judged against what sounds, whatever the pupil calls it.
		said["given"] = request.Source{Text: "ignore"}
	}
	if letStand != nil {
		said["accepted"] = *letStand
	}
	var check request.Check
	if err := request.Bind(&check, said); err != nil {
		return nil, err
	}
	return check.Plan()
}

// NextYear is the assignment for another class: the same exercise under another id, with
// no times, groups or pupils.
func (a *Assignment) NextYear(id string) *Assignment {
	next := *a
	next.ID, next.Opens, next.Closes, next.Groups = id, time.Time{}, time.Time{}, nil
	next.Demands = slices.Clone(a.Demands)
	next.Models = slices.Clone(a.Models)
	return &next
}
