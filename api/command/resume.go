package command

import (
	"context"
	"errors"
	"iter"

	"partwright/worker/batch"
	"partwright/worker/files"
	"partwright/worker/request"
	"partwright/worker/store"
)

// planFile is where a batch that goes on after a break keeps its plan, in the folder for
// answers.
const planFile = stateDir + "/plan.json"

// plan is what this run sets out to do.
func (f *batchCommand) plan(in *files.Inputs, version string) (*batch.ResumePlan, error) {
	var labels request.Source
	if f.labels != "" && f.labels != request.Beside {
		var err error
		if labels, err = readSource(f.labels); err != nil {
			return nil, err
		}
	}
	return batch.NewResumePlan(in, version, string(request.Encode(&f.request)), f.labels, labels.Text, f.timeout, in.Limits, in.Archives)
}

// begin goes on with what was interrupted if it has the same plan, or begins anew.
func begin(ctx context.Context, s *scores, kept *batch.Resumable, plan *batch.ResumePlan, r *request.Batch) (*store.Batch, error) {
	found, other, err := kept.Find(ctx, plan)
	switch {
	case errors.Is(err, batch.ErrNoPlan):
		return nil, errNoPaths
	case errors.Is(err, batch.ErrOtherPlan):
		return nil, errors.New("what was interrupted here had other options, or was begun by another version: say its options, or name its paths to begin anew")
	case errors.Is(err, batch.ErrNotReceived):
		return nil, errors.New("not all scores had been taken in when it was interrupted: name its paths again")
	case err != nil:
		return nil, Failed(err)
	case found != nil:
		s.console.inform("going on with %d of %s answered", found.Total-found.Waiting, count(int(found.Total), "score"))
		return found, nil
	case other:
		s.console.inform("what was interrupted here had other files or options, or was begun by another version: begun anew, with the answers to what is still the same")
	}
	s.console.progress.stage("taking in")
	defer s.console.progress.finish()
	made, err := kept.Begin(ctx, plan, batch.Order{Request: r, Items: s.shown()})
	if err != nil {
		return nil, Failed(err)
	}
	return made, nil
}

// shown are the items, each with its messages and progress while it is taken in.
func (s *scores) shown() iter.Seq[files.Item] {
	return func(yield func(files.Item) bool) {
		for item := range s.items {
			s.console.progress.step(s.inputs.Found())
			s.console.item(&item)
			if !yield(item) {
				return
			}
		}
	}
}
