package batch

import (
	"cmp"
	"context"
	"errors"
	"time"

	"github.com/riverqueue/river"

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
	// scores are how many it was made for, known where it is made only.
	scores int64
}

// Kind implements [river.JobArgs]. It is permanent: it stands in databases.
func (chunk) Kind() string { return "check-scores" }

// Size implements [queue.Sized].
func (c chunk) Size() int64 { return c.scores }

// chunks deals members, in order, to jobs.
func (s *Service) chunks(b *store.Batch, members []store.Span) []river.JobArgs {
	var jobs []river.JobArgs
	for len(members) > 0 {
		n, size := 0, int64(0)
		for n < len(members) && n < s.config.ChunkScores && (n == 0 || size+members[n].Size <= s.config.ChunkBytes) {
			size += members[n].Size
			n++
		}
		jobs = append(jobs, chunk{b.Organization, b.ID, members[0].Number, members[n-1].Number, int64(n)})
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
	r := &chunkRun{service: s, job: job, saved: time.Now(), fresh: map[sameAnswer]bool{}}
	if r.recipe, err = s.recipes.of(s.config.Version, b.Options); err != nil {
		// They were valid for the version that took them, and never will be for this.
		for i := range members {
			r.fail(&members[i], err)
		}
		members = nil
	}
	next, err := r.answerAll(ctx, members, job.Deaths() >= carefulAfter)
	if err != nil {
		// What has an answer keeps it, as far as that can be.
		return errors.Join(err, r.save(ctx, nil))
	}
	if next > 0 {
		left := job.Args
		left.First = next
		return r.save(ctx, func(ctx context.Context, tx store.Tx) error { return job.CompleteInPart(ctx, tx, left) })
	}
	return r.save(ctx, job.Complete)
}

// waiting finds the batch and those of its members that have no answer.
func (s *Service) waiting(ctx context.Context, c chunk) (b *store.Batch, members []store.Member, err error) {
	err = s.whole(ctx, func(tx store.Tx) error {
		if b, err = store.BatchByID(ctx, tx, c.Organization, c.Batch); err == nil {
			members, err = store.Waiting(ctx, tx, c.Organization, c.Batch, c.First, c.Last)
		}
		return err
	}, func() (all []*store.Blob) {
		for i := range members {
			all = append(all, &members[i].Score)
		}
		return all
	})
	return b, members, err
}

// chunkRun is one run of a job over its chunk.
type chunkRun struct {
	service *Service
	job     *queue.Job[chunk]
	recipe  *recipe
	// results are the answers not yet saved, saved is when some were last.
	results []store.NewResult
	saved   time.Time
	// fresh are the scores that were checked since.
	fresh map[sameAnswer]bool
}

// sameAnswer is what scores have in common that get one answer.
type sameAnswer struct{ hash, recipe, name string }

// save writes the answers that were not yet, and completes the job in the same
// transaction.
func (r *chunkRun) save(ctx context.Context, complete func(context.Context, store.Tx) error) error {
	if len(r.results) == 0 && complete == nil {
		return nil
	}
	c := r.job.Args
	if err := r.service.store.CarryResults(ctx, c.Organization, r.results); err != nil {
		return err
	}
	var saved []store.NewResult
	var b *store.Batch
	err := r.service.store.Write(ctx, func(tx store.Tx) (err error) {
		b, saved, err = r.service.store.SaveAnswers(ctx, tx, c.Organization, c.Batch, r.results)
		if err == nil && complete != nil {
			err = complete(ctx, tx)
		}
		return err
	})
	if err == nil {
		r.service.metrics.saved(saved, len(r.results)-len(saved))
		r.service.changed(ctx, b)
		r.results, r.saved = r.results[:0], time.Now()
		clear(r.fresh)
	}
	return err
}

// mostFaults is how often a job may meet an error of ours on a score before the score
// fails.
const mostFaults = 5

// answerAll answers members, as many as can be: the error is why others have none yet.
// When the time of a chunk is over it returns the number of the next; 0 means that there
// is none. Careful, it notes each before it is begun and saves each answer at once: one
// under which the process ends again and again fails, and lets the others be answered.
func (r *chunkRun) answerAll(ctx context.Context, members []store.Member, careful bool) (next int64, err error) {
	if len(members) == 0 {
		return 0, nil
	}
	w := &window{chunkRun: r, by: r.service.newAnswerer(r.job.Args.Organization, r.recipe), careful: careful}
	defer w.wait()
	if careful {
		w.by.atOnce = 1
	}
	for i := range members {
		m := &members[i]
		if careful && m.Begun >= mostBegun {
			r.fail(m, errEndsProcess)
			continue
		}
		if careful {
			if err := r.noteBegin(ctx, m); err != nil {
				return 0, err
			}
		}
		over, err := w.begin(ctx, m)
		if err != nil {
			return 0, err
		}
		if over {
			next = m.Number
			break
		}
	}
	if err := cmp.Or(w.take(ctx, 0), w.left); err != nil {
		return 0, err
	}
	return next, nil
}

var errEndsProcess = errors.New("the process ended each time while it worked on this score")

func (r *chunkRun) noteBegin(ctx context.Context, m *store.Member) error {
	return r.service.store.Write(ctx, func(tx store.Tx) error {
		return store.BeginMember(ctx, tx, r.job.Args.Organization, r.job.Args.Batch, m.Number)
	})
}

func (r *chunkRun) fail(m *store.Member, err error) {
	problem, version := failure(m.Name, err), r.service.config.Version
	r.results = append(r.results, store.NewResult{Number: m.Number, Engine: version, Problem: problem, Found: foundNothing(m.Name, version, problem)})
}
