package classbook_test

import (
	"context"
	"errors"
	"testing"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/classroom"
	"partwright/worker/classroom/classbook"
	"partwright/worker/classroom/classtest"
	"partwright/worker/request"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// meanwhile does something once, in the middle of a hand-in's marking.
type meanwhile struct {
	worker.Engine
	do func()
}

func (m *meanwhile) Do(ctx context.Context, in worker.Input, plan request.Plan) (*answer.Answer, error) {
	if do := m.do; do != nil && in.Name == "hand-in" {
		m.do = nil
		do()
	}
	return m.Engine.Do(ctx, in, plan)
}

// Work that is being marked while its class is marked again by another rubric is kept as the
// new one marks it, and so is work that comes while all is marked again.
func TestHandingInWhileMarkedAgain(t *testing.T) {
	milder := &classroom.Judging{OwnRubric: request.Source{Name: "milder", Text: "name: milder\npoints: 100\nfaults: 1\n"}}
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := open(t, c)
		m := &meanwhile{}
		s.Service = classbook.New(s.store, m)
		s.handsIn("p05")
		marksAgain := func() {
			shown, err := s.MarkAgain(t.Context(), s.organization, s.id, "ms", milder, "")
			if err == nil {
				shown, err = s.MarkAgain(t.Context(), s.organization, s.id, "ms", milder, shown.Confirm)
			}
			if err != nil || !shown.Applied {
				t.Errorf("%+v, %v", shown, err)
			}
		}
		proposed := func() map[string]string {
			all, err := s.Marks(t.Context(), s.organization, s.id)
			if err != nil {
				t.Fatal(err)
			}
			out := map[string]string{}
			for _, o := range all {
				out[o.Reference] = o.Proposed.String()
			}
			return out
		}
		m.do = marksAgain
		s.handsIn("p04")
		if got := proposed(); got["p04"] != "99" || got["p05"] != "99" {
			t.Errorf("marked again while one hands in: %v", got)
		}

		// The other way round, what was shown is no longer what would change.
		strict := &classroom.Judging{OwnRubric: request.Source{Name: "stricter", Text: "name: stricter\npoints: 100\nfaults: 10\n"}}
		shown, err := s.MarkAgain(t.Context(), s.organization, s.id, "ms", strict, "")
		if err != nil {
			t.Fatal(err)
		}
		m.do = func() { s.handsIn("p06") }
		if _, err := s.MarkAgain(t.Context(), s.organization, s.id, "ms", strict, shown.Confirm); !errors.Is(err, classbook.ErrOtherChanges) {
			t.Errorf("one hands in while all is marked again: %v", err)
		}
		if got := proposed(); len(got) != 3 || got["p04"] != "99" || got["p06"] != "99" {
			t.Errorf("nothing is to be changed: %v", got)
		}
	})
}

// Members of groups and of the roster are forgotten too.
func TestForgettingWhoIsListed(t *testing.T) {
	s := open(t, store.Config{Dir: t.TempDir()})
	a := &classroom.Assignment{Title: "In pairs", Groups: map[string][]string{"g1": {"p01", "p02"}}}
	if err := s.Create(t.Context(), s.organization, a, classroom.Order{Task: classtest.Row, Gives: request.GivesBass}); err != nil {
		t.Fatal(err)
	}
	if err := s.SetRoster(t.Context(), s.organization, a.ID, []string{"p01", "p02", "p03"}); err != nil {
		t.Fatal(err)
	}
	for _, reference := range []string{"p01", "p03"} {
		if err := s.Forget(t.Context(), s.organization, a.ID, reference, "ms"); err != nil {
			t.Errorf("%s: %v", reference, err)
		}
	}
	kept, roster, err := s.Roster(t.Context(), s.organization, a.ID)
	if err != nil || len(roster) != 1 || roster[0] != "p02" || len(kept.Groups["g1"]) != 1 || kept.Groups["g1"][0] != "p02" {
		t.Errorf("%v, %v, %v", roster, kept.Groups, err)
	}
	if log, err := s.Log(t.Context(), s.organization, a.ID); err != nil || len(log) != 2 {
		t.Errorf("%d entries, %v", len(log), err)
	}
}
