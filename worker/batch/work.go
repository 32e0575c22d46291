package batch

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/riverqueue/river"

	"partwright/worker"
	"partwright/worker/queue"
	"partwright/worker/store"
)

// chunk is a job: the members of a batch numbered First to Last, those of them
// that wait.
type chunk struct {
	Organization string `json:"organization"`
	Batch        string `json:"batch"`
	First        int64  `json:"first"`
	Last         int64  `json:"last"`
}

// Kind implements [river.JobArgs]. It is permanent: it stands in databases.
func (chunk) Kind() string { return "check-scores" }

// chunks deals members, in order, to jobs.
func (s *Service) chunks(b *store.Batch, members []store.Span) []river.JobArgs {
	var jobs []river.JobArgs
	for len(members) > 0 {
		n, size := 0, int64(0)
		for n < len(members) && n < s.config.ChunkScores && (n == 0 || size+members[n].Size <= s.config.ChunkBytes) {
			size += members[n].Size
			n++
		}
		jobs = append(jobs, chunk{b.Organization, b.ID, members[0].Number, members[n-1].Number})
		members = members[n:]
	}
	return jobs
}

// carefulAfter is how often a process may end under a chunk before its scores are
// worked on one by one, and mostBegun how often work on one of them is begun then.
const (
	carefulAfter = 3
	mostBegun    = 3
)

// work answers the members of a chunk that wait.
func (s *Service) work(ctx context.Context, job *queue.Job[chunk]) error {
	err := s.answer(ctx, job)
	s.metrics.job(err)
	if errors.Is(err, store.ErrNotFound) {
		// The batch was deleted meanwhile.
		return s.store.Write(ctx, func(tx store.Tx) error { return job.Complete(ctx, tx) })
	}
	return err
}

func (s *Service) answer(ctx context.Context, job *queue.Job[chunk]) error {
	b, members, err := s.waiting(ctx, job.Args)
	if err != nil {
		return err
	}
	recipe, err := s.recipes.of(s.config.Version, b.Options)
	if err != nil {
		return err
	}
	if job.Deaths() >= carefulAfter {
		if err := s.carefully(ctx, job.Args, members, recipe); err != nil {
			return err
		}
		members = nil
	}
	results := make([]store.NewResult, 0, len(members))
	saved := time.Now()
	for i := range members {
		result, err := s.one(ctx, job.Args.Organization, &members[i], recipe)
		if err != nil {
			return err
		}
		results = append(results, result)
		if time.Since(saved) > s.config.SaveAfter {
			if err := s.save(ctx, job.Args, results, nil); err != nil {
				return err
			}
			results, saved = results[:0], time.Now()
		}
	}
	return s.save(ctx, job.Args, results, job.Complete)
}

// waiting finds the batch and those of its members that have no answer.
func (s *Service) waiting(ctx context.Context, c chunk) (b *store.Batch, members []store.Member, err error) {
	err = s.store.Read(ctx, func(tx store.Tx) error {
		if b, err = store.BatchByID(ctx, tx, c.Organization, c.Batch); err == nil {
			members, err = store.Waiting(ctx, tx, c.Organization, c.Batch, c.First, c.Last)
		}
		return err
	})
	return b, members, err
}

// save writes answers, and completes the job in the same transaction.
func (s *Service) save(ctx context.Context, c chunk, results []store.NewResult, complete func(context.Context, store.Tx) error) error {
	var saved []store.NewResult
	err := s.store.Write(ctx, func(tx store.Tx) error {
		_, err := s.store.Change(ctx, tx, c.Organization, c.Batch, func(b *store.Batch) (err error) {
			if saved, err = s.store.SaveResults(ctx, tx, b, results...); len(saved) > 0 {
				b.Tell(store.EventAnswered)
			}
			return err
		})
		if err == nil && complete != nil {
			err = complete(ctx, tx)
		}
		return err
	})
	if err == nil {
		s.metrics.saved(saved, len(results)-len(saved))
		s.watch.changed(c.Batch)
	}
	return err
}

// carefully answers members one by one, each noted before it is begun: one under
// which the process ends again and again fails, and lets the others be answered.
func (s *Service) carefully(ctx context.Context, c chunk, members []store.Member, recipe *recipe) error {
	for i := range members {
		m := &members[i]
		result := store.NewResult{Number: m.Number, Engine: s.config.Version, Problem: failure(m.Name, errEndsProcess)}
		if m.Begun < mostBegun {
			err := s.store.Write(ctx, func(tx store.Tx) error {
				return store.BeginMember(ctx, tx, c.Organization, c.Batch, m.Number)
			})
			if err == nil {
				result, err = s.one(ctx, c.Organization, m, recipe)
			}
			if err != nil {
				return err
			}
		}
		if err := s.save(ctx, c, []store.NewResult{result}, nil); err != nil {
			return err
		}
	}
	return nil
}

var errEndsProcess = errors.New("the process ended each time while it worked on this score")

// one answers a member: with an earlier answer to the same, a report, or a
// problem. An error means that there is no answer yet.
func (s *Service) one(ctx context.Context, organization string, m *store.Member, recipe *recipe) (store.NewResult, error) {
	start := time.Now()
	result := store.NewResult{Number: m.Number, Engine: s.config.Version, Recipe: recipe.of(m)}
	if found, err := s.reuse(ctx, organization, m, recipe, &result); found || err != nil {
		return result, err
	}
	in, err := input(m)
	var answer *worker.Result
	if err == nil {
		answer, err = untilFree(ctx, func() (*worker.Result, error) { return s.config.Pool.Submit(ctx, in, recipe.Options) })
	} else if !errors.As(err, new(*worker.SettingsError)) {
		return result, err // not the fault of the labels
	}
	switch {
	case err == nil:
		if err = fill(&result, answer, recipe); err == nil {
			err = s.mend(ctx, in, recipe, &result)
		}
	case ctx.Err() != nil || errors.Is(err, worker.ErrDraining):
	default:
		result.Recipe, result.Problem, err = "", failure(m.Name, err), nil
	}
	s.metrics.score(ctx, time.Since(start))
	return result, err
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
		in.Labels, err = worker.ReadLabels(m.LabelsName, text)
	}
	return in, err
}

// untilFree tries for a slot of the pool as long as it takes: nobody can be told to
// come back.
func untilFree[T any](ctx context.Context, try func() (T, error)) (T, error) {
	for {
		answer, err := try()
		if !errors.Is(err, worker.ErrBusy) {
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
	report, err := worker.ReportLine(answer.Report)
	if err != nil {
		return err
	}
	r.Report, r.Marked = store.Pack(report), store.Pack(answer.Marked)
	r.Analysis, err = analyze(answer, recipe)
	return err
}

// reuse copies an earlier answer to the same score and recipe.
func (s *Service) reuse(ctx context.Context, organization string, m *store.Member, recipe *recipe, into *store.NewResult) (bool, error) {
	var earlier *store.Result
	err := s.store.Read(ctx, func(tx store.Tx) (err error) {
		earlier, err = store.EarlierResult(ctx, tx, organization, m.Hash, into.Recipe)
		return err
	})
	// The tables of an analysis hold the name of the file in every row.
	if errors.Is(err, store.ErrNotFound) || err == nil && recipe.Analysis && earlier.Name != m.Name {
		s.metrics.reused(false)
		return false, nil
	}
	if err != nil {
		return false, err
	}
	report, err := earlier.Report.Unpack()
	if err == nil {
		report, err = renamed(report, m.Name)
	}
	if err == nil {
		into.Mending, err = renamedMending(earlier, m.Name)
	}
	if err != nil {
		return false, err
	}
	into.Reused, into.Report, into.Marked, into.Analysis = true, store.Pack(report), earlier.Marked, earlier.Analysis
	s.metrics.reused(true)
	return true, nil
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
	text, encodeErr := json.Marshal(worker.NewFailure(name, err))
	if encodeErr != nil {
		return json.RawMessage(`{}`) // a struct of strings and numbers always encodes
	}
	return text
}
