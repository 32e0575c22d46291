package classroom

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

// Doer does the job of a plan on one score: [worker.Engine.Do], or that of a pool.
type Doer interface {
	Do(ctx context.Context, in worker.Input, plan request.Plan) (*answer.Answer, error)
}

// Order says what an assignment is made of.
type Order struct {
	// Task is a row of chords as text; Score is one that gives block chords, a bass, a
	// melody or both outer voices, in its place.
	Task  string
	Score request.Source
	// Gives is what the exercise shows: auto, bass, soprano or outer.
	Gives string
	// Style and Layout are those of a voicing; "" for the usual ones.
	Style, Layout string
	// Models is how many answers to find; there may be fewer.
	Models int
}

// Prepare makes the sheets of an assignment: the exercise with empty staves to write on,
// and model answers. It is an [*UnsolvableError] where no answer obeys the rules, or
// where the answer that was found does not pass as a hand-in.
func Prepare(ctx context.Context, engine Doer, a *Assignment, o Order) error {
	a.fillIn()
	first, err := voiced(ctx, engine, a, o, 1)
	if err != nil {
		return err
	}
	a.Task, a.Models = o.Task, nil
	for _, f := range first.Files {
		switch infix := f.Infix(); {
		case infix == string(answer.Exercise) && f.IsScore():
			a.Exercise = request.Source{Name: "exercise.musicxml", Text: string(f.Data)}
		case infix == string(answer.Voiced) && f.IsScore():
			a.Models = []request.Source{{Name: "model.musicxml", Text: string(f.Data)}}
		}
	}
	if err := a.Check(); err != nil {
		return err
	}
	marker, err := NewMarker(ctx, a, engine)
	if err != nil {
		return err
	}
	if err := marker.solvedBy(ctx, a.Models[0]); err != nil || o.Models < 2 {
		return err
	}
	return marker.more(ctx, o)
}

// mostTried is how many answers are looked at for further models: as many as one voicing
// finds.
const mostTried = 20

// voiced finds so many answers to a task.
func voiced(ctx context.Context, engine Doer, a *Assignment, o Order, alternatives int) (*answer.Answer, error) {
	plan, err := o.plan(a, alternatives)
	if err != nil {
		return nil, err
	}
	in := worker.Input{}
	if o.Task == "" {
		in = worker.Input{Name: o.Score.Name, Data: []byte(o.Score.Text)}
	}
	found, err := engine.Do(ctx, in, plan)
	if err != nil {
		return nil, err
	}
	if said, ok := found.Report.(*report.Voicing); ok && said.Obstacle != "" {
		return nil, &UnsolvableError{Obstacle: said.Obstacle, Opens: said.Opens}
	}
	return found, nil
}

// more adds answers to the exercise as it was handed out: the first fixes what is given,
// note for note, and the others have to keep to it. What does not pass is left out.
func (m *Marker) more(ctx context.Context, o Order) error {
	a := m.assignment
	o.Task, o.Score = "", a.Exercise
	found, err := voiced(ctx, m.engine, a, o, mostTried)
	if err != nil {
		return err
	}
	seen := map[string]bool{}
	for _, model := range a.Models {
		if r, err := m.read(ctx, model); err == nil && r.Identity != nil {
			seen[r.Identity.Music] = true
		}
	}
	for _, f := range found.Files {
		if !strings.HasPrefix(f.Infix(), string(answer.Voiced)) || !f.IsScore() || len(a.Models) >= o.Models {
			continue
		}
		model := request.Source{Name: fmt.Sprintf("model-%d.musicxml", len(a.Models)+1), Text: string(f.Data)}
		r, err := m.read(ctx, model)
		if err != nil || r.Identity == nil || seen[r.Identity.Music] || m.solvedBy(ctx, model) != nil {
			continue
		}
		seen[r.Identity.Music] = true
		a.Models = append(a.Models, model)
	}
	return ctx.Err()
}

func (o *Order) plan(a *Assignment, alternatives int) (*request.VoicePlan, error) {
	said := request.Values{
		"exercise": {Text: o.Gives}, "title": {Text: a.Title}, "alternatives": {Text: strconv.Itoa(alternatives)},
		"language": {Text: a.Language},
	}
	for field, text := range map[string]string{"style": o.Style, "layout": o.Layout, "progression": o.Task} {
		if text != "" {
			said[field] = request.Source{Text: text}
		}
	}
	if o.Gives == "" {
		said["exercise"] = request.Source{Text: request.Auto}
	}
	switch {
	case a.OwnRules.Text != "":
		said["own_rule_set"] = a.OwnRules
	case a.Rules != "":
		said["rule_set"] = request.Source{Text: a.Rules}
	}
	var voice request.Voice
	if err := request.Bind(&voice, said); err != nil {
		return nil, err
	}
	return voice.Plan()
}

// solvedBy hands a model answer in itself: it has to meet what is demanded, without a
// fault.
func (m *Marker) solvedBy(ctx context.Context, model request.Source) error {
	marking, err := m.Mark(ctx, []byte(model.Text), nil)
	switch {
	case err != nil:
		return err
	case marking.State != Whole:
		return &UnsolvableError{Obstacle: fmt.Sprintf("%s is not accepted as an answer: %s", model.Name, marking.Message)}
	case len(marking.Unmet) > 0:
		return &UnsolvableError{Obstacle: fmt.Sprintf("%s does not meet what is demanded: %s", model.Name, marking.Unmet[0].Message)}
	case marking.Report.Summary.Faults > 0:
		return &UnsolvableError{Obstacle: fmt.Sprintf("%s has faults: %s", model.Name, marking.Report.Findings[0].Message)}
	}
	return nil
}

// UnsolvableError says why an assignment cannot be solved, and what would help.
type UnsolvableError struct{ Obstacle, Opens string }

// Error says both.
func (e *UnsolvableError) Error() string {
	text := "the exercise cannot be solved: " + e.Obstacle
	if e.Opens != "" {
		text += "; " + e.Opens
	}
	return text
}
