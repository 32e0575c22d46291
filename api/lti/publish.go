package lti

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"net/http"
	"slices"
	"strconv"
	"time"

	"partwright/worker/queue"
	"partwright/worker/store"
)

// Line is where the jobs that publish scores wait.
const Line = "lti-scores"

// Score is the latest score of a pupil in a column.
type Score = store.LTIScore

// waits are those before each further attempt: three days in all, as learning systems
// are down over a weekend.
var waits = []time.Duration{
	5 * time.Second, 30 * time.Second, 2 * time.Minute, 10 * time.Minute, 30 * time.Minute,
	2 * time.Hour, 5 * time.Hour, 10 * time.Hour, 14 * time.Hour, 20 * time.Hour, 24 * time.Hour,
}

// longestWait bounds what a learning system may ask for by Retry-After; jitter is by how
// much of it a wait may be longer.
const (
	longestWait = 24 * time.Hour
	jitter      = 0.1
)

// publication is a job: one score, under the stamp that it had when it was set.
type publication struct {
	Score string `json:"score"`
	Stamp int64  `json:"stamp"`
	Try   int    `json:"try"`
}

// Kind implements [river.JobArgs]. It is permanent: it stands in databases.
func (publication) Kind() string { return "publish-lti-score" }

// Publisher publishes scores by durable jobs.
//
// A score has one stamp and is the same bytes in each attempt. An attempt is written
// down before it begins. After one whose outcome is not known, because the process was
// killed or no answer came, the next first asks what stands in the column, where that is
// granted, and takes a refusal as a conflict for its own score that had come through: so a learning system that
// keeps to AGS 3.4.9 has each score once.
type Publisher struct {
	tool    *Tool
	store   *store.Store
	queue   *queue.Queue
	metrics *Metrics
	waits   []time.Duration
}

// NewPublisher returns a publisher; [Publisher.Handle] and [Publisher.Use] must follow
// before there is a score. Metrics may be nil.
func NewPublisher(t *Tool, s *store.Store, m *Metrics) *Publisher {
	return &Publisher{tool: t, store: s, metrics: m, waits: waits}
}

// Handle makes publishing one of the kinds of jobs that a process works on.
func (p *Publisher) Handle(kinds *queue.Kinds) { queue.Handle(kinds, p.work) }

// Use sets the queue that scores go through.
func (p *Publisher) Use(q *queue.Queue) { p.queue = q }

// Publish sets the score of a pupil and has it published, in a transaction of the caller
// with what it comes from. It takes the place of an earlier one that still waits. Before
// is the earlier score, nil for none: what a teacher has changed since in the learning
// system itself is overwritten and cannot be seen here, so whoever publishes again should
// be warned, or shown [Tool.Result] first.
func (p *Publisher) Publish(ctx context.Context, tx store.Tx, s Score) (now, before *Score, err error) {
	if err := usable(&s); err != nil {
		return nil, nil, err
	}
	r, err := store.LTIRegistrationByID(ctx, tx, s.Registration)
	if err != nil {
		return nil, nil, err
	}
	if now, before, err = p.store.SetLTIScore(ctx, tx, s); err != nil {
		return nil, nil, err
	}
	return now, before, p.queue.Add(ctx, tx, r.Organization, Line, queue.Normal, publication{Score: now.ID, Stamp: now.Stamp})
}

// work makes one attempt.
func (p *Publisher) work(ctx context.Context, job *queue.Job[publication]) error {
	var s *Score
	var r *Registration
	uncertain := false
	err := p.store.Write(ctx, func(tx store.Tx) (err error) {
		s, err = store.ChangeLTIScore(ctx, tx, job.Args.Score, func(s *Score) error {
			if s.Stamp == job.Args.Stamp && s.State == store.LTIScoreWaiting {
				uncertain, s.Begun = s.Begun, true
			}
			return nil
		})
		if err == nil {
			r, err = store.LTIRegistrationByID(ctx, tx, s.Registration)
		}
		return err
	})
	switch {
	case errors.Is(err, store.ErrNotFound): // the pupil or the learning system was deleted
		return p.end(ctx, job, nil)
	case err != nil:
		return err
	case s.Stamp != job.Args.Stamp || s.State != store.LTIScoreWaiting: // a later score took its place
		return p.end(ctx, job, nil)
	}
	err = p.attempt(ctx, r, s, uncertain)
	if ctx.Err() != nil {
		return ctx.Err() // whether it came through is not known: the next attempt finds out
	}
	return p.record(ctx, job, err, uncertain)
}

// attempt posts a score, unless it stands there already.
func (p *Publisher) attempt(ctx context.Context, r *Registration, s *Score, uncertain bool) error {
	if uncertain && s.Released && s.Readable {
		found, err := p.tool.Result(ctx, r, s.LineItem, s.Pupil)
		if err == nil && stands(found, s) {
			return nil
		}
	}
	return p.tool.postScore(ctx, r, s)
}

// stands reports whether a result is what a score would make of it.
func stands(r *Result, s *Score) bool {
	share, found := r.Share()
	return found && math.Abs(share-s.Given/s.Maximum) < 1e-6 && r.Comment == s.Comment
}

// record writes what came of an attempt, with the end of the job and the beginning of the
// next.
func (p *Publisher) record(ctx context.Context, job *queue.Job[publication], outcome error, uncertain bool) error {
	word, again, atLeast := judge(outcome, uncertain)
	p.metrics.attempted(word)
	return p.end(ctx, job, func(tx store.Tx) error {
		retry := false
		_, err := store.ChangeLTIScore(ctx, tx, job.Args.Score, func(s *Score) error {
			if s.Stamp != job.Args.Stamp {
				return nil
			}
			switch {
			case word == outcomePublished:
				s.State, s.Failure = store.LTIScorePublished, ""
			case again && job.Args.Try < len(p.waits):
				retry, s.Failure = true, word
			default:
				s.State, s.Failure = store.LTIScoreFailed, word
			}
			return nil
		})
		if err != nil || !retry {
			return err
		}
		wait := max(p.waits[job.Args.Try], atLeast)
		wait += time.Duration(rand.Float64() * jitter * float64(wait)) // #nosec G404 -- spreads retries, guards nothing
		next := job.Args
		next.Try++
		return p.queue.AddAt(ctx, tx, Line, queue.Normal, p.store.Now().Add(wait), next)
	})
}

// end completes a job in the transaction of what came of it.
func (p *Publisher) end(ctx context.Context, job *queue.Job[publication], f func(store.Tx) error) error {
	return p.store.Write(ctx, func(tx store.Tx) error {
		if f != nil {
			if err := f(tx); err != nil && !errors.Is(err, store.ErrNotFound) {
				return err
			}
		}
		return job.Complete(ctx, tx)
	})
}

// Outcomes of attempts, for metrics and for whoever asks why a score has not come
// through.
const (
	outcomePublished = "published"
	outcomeConflict  = "conflict" // a later score stands there, which is not ours
	outcomeRefused   = "refused"
	outcomeNotFound  = "not-found" // the column, the pupil or the course is gone
	outcomeFails     = "platform-fails"
)

var outcomes = []string{outcomePublished, outcomeConflict, outcomeRefused, outcomeNotFound, outcomeFails}

// judge says what an outcome means: a word, whether to try again, and after how long at
// least.
func judge(err error, uncertain bool) (word string, again bool, atLeast time.Duration) {
	var status *statusError
	code := 0
	if errors.As(err, &status) {
		code = status.status
	}
	switch {
	case err == nil, code == http.StatusConflict && uncertain:
		return outcomePublished, false, 0
	case code == http.StatusConflict:
		return outcomeConflict, false, 0
	case slices.Contains([]int{http.StatusNotFound, http.StatusGone}, code):
		return outcomeNotFound, false, 0
	// What a learning system refuses today it may allow once its settings are mended.
	case errors.Is(err, PlatformRefuses) && code != http.StatusUnauthorized && code != http.StatusForbidden && code != 0:
		return outcomeRefused, false, 0
	case errors.Is(err, PlatformRefuses):
		return outcomeRefused, true, 0
	}
	if status != nil {
		if seconds, err := strconv.ParseInt(status.header.Get("Retry-After"), 10, 32); err == nil {
			atLeast = min(max(time.Duration(seconds)*time.Second, 0), longestWait)
		}
	}
	return outcomeFails, true, atLeast
}
