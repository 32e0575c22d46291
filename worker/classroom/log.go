package classroom

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"partwright/worker/report"
	"partwright/worker/request"
)

// Action is what a teacher does.
type Action string

// Actions. What is done to a finding or a mark is about one attempt of one reference;
// extending and releasing may be about all, where no reference is named.
const (
	// Waive lets a finding cost nothing; it still counts among the faults of the class.
	// Accept lets the passage stand as good. Restore takes either back.
	Waive   Action = "waive"
	Accept  Action = "accept"
	Restore Action = "restore"
	// Add puts in a remark of the teacher's own at a place, with points that it costs.
	Add Action = "add"
	// SetMark gives a mark in place of the proposed one, ClearMark goes back to that.
	SetMark   Action = "set-mark"
	ClearMark Action = "clear-mark"
	// Extend gives a later closing time.
	Extend Action = "extend"
	// Release lets pupils see marks and findings, TakeBack undoes that.
	Release  Action = "release"
	TakeBack Action = "take-back"
	// MarkAgain says that proposals were made anew, by other rules or another rubric.
	MarkAgain Action = "mark-again"
	// Forget says that a pupil's data was deleted; the reference leads nowhere then.
	Forget Action = "forget"
)

// Entry is one thing that was done, and by whom. Entries are never changed.
type Entry struct {
	At time.Time `json:"at"`
	// By says who: a key, a user, initials; never a pupil.
	By        string `json:"by"`
	Do        Action `json:"do"`
	Reference string `json:"reference,omitempty"`
	Attempt   int    `json:"attempt,omitempty"`
	// Finding is what it is about, as [KeyOf] names it, Number what it had for a number
	// then.
	Finding string `json:"finding,omitempty"`
	Number  int    `json:"number,omitempty"`
	// Measure and Beat are the place of a remark that is added, Text what it says, Points
	// what it costs.
	Measure string `json:"measure,omitempty"`
	Beat    string `json:"beat,omitempty"`
	Text    string `json:"text,omitempty"`
	Points  Points `json:"points,omitempty"`
	// Stock names the remark in the assignment's stock that Text is, "" for none.
	Stock string `json:"stock,omitempty"`
	// Mark is the mark that is set, Proposed and Before what was proposed and what held
	// until then; nil is none.
	Mark     *Points `json:"mark,omitempty"`
	Proposed *Points `json:"proposed,omitempty"`
	Before   *Points `json:"before,omitempty"`
	// Until is the closing time that is given.
	Until time.Time `json:"until,omitzero"`
	// UpTo bounds what is released to what had come by then; zero is no bound.
	UpTo time.Time `json:"up_to,omitzero"`
}

// Check says what an entry lacks.
func (e *Entry) Check() error {
	lacks := func(missing bool, what string) error {
		if missing {
			return fmt.Errorf("%s needs %s", e.Do, what)
		}
		return nil
	}
	if e.By == "" {
		return fmt.Errorf("%s needs to say who does it", e.Do)
	}
	switch e.Do {
	case Waive, Accept, Restore:
		return lacks(e.Reference == "" || e.Finding == "", "a reference and the number of a finding")
	case Add:
		return lacks(e.Reference == "" || e.Measure == "" || strings.TrimSpace(e.Text) == "", "a reference, a measure and a text")
	case SetMark:
		return lacks(e.Reference == "" || e.Mark == nil, "a reference and a mark")
	case ClearMark, Forget:
		return lacks(e.Reference == "", "a reference")
	case Extend:
		return lacks(e.Until.IsZero(), "a time")
	case Release, TakeBack, MarkAgain:
		return nil
	}
	return fmt.Errorf("there is no action %.64q", e.Do)
}

// FromStock writes out the remark of the assignment's stock that an entry names.
func (a *Assignment) FromStock(e *Entry) error {
	if e.Stock == "" {
		return nil
	}
	text, found := a.Stock[e.Stock]
	switch {
	case !found:
		return fmt.Errorf("the assignment has no remark called %.64q", e.Stock)
	case e.Do != Add || e.Text != "":
		return errors.New("a remark of the stock stands in place of the text of one that is added")
	}
	e.Text = text
	return nil
}

// KeyOf names a finding in a way that holds when its score is marked again: by rule,
// printed measure and beat. Findings of one rule at one beat share it.
func KeyOf(f *report.Finding) string { return f.Rule + "@" + f.BeatExact + " in " + f.Measure }

// Log are all entries of one assignment, in order.
type Log []Entry

// about reports whether an entry is about an attempt.
func (e *Entry) about(reference string, attempt int) bool {
	return (e.Reference == "" || e.Reference == reference) && (e.Attempt == 0 || e.Attempt == attempt)
}

// Decided is what holds of one attempt by all that was entered.
type Decided struct {
	// LetStand are the findings that are waived or accepted, by their key.
	LetStand map[string]Action
	// Added are the teacher's remarks, in order.
	Added []Entry
	// Mark is the entry that set the mark, nil for none.
	Mark     *Entry
	Released bool
	// UpTo bounds the release to what had come by then; zero is no bound.
	UpTo time.Time
	// Until is a closing time of one's own, zero for none.
	Until time.Time
}

// Decided adds up what was entered about an attempt.
func (l Log) Decided(reference string, attempt int) Decided {
	d := Decided{LetStand: map[string]Action{}}
	for i := range l {
		e := &l[i]
		if !e.about(reference, attempt) {
			continue
		}
		switch e.Do {
		case Waive, Accept:
			d.LetStand[e.Finding] = e.Do
		case Restore:
			delete(d.LetStand, e.Finding)
		case Add:
			d.Added = append(d.Added, *e)
		case SetMark:
			d.Mark = e
		case ClearMark:
			d.Mark = nil
		case Extend:
			d.Until = e.Until
		case Release:
			d.Released, d.UpTo = true, e.UpTo
		case TakeBack:
			d.Released = false
		}
	}
	return d
}

// Accepted is what is let stand in the form of a file of accepted findings, nil for
// nothing.
func (d *Decided) Accepted() *request.Source {
	if len(d.LetStand) == 0 {
		return nil
	}
	byMeasure := map[string][]string{}
	var measures []string
	for key := range d.LetStand {
		finding, measure, _ := strings.Cut(key, " in ")
		if byMeasure[measure] == nil {
			measures = append(measures, measure)
		}
		byMeasure[measure] = append(byMeasure[measure], fmt.Sprintf("%q", finding))
	}
	slices.Sort(measures)
	var b strings.Builder
	for _, m := range measures {
		slices.Sort(byMeasure[m])
		fmt.Fprintf(&b, "%q: [%s]\n", m, strings.Join(byMeasure[m], ", "))
	}
	return &request.Source{Name: "decisions", Text: b.String()}
}
