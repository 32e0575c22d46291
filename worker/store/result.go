package store

import (
	"context"
	"encoding/json"
	"time"
)

// NewResult is the answer to one member: a report, with the marked score if it
// was asked for, or a problem.
type NewResult struct {
	Number int64
	// Engine is the version that gave the answer.
	Engine  string
	Report  Blob
	Marked  Blob
	Problem json.RawMessage
}

// SaveResult writes the answer to a member of a batch that is being changed. It
// returns false, and writes nothing, if the member does not wait: it has been
// answered, or was canceled. So each is answered once, however often it is
// worked on.
func (s *Store) SaveResult(ctx context.Context, tx Tx, b *Batch, r NewResult) (bool, error) {
	state := MemberDone
	if r.Problem != nil {
		state = MemberFailed
	}
	n, err := tx.exec(ctx, `UPDATE members SET state = $1 WHERE batch_id = $2 AND number = $3 AND state = 'waiting'`, string(state), b.ID, r.Number)
	if err != nil || n == 0 {
		return false, err
	}
	b.Waiting--
	if state == MemberDone {
		b.Done++
	} else {
		b.Failed++
	}
	var problem *string
	if r.Problem != nil {
		text := string(r.Problem)
		problem = &text
	}
	_, err = tx.exec(ctx, `INSERT INTO results (batch_id, number, organization_id, engine, report, marked, problem, finished)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
		b.ID, r.Number, b.Organization, r.Engine, orNull(r.Report), orNull(r.Marked), problem, micros(s.now()))
	return err == nil, err
}

// orNull keeps a nil blob from being written as an empty one.
func orNull(b Blob) any {
	if b == nil {
		return nil
	}
	return []byte(b)
}

// Result is the answer to a member.
type Result struct {
	Number int64
	Name   string
	State  MemberState
	Engine string
	Report Blob
	// Marked is nil unless it was asked for.
	Marked   Blob
	Problem  json.RawMessage
	Finished time.Time
}

// ResultQuery chooses results of a batch, in the order of their numbers.
type ResultQuery struct {
	Organization, Batch string
	// After is the number that the last page ended with, 0 for the first.
	After int64
	// Limit is the longest page.
	Limit int
	// Marked asks for the marked scores too.
	Marked bool
}

// Results returns a page. Members without an answer are passed over.
func Results(ctx context.Context, tx Tx, q ResultQuery) ([]Result, error) {
	marked := "NULL"
	if q.Marked {
		marked = "r.marked"
	}
	var all []Result
	err := tx.each(ctx, func(from row) error {
		var r Result
		var problem *string
		var finished int64
		err := from.Scan(&r.Number, &r.Name, &r.State, &r.Engine, (*[]byte)(&r.Report), (*[]byte)(&r.Marked), &problem, &finished)
		if problem != nil {
			r.Problem = json.RawMessage(*problem)
		}
		r.Finished = moment(finished)
		all = append(all, r)
		return err
	}, `SELECT m.number, m.name, m.state, r.engine, r.report, `+marked+`, r.problem, r.finished
		FROM results r JOIN members m ON m.batch_id = r.batch_id AND m.number = r.number
		WHERE r.batch_id = $1 AND r.organization_id = $2 AND r.number > $3
		ORDER BY r.number LIMIT $4`, q.Batch, q.Organization, q.After, q.Limit)
	return all, err
}

// AnsweredSince counts the results of a batch since a moment.
func AnsweredSince(ctx context.Context, tx Tx, b *Batch, since time.Time) (n int64, err error) {
	err = one(ctx, tx, []any{&n}, `SELECT count(*) FROM results WHERE batch_id = $1 AND finished >= $2`, b.ID, micros(since))
	return n, err
}
