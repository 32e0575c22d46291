package store

import (
	"context"
	"encoding/json"
	"time"
)

// NewResult is the answer to one member: a report, with the marked score, the
// analysis, the mended score and the voicing if they were asked for, or a problem.
type NewResult struct {
	Number int64
	// Engine is the version that gave the answer.
	Engine string
	// Recipe stands for everything but the score that made the answer what it is:
	// where score and recipe are the same, so is the answer. "" is for none.
	Recipe string
	// Reused tells an answer that was copied from an earlier one.
	Reused bool
	// Begun is when work on it began and Took how long that took; zero for none.
	Begun    time.Time
	Took     time.Duration
	Report   Blob
	Marked   Blob
	Analysis Blob
	Mending  Blob
	Voicing  Blob
	Problem  json.RawMessage
	// Found is what is asked across batches; nil where the store is not to know.
	Found *Found

	carried carried
}

// SaveResults writes answers to members of a batch that is being changed, and
// returns those that it wrote. It passes over a member that does not wait: it has
// been answered, or was canceled. So each is answered once, however often it is
// worked on.
func (s *Store) SaveResults(ctx context.Context, tx Tx, b *Batch, results ...NewResult) ([]NewResult, error) {
	states := make([][]any, len(results))
	for i := range results {
		states[i] = []any{string(results[i].state()), b.ID, results[i].Number}
	}
	changed, err := tx.many(ctx, `UPDATE members SET state = $1 WHERE batch_id = $2 AND number = $3 AND state = 'waiting'`, states)
	if err != nil {
		return nil, err
	}
	var taken []NewResult
	for i := range results {
		if changed[i] == 0 {
			continue
		}
		b.count(&results[i])
		taken = append(taken, results[i])
	}
	parts, err := share(ctx, tx, b.Organization, taken)
	if err != nil {
		return nil, err
	}
	rows := make([][]any, len(taken))
	for i := range taken {
		r := &taken[i]
		rows[i] = append([]any{b.ID, r.Number, b.Organization, r.Engine, r.Recipe, oneIf(r.Reused), r.problem(), micros(s.now())}, parts[i][:]...)
	}
	_, err = tx.many(ctx, `INSERT INTO results (batch_id, number, organization_id, engine, recipe, reused, problem, finished, report, marked, analysis, mending, voicing)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)`, rows)
	if err == nil {
		err = saveFound(ctx, tx, b, taken)
	}
	return taken, err
}

func (r *NewResult) state() MemberState {
	if r.Problem != nil {
		return MemberFailed
	}
	return MemberDone
}

func (r *NewResult) problem() *string {
	if r.Problem == nil {
		return nil
	}
	text := string(r.Problem)
	return &text
}

// count counts a member that waited as answered.
func (b *Batch) count(r *NewResult) {
	b.Waiting--
	if r.state() == MemberDone {
		b.Done++
	} else {
		b.Failed++
	}
	b.answered = append(b.answered, Answered{r.Number, r.state()})
	if !r.Begun.IsZero() && (b.Started.IsZero() || r.Begun.Before(b.Started)) {
		b.Started = r.Begun
	}
	b.Worked += r.Took
	if r.Took > b.Slowest {
		b.Slowest, b.SlowestNumber = r.Took, r.Number
	}
	for _, part := range r.parts() {
		b.Bytes += part.size()
	}
}

func oneIf(yes bool) int64 {
	if yes {
		return 1
	}
	return 0
}

// orNull keeps a nil blob from being written as an empty one.
func orNull(b Blob) any {
	if b == nil {
		return nil
	}
	return []byte(b)
}

// Result is what became of a member. One that waits or was canceled has no answer.
type Result struct {
	Number int64
	Name   string
	// Place is where the answer belongs, as in [NewMember].
	Place  string
	State  MemberState
	Engine string
	Reused bool
	// Report, Marked, Analysis, Mending and Voicing are nil unless they were asked for, of the
	// batch and of the query. See [Store.Fetch].
	Report, Marked, Analysis, Mending, Voicing Blob
	Problem                                    json.RawMessage
	// Finished is zero without an answer.
	Finished time.Time
}

// ResultQuery chooses results of a batch, in the order of their numbers.
type ResultQuery struct {
	Organization, Batch string
	// After is the number that the last page ended with, 0 for the first.
	After int64
	// Limit is the longest page.
	Limit int
	// Reports, Marked, Analyses, Mendings and Voicings ask for what takes room.
	Reports, Marked, Analyses, Mendings, Voicings bool
}

func (q *ResultQuery) columns() string {
	columns := "r.number, m.name, m.place, m.state, r.engine, r.reused, r.problem, r.finished"
	for i, wanted := range [len(partNames)]bool{q.Reports, q.Marked, q.Analyses, q.Mendings, q.Voicings} {
		if wanted {
			columns += ", " + partColumn(partNames[i])
		} else {
			columns += ", NULL"
		}
	}
	return columns
}

func scanResult(from row, r *Result) error {
	var problem, engine *string
	var reused, finished *int64
	var number *int64
	err := from.Scan(&number, &r.Name, &r.Place, &r.State, &engine, &reused, &problem, &finished,
		(*[]byte)(&r.Report), (*[]byte)(&r.Marked), (*[]byte)(&r.Analysis), (*[]byte)(&r.Mending), (*[]byte)(&r.Voicing))
	if err != nil || number == nil {
		return err
	}
	r.Number, r.Engine, r.Reused, r.Finished = *number, *engine, *reused != 0, moment(*finished)
	if problem != nil {
		r.Problem = json.RawMessage(*problem)
	}
	return nil
}

// Results returns a page. Members without an answer are skipped.
func Results(ctx context.Context, tx Tx, q ResultQuery) ([]Result, error) {
	var all []Result
	err := tx.each(ctx, func(from row) error {
		var r Result
		err := scanResult(from, &r)
		all = append(all, r)
		return err
	}, `SELECT `+q.columns()+` FROM results r JOIN members m ON m.batch_id = r.batch_id AND m.number = r.number
		WHERE r.batch_id = $1 AND r.organization_id = $2 AND r.number > $3
		ORDER BY r.number LIMIT $4`, q.Batch, q.Organization, q.After, q.Limit)
	return all, err
}

// ResultOf returns what became of one member, whether it has an answer or not.
func ResultOf(ctx context.Context, tx Tx, organization, batch string, number int64) (*Result, error) {
	q := ResultQuery{Reports: true, Marked: true, Analyses: true, Mendings: true, Voicings: true}
	var found *Result
	err := tx.each(ctx, func(from row) error {
		found = &Result{Number: number}
		return scanResult(from, found)
	}, `SELECT `+q.columns()+` FROM members m LEFT JOIN results r ON r.batch_id = m.batch_id AND r.number = m.number
		WHERE m.batch_id = $1 AND m.organization_id = $2 AND m.number = $3
		AND EXISTS (SELECT 1 FROM batches b WHERE b.id = m.batch_id AND b.deleted = 0)`, batch, organization, number)
	if err == nil && found == nil {
		err = ErrNotFound
	}
	return found, err
}

// EarlierResult finds an answer that the organization got for the same score and
// recipe, and under the name unless that is "", or [ErrNotFound].
func EarlierResult(ctx context.Context, tx Tx, organization, hash, recipe, name string) (*Result, error) {
	q := ResultQuery{Reports: true, Marked: true, Analyses: true, Mendings: true, Voicings: true}
	var found *Result
	err := tx.each(ctx, func(from row) error {
		found = &Result{}
		return scanResult(from, found)
	}, `SELECT `+q.columns()+` FROM members m JOIN results r ON r.batch_id = m.batch_id AND r.number = m.number
		WHERE m.organization_id = $1 AND m.score_hash = $2 AND m.state = 'done' AND r.recipe = $3
		AND (CAST($4 AS TEXT) = '' OR m.name = $4) LIMIT 1`, organization, hash, recipe, name)
	if err == nil && found == nil {
		err = ErrNotFound
	}
	return found, err
}

// AnsweredSince counts the results of a batch since a moment.
func AnsweredSince(ctx context.Context, tx Tx, b *Batch, since time.Time) (n int64, err error) {
	err = one(ctx, tx, []any{&n}, `SELECT count(*) FROM results WHERE batch_id = $1 AND finished >= $2`, b.ID, micros(since))
	return n, err
}
