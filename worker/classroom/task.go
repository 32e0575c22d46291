package classroom

import "time"

// Task is what a pupil needs to know of an assignment before handing in: nothing of other
// pupils, of model answers, of the row of chords or of what faults cost.
type Task struct {
	Assignment string `json:"assignment"`
	Reference  string `json:"reference"`
	Title      string `json:"title"`
	// Sheet tells whether there is a sheet to write on, with the given material.
	Sheet bool `json:"sheet"`
	// Demands are kinds of things that have to be as the exercise has them.
	Demands []Demand `json:"demands"`
	// Points is what the work is worth, 0 where it depends on its length.
	Points Points `json:"points,omitempty"`
	// Opens and Closes bound when work is handed in, with the reference's own closing time
	// where it has one; the zero time is no bound. Takes says what they come to now.
	Opens  time.Time `json:"opens,omitzero"`
	Closes time.Time `json:"closes,omitzero"`
	Takes  Taking    `json:"takes"`
	// Late says what becomes of late work, Counts which attempt counts.
	Late   Late    `json:"late"`
	Counts Counted `json:"counts"`
	// Attempts is how often the pupil may hand in, 0 for any number, Used how often it was
	// done, Left how often it still counts, nil where Attempts is 0.
	Attempts int  `json:"attempts,omitempty"`
	Used     int  `json:"used"`
	Left     *int `json:"left,omitempty"`
	// Shows is what pupils see of the findings before the marks are released, and From
	// since when, zero where that waits for the release.
	Shows    Showing   `json:"shows"`
	From     time.Time `json:"from,omitzero"`
	Language string    `json:"language"`
	// Note says that nothing is final until it is released.
	Note string `json:"note"`
}

// Taking is what becomes of work that is handed in at a moment.
type Taking string

// What becomes of it: it is refused before the assignment has opened; counts as in time or
// as late; is kept and does not count, since it is too late or one attempt too many.
const (
	NotYet     Taking = "not-yet"
	InTime     Taking = "in-time"
	IsLate     Taking = "late"
	TooLate    Taking = "too-late"
	NoMoreLeft Taking = "none-left"
)

// TaskOf is what a reference that handed in so many times needs to know at a moment.
func (a *Assignment) TaskOf(reference string, used int, log Log, now time.Time) Task {
	w, err := wordsOf(a.Language)
	if err != nil {
		w, _ = wordsOf("en") // an assignment that was checked has a language
	}
	d := log.Decided(reference, used+1)
	t := Task{
		Assignment: a.ID, Reference: reference, Title: a.Title, Sheet: a.Exercise.Text != "", Demands: a.Demands, Points: a.Worth(),
		Opens: a.Opens, Closes: a.Closes, Late: a.Late, Counts: a.Counts, Attempts: a.Attempts, Used: used, Shows: a.Shows,
		Language: a.Language, Note: w.say("not-final"),
	}
	if !a.Closes.IsZero() && d.Until.After(a.Closes) {
		t.Closes = d.Until
	}
	if a.Attempts > 0 {
		left := max(a.Attempts-used, 0)
		t.Left = &left
	}
	if a.Shows == AfterClosing {
		// That of the class: the findings are shown then whoever may still hand in.
		t.From = a.Closes
	}
	late := a.daysLate(now, d.Until)
	switch {
	case now.Before(a.Opens):
		t.Takes = NotYet
	case t.Left != nil && *t.Left == 0:
		t.Takes = NoMoreLeft
	case late == 0:
		t.Takes = InTime
	case a.Late.Policy == LateRefused || a.Late.Days > 0 && late > a.Late.Days:
		t.Takes = TooLate
	default:
		t.Takes = IsLate
	}
	return t
}
