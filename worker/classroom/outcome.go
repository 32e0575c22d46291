package classroom

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"partwright/worker/report"
)

// HandIn is one score that was handed in, with what came of it.
type HandIn struct {
	// Reference is that of a pupil or a group, opaque to us.
	Reference string `json:"reference"`
	// Attempt counts from 1.
	Attempt int `json:"attempt"`
	// Received is when it came, zero where nobody knows.
	Received time.Time `json:"received,omitzero"`
	// Marking is what the score comes to with what the teacher let stand, First what it
	// came to at first; nil where that is the same.
	Marking *Marking `json:"marking"`
	First   *Marking `json:"first,omitempty"`
}

// Finding is the key of the finding with a number, as it came in first.
func (h *HandIn) Finding(number int) (string, error) {
	r := cmp.Or(h.First, h.Marking).Report
	if r == nil || number < 1 || number > len(r.Findings) {
		return "", fmt.Errorf("there is no finding %d in attempt %d of %q", number, h.Attempt, h.Reference)
	}
	return KeyOf(&r.Findings[number-1]), nil
}

// Outcome is what a hand-in comes to: proposal, decisions and all.
type Outcome struct {
	Reference string    `json:"reference"`
	Attempt   int       `json:"attempt"`
	Received  time.Time `json:"received,omitzero"`
	// Counts is set for the attempt that counts.
	Counts bool   `json:"counts"`
	State  State  `json:"state"`
	Say    string `json:"message,omitempty"`
	// Late is how many days late it came, each begun day whole; Refused is set where late
	// work, or one attempt more, is not taken.
	Late    int    `json:"late,omitempty"`
	Refused string `json:"refused,omitempty"`
	// Proposed is what the rubric came to before any decision, Mark what holds; nil is
	// none. Available is what there was to get.
	Proposed  *Points `json:"proposed"`
	Mark      *Points `json:"mark"`
	Available Points  `json:"available,omitempty"`
	// ChangedBy and ChangedAt say who has set the mark, and when.
	ChangedBy string    `json:"changed_by,omitempty"`
	ChangedAt time.Time `json:"changed_at,omitzero"`
	Why       string    `json:"why,omitempty"`
	// LostLate and LostAdded are what lateness and the teacher's remarks cost.
	LostLate  Points `json:"lost_late,omitempty"`
	LostAdded Points `json:"lost_added,omitempty"`
	// LetStand are the findings that the teacher has waived or accepted, Added the
	// remarks of the teacher's own.
	LetStand map[string]Action `json:"let_stand,omitempty"`
	Added    []Entry           `json:"added,omitempty"`
	Released bool              `json:"released"`
	// Note says that nothing is final, or that it was released.
	Note string `json:"note"`
}

const day = 24 * time.Hour

// daysLate is how many days after closing it came, 0 for in time.
func (a *Assignment) daysLate(received time.Time, until time.Time) int {
	closes := a.Closes
	if until.After(closes) {
		closes = until
	}
	if closes.IsZero() || received.IsZero() || !received.After(closes) {
		return 0
	}
	return int((received.Sub(closes) + day - 1) / day)
}

// Outcome says what a hand-in comes to by the log.
func (a *Assignment) Outcome(h *HandIn, log Log) Outcome {
	w, err := wordsOf(a.Language)
	if err != nil {
		w, _ = wordsOf("en") // an assignment that was checked has a language
	}
	d := log.Decided(h.Reference, h.Attempt)
	d.Released = d.Released && (d.UpTo.IsZero() || !h.Received.After(d.UpTo))
	o := Outcome{
		Reference: h.Reference, Attempt: h.Attempt, Received: h.Received, State: h.Marking.State, Say: h.Marking.Message,
		Late: a.daysLate(h.Received, d.Until), LetStand: d.LetStand, Added: d.Added, Released: d.Released, Note: w.say("not-final"),
	}
	if d.Released {
		o.Note = w.say("released")
	}
	switch {
	case a.Attempts > 0 && h.Attempt > a.Attempts:
		o.Refused = w.say("too-many-attempts", "number", a.Attempts)
	case o.Late > 0 && a.Late.Policy == LateRefused:
		o.Refused = w.say("too-late")
	case o.Late > 0 && a.Late.Days > 0 && o.Late > a.Late.Days:
		o.Refused = w.say("too-late")
	}
	if first := cmp.Or(h.First, h.Marking); first.Proposed != nil {
		o.Proposed = pointer(first.Proposed.Earned)
	}
	if m := h.Marking.Proposed; m != nil {
		o.Available = m.Available
		if o.Refused == "" {
			o.Mark = pointer(a.reduced(m.Earned, &o))
		}
	}
	if o.Available == 0 {
		o.Available = a.Worth()
	}
	if d.Mark != nil {
		o.Mark, o.ChangedBy, o.ChangedAt, o.Why = d.Mark.Mark, d.Mark.By, d.Mark.At, d.Mark.Text
	}
	return o
}

// Worth is what there is to get, as far as it can be known without a hand-in: 0 where the
// rubric counts chords or phrases.
func (a *Assignment) Worth() Points {
	if a.Points > 0 {
		return a.Points
	}
	plan, err := a.plan(nil, forTeacher)
	if err != nil || plan.Rubric == nil || plan.Rubric.PerChord > 0 || plan.Rubric.EachPhrase > 0 {
		return 0
	}
	return Points(plan.Rubric.Fixed)
}

// mostComment bounds what is said beside a mark, in bytes.
const mostComment = 2000

// Comment is what is said beside a mark that is released: what is wrong with the hand-in as
// a whole, why points were lost, what the teacher has added, and why the mark was changed.
func (o *Outcome) Comment(m *Marking) string {
	var parts []string
	add := func(text string) {
		if text != "" {
			parts = append(parts, text)
		}
	}
	add(o.Say)
	add(o.Refused)
	if m.Proposed != nil {
		var lost []string
		for _, l := range m.Proposed.Lines {
			if l.Lost > 0 {
				lost = append(lost, fmt.Sprintf("%s (%d): −%s", l.Name, l.Count, l.Lost))
			}
		}
		add(strings.Join(lost, "; "))
	}
	for i := range o.Added {
		add(o.Added[i].Measure + ": " + o.Added[i].Text)
	}
	add(o.Why)
	add(o.Note)
	text := strings.Join(parts, "\n")
	if len(text) > mostComment {
		text = strings.ToValidUTF8(text[:mostComment], "")
	}
	return text
}

// reduced is a mark less what lateness and the teacher's remarks cost, which it notes.
func (a *Assignment) reduced(earned Points, o *Outcome) Points {
	for i := range o.Added {
		o.LostAdded += o.Added[i].Points
	}
	o.LostAdded = min(o.LostAdded, earned)
	earned -= o.LostAdded
	if a.Late.Policy == LateCosts && o.Late > 0 {
		o.LostLate = Points(o.Late) * a.Late.Points
		if a.Late.Most > 0 {
			o.LostLate = min(o.LostLate, a.Late.Most)
		}
		o.LostLate = min(o.LostLate, earned)
	}
	return earned - o.LostLate
}

func pointer(p Points) *Points { return &p }

// Outcomes are those of all hand-ins, with the attempt that counts of each reference: the
// last one, or the best, that was not refused; of equals the later.
func (a *Assignment) Outcomes(all []HandIn, log Log) []Outcome {
	out := make([]Outcome, len(all))
	best := map[string]int{}
	for i := range all {
		out[i] = a.Outcome(&all[i], log)
		o := &out[i]
		if o.Refused != "" && o.Mark == nil {
			continue
		}
		before, seen := best[o.Reference]
		if !seen || a.goesBefore(o, &out[before]) {
			best[o.Reference] = i
		}
	}
	for _, i := range best {
		out[i].Counts = true
	}
	return out
}

// goesBefore reports whether an attempt counts rather than another.
func (a *Assignment) goesBefore(o, other *Outcome) bool {
	if a.Counts == BestCounts {
		return markOf(o) > markOf(other) || markOf(o) == markOf(other) && o.Attempt > other.Attempt
	}
	return o.Attempt > other.Attempt
}

func markOf(o *Outcome) Points {
	if o.Mark == nil {
		return -1
	}
	return *o.Mark
}

// Seen is what a pupil sees of a hand-in of their own.
type Seen struct {
	Reference string `json:"reference"`
	Attempt   int    `json:"attempt"`
	State     State  `json:"state"`
	Say       string `json:"message,omitempty"`
	Refused   string `json:"refused,omitempty"`
	// Counts are how many findings there are, nil where the pupil does not see them yet.
	Counts *report.Summary `json:"counts,omitempty"`
	// Findings tells whether the report and the marked score may be shown.
	Findings bool `json:"findings"`
	// Mark is nil until it is released. Note says that nothing is final, or that it was
	// released.
	Mark      *Points `json:"mark,omitempty"`
	Available Points  `json:"available,omitempty"`
	Note      string  `json:"note"`
	// Added are the teacher's own remarks, none until they are released.
	Added []Added `json:"added,omitempty"`
}

// Added is a teacher's own remark as its pupil reads it: where it is about, what it says and
// what it costs; not who said it.
type Added struct {
	// Measure is the printed label, Beat is "" where the remark is about the whole measure.
	Measure string `json:"measure"`
	Beat    string `json:"beat,omitempty"`
	Text    string `json:"text"`
	Points  Points `json:"points,omitempty"`
}

// ForPupil is what the pupil sees of a hand-in at a moment. Whether the work is complete,
// and was taken, is seen at once.
func (a *Assignment) ForPupil(h *HandIn, log Log, now time.Time) Seen {
	o := a.Outcome(h, log)
	s := Seen{Reference: o.Reference, Attempt: o.Attempt, State: o.State, Say: o.Say, Refused: o.Refused, Note: o.Note}
	closed := !a.Closes.IsZero() && now.After(a.Closes) || a.Closes.IsZero() && o.Released
	s.Findings = o.Released || a.Shows == AtOnce || a.Shows == AfterClosing && closed
	if h.Marking.Report != nil && (s.Findings || a.Shows == CountsOnly) {
		counts := h.Marking.Report.Summary
		s.Counts = &counts
	}
	if o.Released {
		s.Mark, s.Available = o.Mark, o.Available
		s.Added = o.remarks()
	}
	return s
}

// remarks are the teacher's own, without who said them.
func (o *Outcome) remarks() (all []Added) {
	for i := range o.Added {
		e := &o.Added[i]
		all = append(all, Added{e.Measure, e.Beat, e.Text, e.Points})
	}
	return all
}
