package batch

import (
	"context"
	"encoding/json"
	"fmt"
	"iter"
	"time"

	"partwright/worker/files"
	"partwright/worker/report"
	"partwright/worker/store"
)

// follow calls f for every answer of a batch in the order of numbers, as they come, until
// the batch is finished: each once all before it are there.
func (s *Service) follow(ctx context.Context, q store.ResultQuery, f func(*store.Result) error) error {
	watch := s.Watch(q.Batch)
	defer watch.End()
	for q.Limit = pageSize; ; {
		changed := watch.Changed()
		status, err := s.Status(ctx, q.Organization, q.Batch)
		if err != nil {
			return err
		}
		finished := status.State == store.BatchFinished
		whole := true
		for whole {
			page, err := s.Results(ctx, q)
			if err != nil {
				return err
			}
			whole = len(page) == pageSize
			for i := range page {
				if page[i].Number != q.After+1 && !finished {
					whole = false // one before it is worked on
					break
				}
				if err := f(&page[i]); err != nil {
					return err
				}
				q.After = page[i].Number
			}
		}
		if finished {
			return nil
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-changed:
		case <-time.After(time.Second): // another process may have changed it
		}
	}
}

// Written is an answer whose files are written.
type Written struct {
	// Failure says why the score has no answer; MendFailure and VoiceFailure why it was
	// not mended or voiced.
	Failure, MendFailure, VoiceFailure *report.Failure
	// Summary is nil where there is no answer, Statistics where no analysis was asked for.
	Summary    *report.Summary
	Statistics *report.HarmonyStatistics

	result *store.Result
	place  string // in the folder
	err    error
}

// WriteFolder writes the files of all answers as they come, until the batch is finished,
// on as many goroutines as workers says, into folders like those that the scores came
// from. It yields the answers by number; an error ends it.
func (s *Service) WriteFolder(ctx context.Context, organization, id string, dir *files.OutDir, workers int) iter.Seq2[*Written, error] {
	return func(yield func(*Written, error) bool) {
		var failed error
		results := func(yield func(*Written) bool) {
			q := store.ResultQuery{
				Organization: organization, Batch: id, Reports: true, Marked: true, Analyses: true, Mendings: true, Voicings: true,
			}
			failed = s.follow(ctx, q, func(r *store.Result) error {
				w := &Written{result: r}
				if r.Problem == nil {
					w.place = dir.Claim(PlaceOf(r))
				}
				if !yield(w) {
					return context.Canceled
				}
				return nil
			})
		}
		write := func(_ context.Context, w *Written) *Written {
			w.err = w.write(dir)
			return w
		}
		for w := range files.InOrder(ctx, workers, results, write) {
			if w.err != nil {
				yield(nil, fmt.Errorf("the answer to %s could not be written: %w", w.result.Name, w.err))
				return
			}
			if !yield(w, nil) {
				return
			}
		}
		if err := ctx.Err(); err != nil {
			yield(nil, err) // failed may still be written to
		} else if failed != nil {
			yield(nil, failed)
		}
	}
}

func (w *Written) write(dir *files.OutDir) error {
	if w.result.Problem != nil {
		return json.Unmarshal(w.result.Problem, &w.Failure)
	}
	kept, err := KeptOf(w.result)
	if err != nil {
		return err
	}
	w.Summary, w.Statistics = kept.Summary(), kept.Check.Statistics
	w.MendFailure, w.VoiceFailure = kept.Mending.failure(), kept.Voicing.failure()
	files, err := kept.Files()
	if err != nil {
		return err
	}
	return dir.WriteAt(w.place, files)
}

// failure says why a further job was not done, nil where it was or was not asked for.
func (f *Further) failure() *report.Failure {
	if f == nil {
		return nil
	}
	return f.Problem
}
