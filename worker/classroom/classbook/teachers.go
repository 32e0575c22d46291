package classbook

import (
	"context"
	"fmt"
	"slices"

	"partwright/worker/classroom"
	"partwright/worker/store"
)

// MaxTeachers is to how many an assignment is given at most.
const MaxTeachers = 100

// Taught lists the assignments of an organization that somebody teaches who goes by some
// texts, the oldest first: those that are given to them, or to nobody.
func (s *Service) Taught(ctx context.Context, organization string, as []string) ([]classroom.Assignment, error) {
	all, err := s.List(ctx, organization)
	if err != nil {
		return nil, err
	}
	var ids []string
	err = s.store.Read(ctx, func(tx store.Tx) (err error) {
		if ids, err = store.TaughtByAll(ctx, tx, organization); err != nil {
			return err
		}
		for _, one := range as {
			more, err := store.TaughtBy(ctx, tx, organization, one)
			if err != nil {
				return err
			}
			ids = append(ids, more...)
		}
		return nil
	})
	return slices.DeleteFunc(all, func(a classroom.Assignment) bool { return !slices.Contains(ids, a.ID) }), err
}

// Teaches is [store.ErrNotFound] if there is no such assignment, or none that somebody
// teaches who goes by some texts.
func (s *Service) Teaches(ctx context.Context, organization, id string, as []string) error {
	teachers, err := s.Teachers(ctx, organization, id)
	if err == nil && len(teachers) > 0 && !slices.ContainsFunc(as, func(one string) bool { return slices.Contains(teachers, one) }) {
		err = store.ErrNotFound
	}
	return err
}

// Teachers lists who an assignment is given to; one that is given to nobody is for everybody
// who teaches in the organization.
func (s *Service) Teachers(ctx context.Context, organization, id string) (all []string, err error) {
	err = s.store.Read(ctx, func(tx store.Tx) (err error) {
		if _, err = store.AssignmentByID(ctx, tx, organization, id); err == nil {
			all, err = store.Teachers(ctx, tx, id)
		}
		return err
	})
	return all, err
}

// Give gives an assignment to somebody who teaches. One that was for everybody until then
// stays with whoever gives it, too.
func (s *Service) Give(ctx context.Context, organization, id, teacher string, giver []string) error {
	if !wellFormed(teacher) {
		return &InvalidError{fmt.Sprintf("a teacher is named by a text of 1 to %d bytes without control characters", MaxReference)}
	}
	return s.give(ctx, organization, id, func(all []string) []string {
		if len(all) == 0 {
			return append(slices.Clone(giver), teacher)
		}
		return []string{teacher}
	})
}

// Share gives an assignment to a course in which it is set; one that is for everybody stays
// so.
func (s *Service) Share(ctx context.Context, organization, id, course string) error {
	return s.give(ctx, organization, id, func(all []string) []string {
		if len(all) == 0 {
			return nil
		}
		return []string{course}
	})
}

// give adds to the teachers of an assignment those that to returns.
func (s *Service) give(ctx context.Context, organization, id string, to func(all []string) []string) error {
	return s.store.Write(ctx, func(tx store.Tx) error {
		all, err := heldTeachers(ctx, tx, organization, id)
		if err != nil {
			return err
		}
		for _, teacher := range to(all) {
			if len(all) >= MaxTeachers && !slices.Contains(all, teacher) {
				return &InvalidError{fmt.Sprintf("an assignment is given to %d teachers at most", MaxTeachers)}
			}
			if err := store.AddTeacher(ctx, tx, id, teacher); err != nil {
				return err
			}
		}
		return nil
	})
}

// Take takes an assignment from somebody who teaches it, if it is left to another.
func (s *Service) Take(ctx context.Context, organization, id, teacher string) error {
	return s.store.Write(ctx, func(tx store.Tx) error {
		all, err := heldTeachers(ctx, tx, organization, id)
		if err != nil {
			return err
		}
		if len(all) == 1 && all[0] == teacher {
			return ErrLastTeacher
		}
		return store.RemoveTeacher(ctx, tx, id, teacher)
	})
}

// heldTeachers lists who an assignment is given to, and keeps others from changing it until
// the transaction ends.
func heldTeachers(ctx context.Context, tx store.Tx, organization, id string) ([]string, error) {
	if err := store.HoldAssignment(ctx, tx, organization, id); err != nil {
		return nil, err
	}
	return store.Teachers(ctx, tx, id)
}
