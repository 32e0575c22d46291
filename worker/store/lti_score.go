package store

import (
	"context"
	"crypto/rand"
)

// LTIScoreState is how far a score has come on its way to a learning system.
type LTIScoreState string

// States of scores.
const (
	LTIScoreWaiting   LTIScoreState = "waiting"
	LTIScorePublished LTIScoreState = "published"
	LTIScoreFailed    LTIScoreState = "failed"
)

// LTIScore is the latest score of a pupil in one column of a learning system's
// gradebook.
type LTIScore struct {
	ID, Registration string
	// LineItem is the address of the column; Pupil the learning system's opaque
	// reference.
	LineItem, Pupil string
	// Stamp is the moment of the score, in milliseconds since 1970: a later score of
	// the same pupil in the same column has a later one, always.
	Stamp int64
	// Released tells that the teacher lets the mark be seen; until then Given, Maximum
	// and Comment are not sent.
	Released       bool
	Given, Maximum float64
	Comment        string
	// Readable tells that the learning system lets us read what stands in the column.
	Readable bool
	State    LTIScoreState
	// Begun tells that an attempt to publish was begun, whatever came of it.
	Begun bool
	// Failure is a word that says why it failed.
	Failure string
}

const ltiScoreColumns = `id, registration_id, line_item, pupil, stamp, released, given, maximum, comment, readable, state, begun, failure`

func scanLTIScore(r row, s *LTIScore) error {
	var released, readable, begun int64
	err := r.Scan(&s.ID, &s.Registration, &s.LineItem, &s.Pupil, &s.Stamp, &released, &s.Given, &s.Maximum, &s.Comment, &readable, &s.State, &begun, &s.Failure)
	s.Released, s.Readable, s.Begun = released != 0, readable != 0, begun != 0
	return err
}

func flag(is bool) int64 {
	if is {
		return 1
	}
	return 0
}

// SetLTIScore makes a score the latest of its pupil in its column, waiting to be
// published, and gives it a stamp: now, or a millisecond after the last. Before is the
// score that it takes the place of, nil for the first.
func (s *Store) SetLTIScore(ctx context.Context, tx Tx, l LTIScore) (now, before *LTIScore, err error) {
	l.ID, l.Stamp = rand.Text(), s.now().UnixMilli()
	// Held against another that comes at the same time.
	n, err := tx.exec(ctx, `INSERT INTO lti_scores (`+ltiScoreColumns+`) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, 'waiting', 0, '')
		ON CONFLICT (registration_id, line_item, pupil) DO NOTHING`,
		l.ID, l.Registration, l.LineItem, l.Pupil, l.Stamp, flag(l.Released), l.Given, l.Maximum, l.Comment, flag(l.Readable))
	if err != nil {
		return nil, nil, err
	}
	l.State, l.Begun, l.Failure = LTIScoreWaiting, false, ""
	if n == 1 {
		return &l, nil, nil
	}
	before = &LTIScore{}
	err = tx.each(ctx, func(r row) error { return scanLTIScore(r, before) },
		`UPDATE lti_scores SET stamp = stamp WHERE registration_id = $1 AND line_item = $2 AND pupil = $3 RETURNING `+ltiScoreColumns,
		l.Registration, l.LineItem, l.Pupil)
	if err != nil {
		return nil, nil, err
	}
	l.ID, l.Stamp = before.ID, max(l.Stamp, before.Stamp+1)
	return &l, before, saveLTIScore(ctx, tx, &l)
}

func saveLTIScore(ctx context.Context, tx Tx, l *LTIScore) error {
	_, err := tx.exec(ctx, `UPDATE lti_scores SET stamp = $1, released = $2, given = $3, maximum = $4, comment = $5, readable = $6,
		state = $7, begun = $8, failure = $9 WHERE id = $10`,
		l.Stamp, flag(l.Released), l.Given, l.Maximum, l.Comment, flag(l.Readable), string(l.State), flag(l.Begun), l.Failure, l.ID)
	return err
}

// ChangeLTIScore finds a score, holds it against other changes until the transaction
// ends, and writes what f made of it.
func ChangeLTIScore(ctx context.Context, tx Tx, id string, f func(*LTIScore) error) (*LTIScore, error) {
	l := &LTIScore{}
	err := tx.each(ctx, func(r row) error { return scanLTIScore(r, l) },
		`UPDATE lti_scores SET stamp = stamp WHERE id = $1 RETURNING `+ltiScoreColumns, id)
	if err == nil && l.ID == "" {
		err = ErrNotFound
	}
	if err == nil {
		err = f(l)
	}
	if err == nil {
		err = saveLTIScore(ctx, tx, l)
	}
	return l, err
}

// LTIScoreOf finds the score of a pupil in a column.
func LTIScoreOf(ctx context.Context, tx Tx, registration, lineItem, pupil string) (*LTIScore, error) {
	l := &LTIScore{}
	err := tx.each(ctx, func(r row) error { return scanLTIScore(r, l) },
		`SELECT `+ltiScoreColumns+` FROM lti_scores WHERE registration_id = $1 AND line_item = $2 AND pupil = $3`, registration, lineItem, pupil)
	if err == nil && l.ID == "" {
		err = ErrNotFound
	}
	return l, err
}

// ForgetLTIPupil deletes what is kept of a pupil.
func ForgetLTIPupil(ctx context.Context, tx Tx, registration, pupil string) error {
	_, err := tx.exec(ctx, `DELETE FROM lti_scores WHERE registration_id = $1 AND pupil = $2`, registration, pupil)
	return err
}
