package store

import (
	"context"
	"slices"
	"strings"
)

// MemberState is what became of a score in a batch.
type MemberState string

// A member waits until it has a result: a report (done) or a problem (failed).
const (
	MemberWaiting  MemberState = "waiting"
	MemberDone     MemberState = "done"
	MemberFailed   MemberState = "failed"
	MemberCanceled MemberState = "canceled"
)

// Member is a score in a batch. Numbers count from 1 in the order they were added.
type Member struct {
	Number int64
	// Name is the file name or the path in the archive.
	Name string
	// Score is how it is kept.
	Score Blob
	// Size is how many bytes it has unpacked, Hash their SHA-256.
	Size int64
	Hash string
	// Begun is how often [BeginMember] was called.
	Begun int64
	// Labels is the analysis that came beside the score under LabelsName; nil for
	// none.
	Labels     Blob
	LabelsName string
}

// NewMember is a score that is to be added.
type NewMember struct {
	Name string
	// Place is where the answers belong, a path with slashes without an extension;
	// "" where the name says so.
	Place string
	Score Score
	// Labels is an analysis that came beside the score, LabelsName its file name;
	// nil for none.
	Labels     Blob
	LabelsName string
	// Problem is the problem document of a file that could not even be taken out
	// of its archive; such a member has no score and has failed.
	Problem []byte
	// Engine is the version that found the problem.
	Engine string
	// Found is what is asked of a member with a problem; see [NewResult].
	Found *Found
}

// AddMembers adds scores to a batch that is being changed, and returns the number
// of the first. The error is a [*QuotaError] if the organization may have no more.
func (s *Store) AddMembers(ctx context.Context, tx Tx, b *Batch, members []NewMember) (first int64, err error) {
	if err := s.keepScores(ctx, tx, b.Organization, members); err != nil {
		return 0, err
	}
	first = b.Last + 1
	var rows [][]any
	var failed []NewResult
	for i := range members {
		m := &members[i]
		b.Last++
		b.Total++
		b.Waiting++
		b.Bytes += m.Score.blob.size() + m.Labels.size()
		hash := &m.Score.Hash
		if m.Problem != nil {
			hash = nil
			failed = append(failed, NewResult{Number: b.Last, Engine: m.Engine, Problem: m.Problem, Found: m.Found})
		}
		rows = append(rows, []any{b.ID, b.Last, b.Organization, m.Name, hash, string(MemberWaiting), m.Place, m.LabelsName, orNull(m.Labels)})
	}
	_, err = tx.many(ctx, `INSERT INTO members (batch_id, number, organization_id, name, score_hash, state, place, labels_name, labels)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`, rows)
	if err != nil {
		return 0, err
	}
	if _, err := s.SaveResults(ctx, tx, b, failed...); err != nil {
		return 0, err
	}
	return first, admit(ctx, tx, b)
}

// keepScores writes the scores that are not there yet, and holds those that are
// until the members that refer to them are written: nobody can delete them in
// between. All writers take them in the same order, so that none waits for one
// that waits for it.
func (s *Store) keepScores(ctx context.Context, tx Tx, organization string, members []NewMember) error {
	byHash := slices.Clone(members)
	slices.SortFunc(byHash, func(a, b NewMember) int { return strings.Compare(a.Score.Hash, b.Score.Hash) })
	var rows [][]any
	for i := range byHash {
		if m := &byHash[i]; m.Problem == nil {
			rows = append(rows, []any{organization, m.Score.Hash, m.Score.Size, []byte(m.Score.kept()), micros(s.now()), orNull(m.Score.place)})
		}
	}
	_, err := tx.many(ctx, `INSERT INTO scores (organization_id, hash, size, packed, created) VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (organization_id, hash) DO UPDATE SET created = excluded.created, packed = coalesce($6, scores.packed)`, rows)
	return err
}

// Waiting returns the members numbered first to last that have no result yet.
func Waiting(ctx context.Context, tx Tx, organization, batch string, first, last int64) ([]Member, error) {
	var all []Member
	err := tx.each(ctx, func(r row) error {
		var m Member
		err := r.Scan(&m.Number, &m.Name, (*[]byte)(&m.Score), &m.Size, &m.Hash, &m.Begun, &m.LabelsName, (*[]byte)(&m.Labels))
		all = append(all, m)
		return err
	}, `SELECT m.number, m.name, s.packed, s.size, s.hash, m.begun, m.labels_name, m.labels FROM members m
		JOIN scores s ON s.organization_id = m.organization_id AND s.hash = m.score_hash
		WHERE m.batch_id = $1 AND m.organization_id = $2 AND m.state = 'waiting' AND m.number BETWEEN $3 AND $4
		ORDER BY m.number`, batch, organization, first, last)
	return all, err
}

// BeginMember notes that work on a member begins, so that one that ends the
// process each time can be told.
func BeginMember(ctx context.Context, tx Tx, organization, batch string, number int64) error {
	_, err := tx.exec(ctx, `UPDATE members SET begun = begun + 1 WHERE batch_id = $1 AND organization_id = $2 AND number = $3`, batch, organization, number)
	return err
}

// Span is a member by number, with the bytes of its score.
type Span struct{ Number, Size int64 }

// Pending lists the members that wait, in order.
func Pending(ctx context.Context, tx Tx, b *Batch) ([]Span, error) {
	var all []Span
	err := tx.each(ctx, func(r row) error {
		var m Span
		err := r.Scan(&m.Number, &m.Size)
		all = append(all, m)
		return err
	}, `SELECT m.number, s.size FROM members m
		JOIN scores s ON s.organization_id = m.organization_id AND s.hash = m.score_hash
		WHERE m.batch_id = $1 AND m.state = 'waiting' ORDER BY m.number`, b.ID)
	return all, err
}

// CancelWaiting takes every member that waits out of the work.
func CancelWaiting(ctx context.Context, tx Tx, b *Batch) error {
	n, err := tx.exec(ctx, `UPDATE members SET state = 'canceled' WHERE batch_id = $1 AND state = 'waiting'`, b.ID)
	b.Waiting -= n
	b.Canceled += n
	return err
}

// ResumeCanceled lets every canceled member wait again.
func ResumeCanceled(ctx context.Context, tx Tx, b *Batch) error {
	n, err := tx.exec(ctx, `UPDATE members SET state = 'waiting' WHERE batch_id = $1 AND state = 'canceled'`, b.ID)
	b.Waiting += n
	b.Canceled -= n
	return err
}

// RetryFailed takes the problems of failed members away and lets them wait again.
// Those that have no score stay as they are. It returns how many wait.
func RetryFailed(ctx context.Context, tx Tx, b *Batch) (int64, error) {
	var failed []int64
	err := tx.each(ctx, func(r row) error {
		var number int64
		err := r.Scan(&number)
		failed = append(failed, number)
		return err
	}, `SELECT number FROM members WHERE batch_id = $1 AND state = 'failed' AND score_hash IS NOT NULL`, b.ID)
	if err == nil {
		err = forgetFound(ctx, tx, b.Organization, b.ID, failed...)
	}
	if err != nil {
		return 0, err
	}
	const ofFailed = `r.batch_id = $1 AND EXISTS (SELECT 1 FROM members m
		WHERE m.batch_id = r.batch_id AND m.number = r.number AND m.state = 'failed' AND m.score_hash IS NOT NULL)`
	names, err := namesOf(ctx, tx, ofFailed, b.ID)
	if err != nil {
		return 0, err
	}
	if _, err = tx.exec(ctx, `DELETE FROM results AS r WHERE `+ofFailed, b.ID); err != nil {
		return 0, err
	}
	if err = release(ctx, tx, b.Organization, names); err != nil {
		return 0, err
	}
	n, err := tx.exec(ctx, `UPDATE members SET state = 'waiting', begun = 0 WHERE batch_id = $1 AND state = 'failed' AND score_hash IS NOT NULL`, b.ID)
	b.Waiting += n
	b.Failed -= n
	return n, err
}

// DeleteMember takes a member of a batch that is being changed away with its answer
// and labels, and its score where no other member of the organization has it. A job
// that is working on it finds no member to answer. The error is [ErrNotFound] where
// there is none of that number.
func DeleteMember(ctx context.Context, tx Tx, b *Batch, number int64) error {
	var state MemberState
	var hash *string
	var bytes, packed int64
	var score []byte
	var parts [len(partNames)][]byte
	err := one(ctx, tx, []any{&state, &hash, &bytes, &packed, &score, &parts[0], &parts[1], &parts[2], &parts[3], &parts[4]}, `SELECT m.state, m.score_hash,
			CAST(coalesce(length(m.labels), 0) AS BIGINT), CAST(coalesce(length(s.packed), 0) AS BIGINT),
			CASE WHEN length(s.packed) <= $3 THEN s.packed END, r.report, r.marked, r.analysis, r.mending, r.voicing
		FROM members m LEFT JOIN scores s ON s.organization_id = m.organization_id AND s.hash = m.score_hash
			LEFT JOIN results r ON r.batch_id = m.batch_id AND r.number = m.number
		WHERE m.batch_id = $1 AND m.number = $2`, b.ID, number, mostPlace)
	if err != nil {
		return err
	}
	if Blob(score).isOutside() {
		packed = Blob(score).size()
	}
	bytes += packed
	var names []Blob
	for _, part := range parts {
		if bytes += Blob(part).size(); Blob(part).isName() {
			names = append(names, part)
		}
	}
	if _, err := tx.exec(ctx, `DELETE FROM members WHERE batch_id = $1 AND number = $2`, b.ID, number); err != nil {
		return err
	}
	if err := release(ctx, tx, b.Organization, names); err != nil {
		return err
	}
	if err := forgetFound(ctx, tx, b.Organization, b.ID, number); err != nil {
		return err
	}
	b.Total--
	*b.countOf(state)--
	b.Bytes -= bytes
	if hash == nil {
		return nil
	}
	return forgetScores(ctx, tx, b.Organization, []string{*hash})
}

// countOf is the count of the members in a state.
func (c *Counts) countOf(state MemberState) *int64 {
	switch state {
	case MemberDone:
		return &c.Done
	case MemberFailed:
		return &c.Failed
	case MemberCanceled:
		return &c.Canceled
	}
	return &c.Waiting
}
