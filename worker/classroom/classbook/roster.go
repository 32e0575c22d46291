package classbook

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"partwright/worker/classroom"
	"partwright/worker/store"
)

// Bounds on what is kept beside an assignment: references of a roster, remarks of a stock.
const (
	MaxRoster = 2000
	MaxStock  = 200
)

// Roster is who should hand in, nil where nobody has said.
func (s *Service) Roster(ctx context.Context, organization, id string) (*classroom.Assignment, []string, error) {
	k, err := s.read(ctx, organization, id, noReference, false)
	if err != nil {
		return nil, nil, err
	}
	return k.assignment, k.roster, nil
}

// SetRoster says who should hand in. What looks like a name or an address is refused, and
// nothing of the roster is kept then.
func (s *Service) SetRoster(ctx context.Context, organization, id string, references []string) error {
	if len(references) > MaxRoster {
		return &InvalidError{fmt.Sprintf("the roster has %d references; at most %d are kept", len(references), MaxRoster)}
	}
	for i, reference := range references {
		// Which one is said by its place: the text itself may be a name.
		switch {
		case strings.ContainsAny(reference, " \t@"):
			return &InvalidError{fmt.Sprintf("reference %d of the roster has a blank or an @, as names and addresses have; names are not kept here: send a number or a code in its place", i+1)}
		case !wellFormed(reference):
			return &InvalidError{fmt.Sprintf("reference %d of the roster: %s", i+1, aReference)}
		}
	}
	return s.change(ctx, organization, id, func(c *content) error { c.Roster = references; return nil })
}

// SetStock says which remarks of the teacher's own an assignment has ready, by a short name.
func (s *Service) SetStock(ctx context.Context, organization, id string, remarks map[string]string) error {
	if len(remarks) > MaxStock {
		return &InvalidError{fmt.Sprintf("the stock has %d remarks; at most %d are kept", len(remarks), MaxStock)}
	}
	return s.change(ctx, organization, id, func(c *content) error { c.Stock = remarks; return nil })
}

// change changes what is kept of an assignment.
func (s *Service) change(ctx context.Context, organization, id string, f func(*content) error) error {
	_, err := retried(func() (struct{}, error) {
		return struct{}{}, s.store.Write(ctx, func(tx store.Tx) error { return s.changeIn(ctx, tx, organization, id, f) })
	})
	return err
}

func (s *Service) changeIn(ctx context.Context, tx store.Tx, organization, id string, f func(*content) error) error {
	a, err := store.AssignmentByID(ctx, tx, organization, id)
	if err != nil {
		return err
	}
	c, err := unpack(a)
	if err != nil {
		return err
	}
	if err := f(c); err != nil {
		return err
	}
	if a.Content, err = pack(c.Assignment, c.Roster); err != nil {
		return err
	}
	return store.ChangeAssignment(ctx, tx, *a)
}

// errNothing ends a change that changes nothing.
var errNothing = errors.New("nothing is changed")

// strike takes a reference off the roster and out of the groups, and tells whether it stood
// there.
func (s *Service) strike(ctx context.Context, tx store.Tx, organization, id, reference string) (listed bool, err error) {
	err = s.changeIn(ctx, tx, organization, id, func(c *content) error {
		is := func(other string) bool { return other == reference }
		listed = slices.ContainsFunc(c.Roster, is) || c.Groups[reference] != nil
		c.Roster = slices.DeleteFunc(c.Roster, is)
		delete(c.Groups, reference)
		for group, members := range c.Groups {
			if slices.ContainsFunc(members, is) {
				listed = true
				c.Groups[group] = slices.DeleteFunc(members, is)
			}
		}
		if !listed {
			return errNothing
		}
		return nil
	})
	if errors.Is(err, errNothing) {
		err = nil
	}
	return listed, err
}

// Term is how a class has done over several assignments.
func (s *Service) Term(ctx context.Context, organization string, ids []string) (*classroom.Series, error) {
	var reports []*classroom.Report
	for _, id := range ids {
		r, err := s.Report(ctx, organization, id)
		if err != nil {
			return nil, err
		}
		reports = append(reports, r)
	}
	return classroom.Over(reports), nil
}
