package batch

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"runtime/debug"
	"time"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/pool"
	"partwright/worker/report"
	"partwright/worker/request"
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

// answerer answers members of one batch. It is safe for concurrent use.
type answerer struct {
	*Service
	organization string
	recipe       *recipe
	// pool is that of the service, or a row in it.
	pool Pool
	// atOnce is how many members there may be at a time.
	atOnce int
}

// mostSmall is how many bytes a score has at most that is handed over with others: as many
// are in memory at a time.
const mostSmall = 64 << 10

// newAnswerer is what answers the members of a batch. Where all that is asked for is short
// work, several are begun before the first has its answer.
func (s *Service) newAnswerer(organization string, r *recipe) *answerer {
	a := &answerer{Service: s, organization: organization, recipe: r, pool: s.config.Pool, atOnce: 1}
	if p, ok := s.config.Pool.(interface{ Row() *pool.Row }); ok && r.Mend == nil && r.Voice == nil {
		a.pool, a.atOnce = p.Row(), pool.MostTogether
	}
	return a
}

// answer answers a member: with an earlier answer to the same, a report, or a
// problem. An error means that there is no answer yet.
func (s *answerer) answer(ctx context.Context, m *store.Member, same sameAnswer) (store.NewResult, error) {
	result := store.NewResult{Number: m.Number, Engine: s.config.Version, Recipe: same.recipe, Begun: s.store.Now()}
	earlier, err := s.earlier(ctx, s.organization, same)
	if err != nil {
		return result, err
	}
	// An earlier answer that cannot be read is none.
	if earlier != nil && s.guard(ctx, func() error { return errors.Join(reuse(earlier, m.Name, &result), s.find(m.Name, &result)) }) == nil {
		s.metrics.reused(true)
		return result, nil
	}
	s.metrics.reused(false)
	err = s.guard(ctx, func() error {
		err := s.check(ctx, m, &result)
		if err == nil {
			err = s.find(m.Name, &result)
		}
		return err
	})
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

// check fills in the answer of the engine to a member: the check, and what else its
// batch asks for.
func (s *answerer) check(ctx context.Context, m *store.Member, into *store.NewResult) error {
	recipe := s.recipe
	in, err := input(m, recipe.Mend != nil || recipe.Voice != nil)
	if errors.Is(err, store.ErrBlobGone) {
		into.Recipe, into.Problem = "", encoded(&report.Failure{
			File: m.Name, Code: report.CodeGone, Problem: "The score is not where it was stored.",
			Advice: "Send it again in another batch; the operator should look at the storage of scores and answers.",
		})
		return nil
	}
	if err != nil {
		if !errors.As(err, new(*settings.Error)) {
			return err // not the fault of the labels
		}
		into.Recipe, into.Problem = "", failure(m.Name, err)
		return nil
	}
	a, problem, err := s.do(ctx, in, recipe.Check)
	switch {
	case err != nil:
		return err
	case problem != nil:
		into.Recipe, into.Problem = "", encoded(problem)
		return nil
	}
	if err := keep(a, into); err != nil {
		return err
	}
	if said, ok := a.Report.(*report.Report); ok {
		into.Engine = said.Engine // of an earlier version where the answer was taken over
		if s.config.Search {
			into.Found = foundIn(said)
		}
	}
	if recipe.Mend != nil {
		if into.Mending, err = s.further(ctx, in, recipe.Mend, into); err != nil {
			return err
		}
	}
	if recipe.Voice != nil {
		into.Voicing, err = s.further(ctx, in, recipe.Voice, into)
	}
	return err
}

// further does another job on a score that has been checked. That it fails takes no
// findings away.
func (s *answerer) further(ctx context.Context, in worker.Input, plan request.Plan, into *store.NewResult) (store.Blob, error) {
	a, problem, err := s.do(ctx, in, plan)
	if err != nil {
		return nil, err
	}
	if problem != nil {
		into.Recipe = "" // another try may end otherwise
	}
	return (&Further{Answer: a, Problem: problem}).pack()
}

// do does one job, however long it has to wait for its turn. A problem is the answer
// where the job fails; an error means that there is no answer yet.
func (s *answerer) do(ctx context.Context, in worker.Input, plan request.Plan) (*answer.Answer, *report.Failure, error) {
	a, err := untilFree(ctx, func() (*answer.Answer, error) { return s.pool.Do(ctx, in, plan) })
	switch {
	case err == nil:
		return a, nil, nil
	case ctx.Err() != nil || errors.Is(err, pool.ErrDraining):
		return nil, nil, err
	}
	return nil, report.NewFailure(in.Name, err), nil
}

// input is a member as the engine takes it. What is read of it is kept where there are
// further jobs on it.
func input(m *store.Member, keep bool) (worker.Input, error) {
	in := worker.Input{Name: m.Name}
	if keep {
		in.Read = &worker.Reading{}
	}
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

// untilFree tries for a slot of the pool as long as it takes: nobody can be asked to
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

// earlier finds an answer that was given before, nil for none.
func (s *Service) earlier(ctx context.Context, organization string, same sameAnswer) (*store.Result, error) {
	var earlier *store.Result
	err := s.whole(ctx, func(tx store.Tx) (err error) {
		earlier, err = store.EarlierResult(ctx, tx, organization, same.hash, same.recipe, same.name)
		return err
	}, func() []*store.Blob { return earlier.Blobs() })
	if errors.Is(err, store.ErrNotFound) || err == nil && store.Gone(earlier.Blobs()...) > 0 {
		return nil, nil //nolint:nilnil // none is no error
	}
	return earlier, err
}

// reuse makes an earlier answer one to a score of another name.
func reuse(earlier *store.Result, name string, into *store.NewResult) error {
	into.Reused = true
	return renamed(earlier, name, into)
}

// failure is the problem of a score that could not be checked, as JSON.
func failure(name string, err error) json.RawMessage { return encoded(report.NewFailure(name, err)) }

func encoded(f *report.Failure) json.RawMessage {
	text, err := json.Marshal(f)
	if err != nil {
		return json.RawMessage(`{}`) // a struct of strings and numbers always encodes
	}
	return text
}
