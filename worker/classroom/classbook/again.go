package classbook

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"slices"

	"partwright/worker/classroom"
	"partwright/worker/store"
)

// ErrOtherChanges is returned where marking again would not change what was shown.
var ErrOtherChanges = errors.New("what would change is not what was shown")

// MarkedAgain is what marking again by other rules, or by another rubric, changes.
type MarkedAgain struct {
	// Applied is false where it was only shown, and then Confirm is what has it done.
	Applied bool   `json:"applied"`
	Confirm string `json:"confirm,omitempty"`
	// Changes are the attempts whose mark or findings are others, by reference.
	Changes []classroom.Remarked `json:"changes"`
}

// MarkAgain marks all that was handed in by other rules, or by another rubric, and says what
// that changes. Nothing is kept of it, unless confirm is what was shown before; the error is
// [ErrOtherChanges] if it would change something else by now. What the teacher has decided
// stays, marks that were set among it.
func (s *Service) MarkAgain(ctx context.Context, organization, id, by string, j *classroom.Judging, confirm string) (*MarkedAgain, error) {
	return retried(func() (*MarkedAgain, error) { return s.markAgain(ctx, organization, id, by, j, confirm) })
}

func (s *Service) markAgain(ctx context.Context, organization, id, by string, j *classroom.Judging, confirm string) (*MarkedAgain, error) {
	k, err := s.read(ctx, organization, id, "", true)
	if err != nil {
		return nil, err
	}
	next := *k
	if next.assignment, err = k.assignment.JudgedBy(j); err != nil {
		return nil, err
	}
	rows, err := s.markAll(ctx, organization, k, &next)
	if err != nil {
		return nil, err
	}
	out := &MarkedAgain{Changes: classroom.WouldChange(k.assignment, next.assignment, k.handIns, next.handIns, k.log)}
	if out.Confirm, err = fingerprintOf(j, out.Changes); err != nil {
		return nil, err
	}
	switch confirm {
	case "":
		return out, nil
	case out.Confirm:
	default:
		return nil, ErrOtherChanges
	}
	e := classroom.Entry{At: s.store.Now().UTC(), By: by, Do: classroom.MarkAgain, Text: j.String()}
	if err := e.Check(); err != nil {
		return nil, &InvalidError{err.Error()}
	}
	next.log = append(slices.Clip(k.log), e)
	if err := s.keepMarkedAgain(ctx, organization, k, &next, &e, rows); err != nil {
		return nil, err
	}
	out.Applied, out.Confirm = true, ""
	return out, nil
}

// markAll marks the hand-ins of k by the assignment of next, one after the other: a class
// waits for its teacher, others do not wait for the class.
func (s *Service) markAll(ctx context.Context, organization string, k, next *kept) ([]store.HandIn, error) {
	m, err := classroom.NewMarker(ctx, next.assignment, s.pool)
	if err != nil {
		return nil, err
	}
	next.handIns = make([]classroom.HandIn, len(k.handIns))
	rows := make([]store.HandIn, len(k.handIns))
	for i := range k.handIns {
		h := &next.handIns[i]
		h.Reference, h.Attempt, h.Received = k.handIns[i].Reference, k.handIns[i].Attempt, k.handIns[i].Received
		score, err := k.scores[i].Unpack()
		if err != nil {
			return nil, err
		}
		d := k.log.Decided(h.Reference, h.Attempt)
		if err := m.Decide(ctx, h, score, &d); err != nil {
			return nil, err
		}
		rows[i] = store.HandIn{Assignment: k.assignment.ID, Organization: organization, Reference: h.Reference, Attempt: h.Attempt}
		if rows[i].Marking, rows[i].Marked, err = packHandIn(h); err != nil {
			return nil, err
		}
	}
	return rows, nil
}

// keepMarkedAgain writes the assignment, what was marked and the entry of the log, if
// nothing was handed in, decided or changed meanwhile.
func (s *Service) keepMarkedAgain(ctx context.Context, organization string, k, next *kept, e *classroom.Entry, rows []store.HandIn) error {
	content, err := pack(next.assignment, k.roster)
	if err != nil {
		return err
	}
	text, err := json.Marshal(e)
	if err != nil {
		return err
	}
	id := k.assignment.ID
	return s.store.Write(ctx, func(tx store.Tx) error {
		// This locks the assignment, and whoever hands in waits for it.
		if err := store.AddClassEntry(ctx, tx, store.ClassEntry{Assignment: id, Organization: organization, Content: string(text)}, k.last); err != nil {
			return err
		}
		if n, err := store.CountHandIns(ctx, tx, id); err != nil || n != len(rows) {
			return errors.Join(err, store.ErrMeanwhile)
		}
		if err := store.ChangeAssignment(ctx, tx, store.Assignment{ID: id, Organization: organization, Content: content, Revision: k.revision}); err != nil {
			return err
		}
		for i := range rows {
			if err := store.MarkHandIn(ctx, tx, rows[i]); err != nil {
				return err
			}
		}
		if s.Tell == nil {
			return nil
		}
		return s.Tell(ctx, tx, k.changedBy(organization, e.Do, next))
	})
}

// fingerprintOf stands for what was shown.
func fingerprintOf(j *classroom.Judging, changes []classroom.Remarked) (string, error) {
	text, err := json.Marshal([]any{j, changes})
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:16]), err
}
