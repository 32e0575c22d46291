package classroom

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

// Marker marks what is handed in for one assignment. It is safe for concurrent use.
type Marker struct {
	assignment *Assignment
	engine     Doer
	words      *words
	// sheet is the exercise as it was handed out, nil for none; given are its notes.
	sheet *report.Report
	given map[sound]bool
	// wanted are the chords of the first model answer, and cadence is how it ends.
	wanted  []wanted
	cadence string
	// voices is how many the first model answer has.
	voices int
	// asked are the keys of the faults and cautions that the first model answer has itself.
	asked map[string]bool
	// models are the notes of each model answer that the exercise does not give.
	models []map[sound]bool
}

// NewMarker reads what hand-ins are checked against: the exercise and the model answers.
func NewMarker(ctx context.Context, a *Assignment, engine Doer) (*Marker, error) {
	a.fillIn()
	w, err := wordsOf(a.Language)
	if err != nil {
		return nil, err
	}
	m := &Marker{assignment: a, engine: engine, words: w, given: map[sound]bool{}}
	if a.Exercise.Text != "" {
		if m.sheet, err = m.read(ctx, a.Exercise); err != nil {
			return nil, err
		}
		for _, s := range sounds(m.sheet) {
			m.given[s] = true
		}
	}
	for i := range a.Models {
		model, err := m.read(ctx, a.Models[i])
		if err != nil {
			return nil, err
		}
		free := map[sound]bool{}
		for _, s := range m.free(model) {
			free[s] = true
		}
		m.models = append(m.models, free)
		if i == 0 {
			if m.wanted, err = wantedIn(model); err != nil {
				return nil, fmt.Errorf("%s: %w", a.Models[i].Name, err)
			}
			m.cadence = lastCadence(model)
			m.voices = len(model.Score.Voices)
			if m.asked, err = m.askedBy(ctx, a.Models[i]); err != nil {
				return nil, err
			}
		}
	}
	return m, nil
}

// askedBy marks a model answer as a hand-in is marked: what is found in it lies in the exercise.
func (m *Marker) askedBy(ctx context.Context, model request.Source) (map[string]bool, error) {
	plan, err := m.assignment.plan(nil, forTeacher)
	if err != nil {
		return nil, err
	}
	a, err := m.engine.Do(ctx, worker.Input{Name: model.Name, Data: []byte(model.Text)}, plan)
	if err != nil {
		return nil, err
	}
	r, err := reportIn(a)
	if err != nil {
		return nil, err
	}
	asked := map[string]bool{}
	for i := range r.Findings {
		if f := &r.Findings[i]; counts(f) {
			asked[KeyOf(f)] = true
		}
	}
	return asked, nil
}

// read reports on a score of the assignment itself; labels in it say which chords are
// meant.
func (m *Marker) read(ctx context.Context, score request.Source) (*report.Report, error) {
	var check request.Check
	if err := request.Bind(&check, request.Values{"analysis": {Text: "true"}, "notes": {Text: "true"}, "given": {Text: "replace"}}); err != nil {
		return nil, err
	}
	plan, err := check.Plan()
	if err != nil {
		return nil, err
	}
	a, err := m.engine.Do(ctx, worker.Input{Name: score.Name, Data: []byte(score.Text)}, plan)
	if err != nil {
		return nil, err
	}
	return reportIn(a)
}

// reportIn is the report of a check.
func reportIn(a *answer.Answer) (*report.Report, error) {
	switch r := a.Report.(type) {
	case *report.Report:
		return r, nil
	case *answer.Written:
		var read report.Report
		err := json.Unmarshal(r.Text, &read)
		return &read, err
	}
	return nil, fmt.Errorf("a check answered with a %T", a.Report)
}

// State is what a hand-in turned out to be.
type State string

// States of hand-ins. Only of whole ones a mark is proposed.
const (
	Whole        State = "whole"
	Unfinished   State = "unfinished"
	GivenChanged State = "given-changed"
	Empty        State = "empty"
	ItselfBack   State = "exercise-itself"
	WrongScore   State = "wrong-score"
	TransposedIn State = "transposed"
	Unreadable   State = "unreadable"
)

// isAnswer reports whether it is an answer to the exercise, if an unfinished one.
func (s State) isAnswer() bool { return s == Whole || s == Unfinished || s == GivenChanged }

// Marking is what came of one hand-in, before the teacher has looked at it.
type Marking struct {
	State State `json:"state"`
	// Message says kindly what is wrong with the hand-in as a whole, "" for nothing.
	Message string `json:"message,omitempty"`
	// Report is nil where the score could not be read.
	Report *report.Report `json:"report,omitempty"`
	// Unmet are the demands that are not met.
	Unmet []Unmet `json:"unmet"`
	// Proposed is nil where no mark is proposed.
	Proposed *Mark `json:"proposed,omitempty"`
	// Score is the marked score with its extension, nil where it could not be read.
	Score     []byte `json:"-"`
	Extension string `json:"-"`
}

// Mark is a proposed mark with its breakdown.
type Mark struct {
	Earned    Points `json:"earned"`
	Available Points `json:"available"`
	// Rubric names the rubric; where the assignment has points of its own, Counted is
	// what the rubric alone came to, of CountedOf.
	Rubric    string     `json:"rubric"`
	Counted   Points     `json:"counted"`
	CountedOf Points     `json:"counted_of"`
	Lines     []MarkLine `json:"lines"`
	// Note says that nothing is final.
	Note string `json:"note"`
}

// MarkLine is one reason why points are lost, in points of the rubric.
type MarkLine struct {
	// Rule is the id of a rule, or "demand-" with the name of a demand.
	Rule   string `json:"rule"`
	Name   string `json:"name"`
	Count  int    `json:"count"`
	Lost   Points `json:"lost"`
	Capped bool   `json:"capped,omitempty"`
}

// Mark marks one hand-in. What the teacher let stand in it has the form of a file of
// accepted findings; nil is nothing. An error is of the assignment or of the system, never
// of the score.
func (m *Marker) Mark(ctx context.Context, score []byte, letStand *request.Source) (*Marking, error) {
	return m.mark(ctx, score, letStand, forTeacher)
}

// MarkForPupil marks as [Marker.Mark] does, with a report and marks for the pupil.
func (m *Marker) MarkForPupil(ctx context.Context, score []byte, letStand *request.Source) (*Marking, error) {
	return m.mark(ctx, score, letStand, forPupil)
}

func (m *Marker) mark(ctx context.Context, score []byte, letStand *request.Source, view string) (*Marking, error) {
	plan, err := m.assignment.plan(letStand, view)
	if err != nil {
		return nil, err
	}
	a, err := m.engine.Do(ctx, worker.Input{Name: "hand-in", Data: score}, plan)
	if input := (*musicxml.InputError)(nil); errors.As(err, &input) || errors.As(err, new(*theory.MemoryError)) {
		failure := report.NewFailure(m.words.say("this-file"), err)
		return &Marking{State: Unreadable, Message: m.words.say("unreadable", "problem", failure.Problem, "advice", failure.Advice), Unmet: []Unmet{}}, nil
	}
	if err != nil {
		return nil, err
	}
	r, err := reportIn(a)
	if err != nil {
		return nil, err
	}
	out := &Marking{Report: r, Unmet: []Unmet{}}
	if f := a.Score(); f != nil {
		out.Score, out.Extension = f.Data, f.Extension()
	}
	if out.State, out.Message = m.state(r); !out.State.isAnswer() {
		return out, nil
	}
	out.Unmet = m.unmet(r)
	if out.State == Whole && r.Grade != nil {
		out.Proposed = m.propose(r, out.Unmet)
	}
	return out, nil
}

// state says what a hand-in is as a whole, with a kind word where it is not what was
// asked for.
func (m *Marker) state(r *report.Report) (State, string) {
	all := sounds(r)
	free := m.free(r)
	switch {
	case len(all) == 0:
		return Empty, m.words.say("empty")
	case m.sheet != nil && len(m.given) > 0 && len(free) == 0:
		return ItselfBack, m.words.say("exercise-itself")
	}
	if len(m.given) > 0 && 2*m.kept(all, 0) < len(m.given) {
		if 10*max(m.kept(all, theory.PerfectOctave.Semitones), m.kept(all, -theory.PerfectOctave.Semitones)) >= 9*len(m.given) {
			return GivenChanged, m.words.say("octave-away")
		}
		for semitones := 1; semitones < theory.PerfectOctave.Semitones; semitones++ {
			for _, by := range []int{semitones, -semitones} {
				if 10*m.kept(all, by) >= 9*len(m.given) {
					return TransposedIn, m.words.say("transposed")
				}
			}
		}
		return WrongScore, m.words.say("wrong-score", "title", m.assignment.Title)
	}
	if r.HandIn != nil && !r.HandIn.Complete {
		message := r.HandIn.Note
		if len(r.HandIn.Problems) > 0 {
			p := &r.HandIn.Problems[0]
			message += " " + p.Place + ": " + p.Message + "."
		}
		given := func(p report.Problem) bool { return strings.HasPrefix(p.Kind, "given-") }
		if slices.ContainsFunc(r.HandIn.Problems, given) && !slices.ContainsFunc(r.HandIn.Problems, func(p report.Problem) bool { return !given(p) }) {
			return GivenChanged, message
		}
		return Unfinished, message
	}
	if has := len(r.Score.Voices); has < m.voices {
		return Unfinished, m.words.say("voices-missing", "has", has, "wants", m.voices)
	}
	return Whole, ""
}

// kept counts the given notes that are there once the hand-in goes up by semitones.
func (m *Marker) kept(all []sound, semitones int) int {
	n := 0
	seen := map[sound]bool{}
	for _, s := range all {
		s.midi += semitones
		if m.given[s] && !seen[s] {
			seen[s] = true
			n++
		}
	}
	return n
}

// propose makes the mark of a report and of the demands that are not met.
func (m *Marker) propose(r *report.Report, unmet []Unmet) *Mark {
	mark := &Mark{
		Rubric: r.Grade.Rubric, CountedOf: pointsOf(r.Grade.Available), Counted: pointsOf(r.Grade.Earned),
		Lines: []MarkLine{}, Note: m.words.say("not-final"),
	}
	for _, l := range r.Grade.Lines {
		mark.Lines = append(mark.Lines, MarkLine{Rule: l.Rule, Name: m.words.RuleName(partwriting.RuleID(l.Rule)), Count: l.Count, Lost: pointsOf(l.Lost), Capped: l.Capped})
	}
	counts := map[string]int{}
	var order []string
	for i := range unmet {
		if counts[unmet[i].Kind] == 0 {
			order = append(order, unmet[i].Kind)
		}
		counts[unmet[i].Kind]++
	}
	for _, kind := range order {
		lost := min(Points(counts[kind])*m.assignment.Unmet, mark.Counted)
		mark.Counted -= lost
		mark.Lines = append(mark.Lines, MarkLine{
			Rule: demandRule + kind, Name: m.words.say(demandRule + kind), Count: counts[kind], Lost: lost,
			Capped: lost < Points(counts[kind])*m.assignment.Unmet,
		})
	}
	mark.Earned, mark.Available = mark.Counted, mark.CountedOf
	if own := m.assignment.Points; own > 0 {
		mark.Earned, mark.Available = share(mark.Counted, mark.CountedOf, own), own
	}
	return mark
}

// demandRule begins the names of demands among those of rules.
const demandRule = "demand-"
