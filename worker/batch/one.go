package batch

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"runtime/debug"
	"slices"
	"time"

	"partwright/worker"
	"partwright/worker/pool"
	"partwright/worker/report"
	"partwright/worker/settings"
	"partwright/worker/stage"
	"partwright/worker/store"
)

// scoreFault is an error of ours that only one score meets: that it comes again is
// likely, that another score meets it is not.
type scoreFault struct{ error }

// Unwrap returns the reason.
func (f *scoreFault) Unwrap() error { return f.error }

func isFault(err error) bool { return errors.As(err, new(*scoreFault)) }

// answerMember answers a member: with an earlier answer to the same, a report, or a
// problem. An error means that there is no answer yet.
func (s *Service) answerMember(ctx context.Context, organization string, m *store.Member, recipe *recipe, same sameAnswer) (store.NewResult, error) {
	start := time.Now()
	result := store.NewResult{Number: m.Number, Engine: s.config.Version, Recipe: same.recipe}
	earlier, err := s.earlier(ctx, organization, same)
	if err != nil {
		return result, err
	}
	// An earlier answer that cannot be read is none.
	if earlier != nil && s.guard(ctx, func() error { return reuse(earlier, m.Name, &result) }) == nil {
		s.metrics.reused(true)
		return result, nil
	}
	s.metrics.reused(false)
	err = s.guard(ctx, func() error { return s.check(ctx, m, recipe, &result) })
	s.metrics.score(ctx, time.Since(start))
	return result, err
}

// guard runs what is done for one score and makes an error or a panic of it a
// [scoreFault], unless the process is to end.
func (s *Service) guard(ctx context.Context, f func() error) (err error) {
	defer func() {
		if value := recover(); value != nil {
			// Its text may hold parts of the score.
			s.logger.ErrorContext(ctx, "work on a score panicked", "type", fmt.Sprintf("%T", value), "stack", string(debug.Stack()))
			err = &scoreFault{stage.ErrPanicked}
		}
	}()
	if err = f(); err != nil && ctx.Err() == nil && !errors.Is(err, pool.ErrDraining) {
		err = &scoreFault{err}
	}
	return err
}

// check fills in the answer of the engine to a member.
func (s *Service) check(ctx context.Context, m *store.Member, recipe *recipe, into *store.NewResult) error {
	in, err := input(m)
	var answer *worker.Result
	if err == nil {
		answer, err = untilFree(ctx, func() (*worker.Result, error) { return s.config.Pool.Submit(ctx, in, recipe.Options) })
	} else if !errors.As(err, new(*settings.Error)) {
		return err // not the fault of the labels
	}
	switch {
	case err == nil:
		if err = fill(into, answer, recipe); err == nil {
			err = s.mend(ctx, in, recipe, into)
		}
	case ctx.Err() != nil || errors.Is(err, pool.ErrDraining):
	default:
		into.Recipe, into.Problem, err = "", failure(m.Name, err), nil
	}
	return err
}

// input is a member as the engine takes it.
func input(m *store.Member) (worker.Input, error) {
	in := worker.Input{Name: m.Name}
	var err error
	if in.Data, err = m.Score.Unpack(); err != nil || m.Labels == nil {
		return in, err
	}
	text, err := m.Labels.Unpack()
	if err == nil {
		in.Labels, err = settings.ReadLabels(m.LabelsName, text)
	}
	return in, err
}

// untilFree tries for a slot of the pool as long as it takes: nobody can be told to
// come back.
func untilFree[T any](ctx context.Context, try func() (T, error)) (T, error) {
	for {
		answer, err := try()
		if !errors.Is(err, pool.ErrBusy) {
			return answer, err
		}
		select {
		case <-ctx.Done():
			return answer, ctx.Err()
		case <-time.After(100 * time.Millisecond):
		}
	}
}

// fill packs an answer for the store.
func fill(r *store.NewResult, answer *worker.Result, recipe *recipe) error {
	report, err := report.ReportLine(answer.Report)
	if err != nil {
		return err
	}
	r.Report, r.Marked = store.Pack(report), store.Pack(answer.Marked)
	r.Analysis, err = analyze(answer, recipe)
	return err
}

// earlier finds an answer that was given before, nil for none.
func (s *Service) earlier(ctx context.Context, organization string, same sameAnswer) (*store.Result, error) {
	var earlier *store.Result
	err := s.store.Read(ctx, func(tx store.Tx) (err error) {
		earlier, err = store.EarlierResult(ctx, tx, organization, same.hash, same.recipe, same.name)
		return err
	})
	if errors.Is(err, store.ErrNotFound) {
		return nil, nil //nolint:nilnil // none is no error
	}
	return earlier, err
}

// reuse makes an earlier answer one to a score of another name.
func reuse(earlier *store.Result, name string, into *store.NewResult) error {
	report, err := earlier.Report.Unpack()
	if err == nil {
		report, err = renamed(report, name)
	}
	var mending store.Blob
	if err == nil {
		mending, err = renamedMending(earlier, name)
	}
	if err == nil {
		into.Reused, into.Report, into.Marked, into.Analysis, into.Mending = true, store.Pack(report), earlier.Marked, earlier.Analysis, mending
	}
	return err
}

// renamed is a report with another file name, which is its first field, and all
// that can differ for the same score and recipe.
func renamed(report []byte, file string) ([]byte, error) {
	d := json.NewDecoder(bytes.NewReader(report))
	for _, want := range []json.Token{json.Delim('{'), "file", nil} {
		token, err := d.Token()
		if err != nil || want != nil && token != want {
			return nil, fmt.Errorf("a stored report does not begin with its file: %w", err)
		}
	}
	name, err := json.Marshal(file)
	if err != nil {
		return nil, err
	}
	return slices.Concat([]byte(`{"file":`), name, report[d.InputOffset():]), nil
}

// failure is the problem of a score that could not be checked, as JSON.
func failure(name string, err error) json.RawMessage {
	text, encodeErr := json.Marshal(report.NewFailure(name, err))
	if encodeErr != nil {
		return json.RawMessage(`{}`) // a struct of strings and numbers always encodes
	}
	return text
}
