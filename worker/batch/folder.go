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

// Wait returns the batch once it is finished, and shows how far it is until then.
func (s *Service) Wait(ctx context.Context, organization, id string, show func(*Status)) (*Status, error) {
	watch := s.Watch(id)
	defer watch.End()
	for {
		changed := watch.Changed()
		status, err := s.Status(ctx, organization, id)
		if err != nil {
			return nil, err
		}
		show(status)
		if status.State == store.BatchFinished {
			return status, nil
		}
		select {
		case <-ctx.Done():
			return nil, ctx.Err()
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

// WriteFolder writes the files of all answers, on as many goroutines as workers says,
// into folders like those that the scores came from. It yields the answers by number;
// an error ends it.
func (s *Service) WriteFolder(ctx context.Context, organization, id string, dir *files.OutDir, workers int) iter.Seq2[*Written, error] {
	return func(yield func(*Written, error) bool) {
		var failed error
		results := func(yield func(*Written) bool) {
			q := store.ResultQuery{
				Organization: organization, Batch: id, Reports: true, Marked: true, Analyses: true, Mendings: true, Voicings: true,
			}
			failed = s.each(ctx, q, func(r *store.Result) error {
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
