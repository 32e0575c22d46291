package store

import (
	"context"
	"errors"
	"time"
)

// ErrMeanwhile is returned where something was decided since the log was read, or the
// assignment changed; whoever decides, or marks, reads it again.
var ErrMeanwhile = errors.New("something else was decided in the meantime")

// Assignment is an exercise that is set to a class.
type Assignment struct {
	ID, Organization string
	// Content is what it is, packed.
	Content Blob
	Created time.Time
	// LastEntry is the number of the last entry in its log, 0 for none.
	LastEntry int64
	// Revision counts how often the content was changed.
	Revision int64
	// Teachers are who a new one is given to; see [Teachers].
	Teachers []string
}

// HandIn is one attempt of a reference at an assignment.
type HandIn struct {
	Assignment, Organization, Reference string
	// Attempt counts from 1.
	Attempt int
	// Revision is the one of the assignment by which it was marked.
	Revision int64
	// Score is what was handed in, Marking what came of it, Marked the marked score, nil
	// for none.
	Score, Marking, Marked Blob
	Received               time.Time
}

// ClassEntry is one thing that was decided.
type ClassEntry struct {
	Assignment, Organization string
	Number                   int64
	// Reference is whom it is about, "" for all.
	Reference string
	// Content is all of it, as JSON.
	Content string
}

const assignmentColumns = `id, organization_id, content, created, last_entry, revision`

func assignments(ctx context.Context, tx Tx, statement string, args ...any) ([]Assignment, error) {
	all := []Assignment{}
	err := tx.each(ctx, func(r row) error {
		var a Assignment
		var created int64
		err := r.Scan(&a.ID, &a.Organization, &a.Content, &created, &a.LastEntry, &a.Revision)
		a.Created = moment(created)
		all = append(all, a)
		return err
	}, statement, args...)
	return all, err
}

// CreateAssignment writes an assignment under the id that it has.
func (s *Store) CreateAssignment(ctx context.Context, tx Tx, a Assignment) error {
	_, err := tx.exec(ctx, `INSERT INTO assignments (id, organization_id, content, created) VALUES ($1, $2, $3, $4)`,
		a.ID, a.Organization, a.Content, micros(s.now()))
	for _, teacher := range a.Teachers {
		if err == nil {
			err = AddTeacher(ctx, tx, a.ID, teacher)
		}
	}
	return err
}

// Assignments lists those of an organization, the oldest first.
func Assignments(ctx context.Context, tx Tx, organization string) ([]Assignment, error) {
	return assignments(ctx, tx, `SELECT `+assignmentColumns+` FROM assignments WHERE organization_id = $1 ORDER BY created, id`, organization)
}

// AssignmentByID finds an assignment of an organization.
func AssignmentByID(ctx context.Context, tx Tx, organization, id string) (*Assignment, error) {
	return oneAssignment(assignments(ctx, tx, `SELECT `+assignmentColumns+` FROM assignments WHERE id = $1 AND organization_id = $2`, id, organization))
}

// HoldAssignment locks the row of an assignment until the transaction ends.
func HoldAssignment(ctx context.Context, tx Tx, organization, id string) error {
	_, err := holdAssignment(ctx, tx, organization, id)
	return err
}

// holdAssignment finds an assignment and locks its row.
func holdAssignment(ctx context.Context, tx Tx, organization, id string) (*Assignment, error) {
	return oneAssignment(assignments(ctx, tx, `UPDATE assignments SET created = created WHERE id = $1 AND organization_id = $2 RETURNING `+assignmentColumns, id, organization))
}

func oneAssignment(all []Assignment, err error) (*Assignment, error) {
	if err != nil {
		return nil, err
	}
	if len(all) == 0 {
		return nil, ErrNotFound
	}
	return &all[0], nil
}

// ChangeAssignment writes what an assignment is, if nobody has changed it since the revision
// that it has; else the error is [ErrMeanwhile].
func ChangeAssignment(ctx context.Context, tx Tx, a Assignment) error {
	n, err := tx.exec(ctx, `UPDATE assignments SET content = $1, revision = revision + 1 WHERE id = $2 AND organization_id = $3 AND revision = $4`,
		a.Content, a.ID, a.Organization, a.Revision)
	if err == nil && n == 0 {
		return ErrMeanwhile
	}
	return err
}

// CountHandIns counts the attempts at an assignment.
func CountHandIns(ctx context.Context, tx Tx, assignment string) (n int, err error) {
	err = one(ctx, tx, []any{&n}, `SELECT count(*) FROM hand_ins WHERE assignment_id = $1`, assignment)
	return n, err
}

// DeleteAssignment takes an assignment away with all that was handed in and decided.
func DeleteAssignment(ctx context.Context, tx Tx, organization, id string) error {
	if _, err := oneAssignment(assignments(ctx, tx, `SELECT `+assignmentColumns+` FROM assignments WHERE id = $1 AND organization_id = $2`, id, organization)); err != nil {
		return err
	}
	if err := forgetLTIScores(ctx, tx, `a.id = $1`, id); err != nil {
		return err
	}
	n, err := tx.exec(ctx, `DELETE FROM assignments WHERE id = $1 AND organization_id = $2`, id, organization)
	if err == nil && n == 0 {
		return ErrNotFound
	}
	if err == nil {
		err = forgetSessionsOfNone(ctx, tx)
	}
	return err
}

// ForgetAssignments deletes the assignments to which nothing was handed in for longer than
// their organization keeps things, or than the fallback where it says nothing (0 is for
// ever). It returns how many there were.
func (s *Store) ForgetAssignments(ctx context.Context, tx Tx, fallback time.Duration) (int64, error) {
	args := []any{int64(fallback / time.Second), micros(s.now())}
	if err := forgetLTIScores(ctx, tx, pastRetention, args...); err != nil {
		return 0, err
	}
	n, err := tx.exec(ctx, `DELETE FROM assignments WHERE id IN (SELECT a.id FROM assignments a WHERE `+pastRetention+`)`, args...)
	if err == nil && n > 0 {
		err = forgetSessionsOfNone(ctx, tx)
	}
	return n, err
}

// forgetSessionsOfNone deletes sessions and links for assignments that are gone: they name
// pupils.
func forgetSessionsOfNone(ctx context.Context, tx Tx) error {
	_, err := tx.exec(ctx, `DELETE FROM sessions WHERE assignment <> '' AND NOT EXISTS (SELECT 1 FROM assignments a WHERE a.id = sessions.assignment)`)
	return err
}

// pastRetention is what assignments a are that are kept no longer, by a fallback in seconds
// and the time.
const pastRetention = `EXISTS (SELECT 1 FROM organizations o WHERE o.id = a.organization_id
		AND CASE WHEN o.retention > 0 THEN o.retention ELSE $1 END > 0
		AND a.created < $2 - 1000000 * CASE WHEN o.retention > 0 THEN o.retention ELSE $1 END
		AND NOT EXISTS (SELECT 1 FROM hand_ins h WHERE h.assignment_id = a.id
			AND h.received >= $2 - 1000000 * CASE WHEN o.retention > 0 THEN o.retention ELSE $1 END))`

// forgetLTIScores deletes the scores that were sent to columns for some assignments a.
func forgetLTIScores(ctx context.Context, tx Tx, which string, args ...any) error {
	_, err := tx.exec(ctx, `DELETE FROM lti_scores WHERE EXISTS (SELECT 1 FROM lti_links l JOIN assignments a ON a.id = l.assignment_id
		WHERE l.registration_id = lti_scores.registration_id AND l.line_item = lti_scores.line_item AND `+which+`)`, args...)
	return err
}

// AddHandIn keeps what was handed in as the next attempt of its reference, and returns
// which that is. The error is [ErrMeanwhile] if it was marked by another revision of the
// assignment than the one that there is.
func (s *Store) AddHandIn(ctx context.Context, tx Tx, h HandIn) (attempt int, err error) {
	a, err := holdAssignment(ctx, tx, h.Organization, h.Assignment)
	if err != nil {
		return 0, err
	}
	if a.Revision != h.Revision {
		return 0, ErrMeanwhile
	}
	err = one(ctx, tx, []any{&attempt}, `SELECT coalesce(max(attempt), 0) + 1 FROM hand_ins WHERE assignment_id = $1 AND reference = $2`, h.Assignment, h.Reference)
	if err != nil {
		return 0, err
	}
	_, err = tx.exec(ctx, `INSERT INTO hand_ins (assignment_id, organization_id, reference, attempt, score, marking, marked, received) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
		h.Assignment, h.Organization, h.Reference, attempt, h.Score, h.Marking, h.Marked, micros(h.Received))
	if err == nil {
		err = admitHandIn(ctx, tx, h.Organization)
	}
	return attempt, err
}

// HandIns lists what was handed in for an assignment of an organization, by reference and
// attempt; of one reference only, where it is not "". Without scores they are nil.
func HandIns(ctx context.Context, tx Tx, organization, assignment, reference string, scores bool) ([]HandIn, error) {
	columns := `NULL, marking, NULL`
	if scores {
		columns = `score, marking, marked`
	}
	statement := `SELECT assignment_id, organization_id, reference, attempt, ` + columns + `, received FROM hand_ins WHERE assignment_id = $1 AND organization_id = $2`
	args := []any{assignment, organization}
	if reference != "" {
		statement += ` AND reference = $3`
		args = append(args, reference)
	}
	var all []HandIn
	err := tx.each(ctx, func(r row) error {
		var h HandIn
		var received int64
		err := r.Scan(&h.Assignment, &h.Organization, &h.Reference, &h.Attempt, (*[]byte)(&h.Score), (*[]byte)(&h.Marking), (*[]byte)(&h.Marked), &received)
		h.Received = moment(received)
		all = append(all, h)
		return err
	}, statement+` ORDER BY reference, attempt`, args...)
	return all, err
}

// ClassEntries lists what was decided on an assignment of an organization, in order.
func ClassEntries(ctx context.Context, tx Tx, organization, assignment string) ([]ClassEntry, error) {
	var all []ClassEntry
	err := tx.each(ctx, func(r row) error {
		var e ClassEntry
		err := r.Scan(&e.Assignment, &e.Organization, &e.Number, &e.Reference, &e.Content)
		all = append(all, e)
		return err
	}, `SELECT assignment_id, organization_id, number, reference, content FROM class_entries WHERE assignment_id = $1 AND organization_id = $2 ORDER BY number`, assignment, organization)
	return all, err
}

// AddClassEntry writes what was decided after the entry with a number was read; if there
// are later ones, the error is [ErrMeanwhile].
func AddClassEntry(ctx context.Context, tx Tx, e ClassEntry, after int64) error {
	a, err := holdAssignment(ctx, tx, e.Organization, e.Assignment)
	if err != nil {
		return err
	}
	if a.LastEntry != after {
		return ErrMeanwhile
	}
	if _, err := tx.exec(ctx, `UPDATE assignments SET last_entry = $1 WHERE id = $2`, after+1, e.Assignment); err != nil {
		return err
	}
	_, err = tx.exec(ctx, `INSERT INTO class_entries (assignment_id, organization_id, number, reference, content) VALUES ($1, $2, $3, $4, $5)`,
		e.Assignment, e.Organization, after+1, e.Reference, e.Content)
	return err
}

// MarkHandIn writes what an attempt has come to after something was decided.
func MarkHandIn(ctx context.Context, tx Tx, h HandIn) error {
	n, err := tx.exec(ctx, `UPDATE hand_ins SET marking = $1, marked = $2 WHERE assignment_id = $3 AND organization_id = $4 AND reference = $5 AND attempt = $6`,
		h.Marking, h.Marked, h.Assignment, h.Organization, h.Reference, h.Attempt)
	if err == nil && n == 0 {
		return ErrNotFound
	}
	return err
}

// ForgetReference deletes what a reference has handed in for an assignment, with the links
// and sessions of its pupil, and puts
// another reference and other contents in the place of the entries about it, which rename
// gives. It returns how many attempts there were.
func ForgetReference(ctx context.Context, tx Tx, organization, assignment, reference, nowhere string, rename func(content string) (string, error)) (int64, error) {
	if _, err := holdAssignment(ctx, tx, organization, assignment); err != nil {
		return 0, err
	}
	entries, err := ClassEntries(ctx, tx, organization, assignment)
	if err != nil {
		return 0, err
	}
	for i := range entries {
		if entries[i].Reference != reference {
			continue
		}
		content, err := rename(entries[i].Content)
		if err != nil {
			return 0, err
		}
		if _, err := tx.exec(ctx, `UPDATE class_entries SET reference = $1, content = $2 WHERE assignment_id = $3 AND number = $4`, nowhere, content, assignment, entries[i].Number); err != nil {
			return 0, err
		}
	}
	if _, err := tx.exec(ctx, `DELETE FROM sessions WHERE organization_id = $1 AND assignment = $2 AND subject = $3`, organization, assignment, reference); err != nil {
		return 0, err
	}
	return tx.exec(ctx, `DELETE FROM hand_ins WHERE assignment_id = $1 AND organization_id = $2 AND reference = $3`, assignment, organization, reference)
}
