package classbook_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
	"time"

	"partwright/worker"
	"partwright/worker/classroom"
	"partwright/worker/classroom/classbook"
	"partwright/worker/classroom/classtest"
	"partwright/worker/request"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

var closes = time.Date(2026, time.November, 20, 16, 0, 0, 0, time.UTC)

// school is a class book of one organization at a moment that tests set.
type school struct {
	*testing.T
	*classbook.Service
	store        *store.Store
	organization string
	id           string
	now          time.Time
}

func open(t *testing.T, c store.Config) *school {
	s := &school{T: t, now: closes.Add(-time.Hour)}
	c.Now = func() time.Time { return s.now }
	s.store = storetest.Open(t, c)
	s.organization = s.another()
	s.Service = classbook.New(s.store, &worker.Engine{})
	unmet, err := classroom.ParsePoints("3")
	if err != nil {
		t.Fatal(err)
	}
	a := &classroom.Assignment{
		Title: "Second quiz", Demands: []classroom.Demand{classroom.Chords, classroom.Inversions, classroom.Cadence}, Unmet: unmet, Closes: closes,
		Opens: closes.Add(-24 * time.Hour),
	}
	if err := s.Create(t.Context(), s.organization, a, classroom.Order{Task: classtest.Row, Gives: request.GivesBass, Models: 3}); err != nil {
		t.Fatal(err)
	}
	s.id = a.ID
	return s
}

func (s *school) another() (id string) {
	err := s.store.Write(s.Context(), func(tx store.Tx) error {
		o, err := s.store.CreateOrganization(s.Context(), tx, "a school", store.Quotas{})
		if err == nil {
			id = o.ID
		}
		return err
	})
	if err != nil {
		s.Fatal(err)
	}
	return id
}

// handsIn hands in some of the class, or all.
func (s *school) handsIn(names ...string) {
	s.Helper()
	a, err := s.Get(s.Context(), s.organization, s.id)
	if err != nil {
		s.Fatal(err)
	}
	scores, err := classtest.HandIns(a)
	if err != nil {
		s.Fatal(err)
	}
	if names == nil {
		names = slices.Sorted(maps.Keys(scores))
	}
	for _, name := range names {
		reference, _ := classroom.FromName(name)
		if _, err := s.HandIn(s.Context(), s.organization, s.id, reference, scores[name]); err != nil {
			s.Fatalf("%s: %v", name, err)
		}
	}
}

// What is kept comes to the same report as what was never kept.
func TestReportOfWhatIsKept(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := open(t, c)
		s.handsIn()
		r, err := s.Report(t.Context(), s.organization, s.id)
		if err != nil {
			t.Fatal(err)
		}
		if r.HandedIn != 30 || r.Marks.Count != 24 || r.Marks.Mean != (5*100+12*97+6*94+91)/24.0 || len(r.Alike) != 4 || len(r.HandIns) != 31 {
			t.Errorf("%d handed in, marks %+v, %d alike, %d outcomes", r.HandedIn, r.Marks, len(r.Alike), len(r.HandIns))
		}
		if all, err := s.List(t.Context(), s.organization); err != nil || len(all) != 1 || all[0].Exercise.Text == "" {
			t.Errorf("%d assignments, %v", len(all), err)
		}
	})
}

// The teacher decides; the pupil sees a mark when it is released, not before and not
// after.
func TestDecidingAndReleasing(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := open(t, c)
		s.handsIn("p04", "p05")
		var told []string
		s.Tell = func(_ context.Context, _ store.Tx, c *classbook.Change) error {
			if c.Organization != s.organization || c.Assignment.ID != s.id {
				t.Errorf("told of %s, %s", c.Organization, c.Assignment.ID)
			}
			for _, m := range c.Marks {
				told = append(told, fmt.Sprint(c.Do, " ", m.Now.Reference, " ", m.Before.Released, " ", m.Before.Mark, " ", m.Now.Released, " ", m.Now.Mark))
			}
			return nil
		}
		decide := func(e classroom.Entry) []classroom.Outcome {
			t.Helper()
			e.By = "key-7"
			out, err := s.Decide(t.Context(), s.organization, s.id, e)
			if err != nil {
				t.Fatalf("%+v: %v", e, err)
			}
			return out
		}
		seen := func() *classroom.Points {
			t.Helper()
			all, err := s.Seen(t.Context(), s.organization, s.id, "p04")
			if err != nil || len(all) != 1 || all[0].Note == "" {
				t.Fatalf("%+v, %v", all, err)
			}
			return all[0].Mark
		}
		out := decide(classroom.Entry{Do: classroom.Waive, Reference: "p04", Number: 3})
		if len(out) != 1 || out[0].Mark.String() != "100" || out[0].Proposed.String() != "97" {
			t.Errorf("after waiving: %+v", out)
		}
		if seen() != nil {
			t.Error("a mark is seen before it is released")
		}
		decide(classroom.Entry{Do: classroom.Release})
		if m := seen(); m == nil || m.String() != "100" {
			t.Errorf("released: %v", m)
		}
		decide(classroom.Entry{Do: classroom.TakeBack, Reference: "p04"})
		if seen() != nil {
			t.Error("a mark is seen after its release was taken back")
		}
		mark, err := classroom.ParsePoints("50")
		if err != nil {
			t.Fatal(err)
		}
		decide(classroom.Entry{Do: classroom.SetMark, Reference: "p04", Mark: &mark})
		log, err := s.Log(t.Context(), s.organization, s.id)
		if err != nil || len(log) != 4 {
			t.Fatalf("%d entries, %v", len(log), err)
		}
		if last := log[3]; last.Proposed.String() != "97" || last.Before.String() != "100" || last.Mark.String() != "50" || last.By != "key-7" || !last.At.Equal(s.now) {
			t.Errorf("on record: %+v", last)
		}
		if want := []string{
			"waive p04 false 97 false 100", "release p04 false 100 true 100", "release p05 false 97 true 97",
			"take-back p04 true 100 false 100", "set-mark p04 false 100 false 50",
		}; !slices.Equal(told, want) {
			t.Errorf("told %q, want %q", told, want)
		}
		// What comes after a release waits for the next.
		s.Tell = nil
		decide(classroom.Entry{Do: classroom.Release})
		s.now = s.now.Add(time.Minute)
		s.handsIn("p04")
		if all, err := s.Seen(t.Context(), s.organization, s.id, "p04"); err != nil || len(all) != 2 || all[0].Mark == nil || all[1].Mark != nil {
			t.Errorf("handed in after the release: %+v, %v", all, err)
		}
		for _, bad := range []classroom.Entry{
			{Do: classroom.Waive, Reference: "p04", Number: 99}, {Do: classroom.Waive, Reference: "p99", Number: 1}, {Do: "praise", Reference: "p04"},
			{Do: classroom.SetMark, Reference: "p04"}, {Do: classroom.SetMark, Mark: &mark},
		} {
			bad.By = "key-7"
			if _, err := s.Decide(t.Context(), s.organization, s.id, bad); !errors.As(err, new(*classbook.InvalidError)) {
				t.Errorf("%+v: %v", bad, err)
			}
		}
	})
}

// Two who decide at once are both heard.
func TestDecidingAtOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := open(t, c)
		s.handsIn("p20")
		failed := make(chan error, 4)
		for n := range 4 {
			go func() {
				_, err := s.Decide(context.WithoutCancel(t.Context()), s.organization, s.id, classroom.Entry{By: "ms", Do: classroom.Add, Reference: "p20", Measure: "1", Text: strings.Repeat("x", n+1)})
				failed <- err
			}()
		}
		for range 4 {
			if err := <-failed; err != nil {
				t.Error(err)
			}
		}
		log, err := s.Log(t.Context(), s.organization, s.id)
		if err != nil || len(log) != 4 {
			t.Errorf("%d entries, %v", len(log), err)
		}
	})
}

// Work that comes too early is refused, late work is taken and said to be late.
func TestOpeningAndClosing(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := open(t, c)
		s.now = closes.Add(-25 * time.Hour)
		if _, err := s.HandIn(t.Context(), s.organization, s.id, "p1", []byte("x")); !errors.Is(err, classbook.ErrClosed) {
			t.Errorf("too early: %v", err)
		}
		s.now = closes.Add(time.Hour)
		s.handsIn("p29")
		r, err := s.Report(t.Context(), s.organization, s.id)
		if err != nil || r.HandIns[0].Late != 1 {
			t.Errorf("%+v, %v", r, err)
		}
		for _, reference := range []string{"", "a\nb", strings.Repeat("x", classbook.MaxReference+1)} {
			if _, err := s.HandIn(t.Context(), s.organization, s.id, reference, []byte("x")); !errors.As(err, new(*classbook.InvalidError)) {
				t.Errorf("reference %q: %v", reference, err)
			}
		}
	})
}

// A pupil who is forgotten is nowhere any more, and what was decided stays on record about
// nobody.
func TestForgetting(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := open(t, c)
		s.handsIn("p04", "p05")
		for _, reference := range []string{"p04", "p05"} {
			if _, err := s.Decide(t.Context(), s.organization, s.id, classroom.Entry{By: "ms", Do: classroom.Add, Reference: reference, Measure: "1", Text: "see me"}); err != nil {
				t.Fatal(err)
			}
		}
		if err := s.Forget(t.Context(), s.organization, s.id, "p04", "ms"); err != nil {
			t.Fatal(err)
		}
		if err := s.Forget(t.Context(), s.organization, s.id, "p04", "ms"); !errors.Is(err, store.ErrNotFound) {
			t.Errorf("forgotten twice: %v", err)
		}
		log, err := s.Log(t.Context(), s.organization, s.id)
		if err != nil {
			t.Fatal(err)
		}
		r, err := s.Report(t.Context(), s.organization, s.id)
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal([]any{log, r})
		if err != nil || strings.Contains(string(text), "p04") || len(log) != 3 || r.HandedIn != 1 {
			t.Errorf("%d entries, %d handed in: %.300s, %v", len(log), r.HandedIn, text, err)
		}
	})
}

// Another organization finds nothing.
func TestOthersFindNothing(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := open(t, c)
		s.handsIn("p04")
		other, ctx := s.another(), t.Context()
		for name, do := range map[string]func() error{
			"get":    func() error { _, err := s.Get(ctx, other, s.id); return err },
			"delete": func() error { return s.Delete(ctx, other, s.id) },
			"hand in": func() error {
				_, err := s.HandIn(ctx, other, s.id, "p04", []byte("x"))
				return err
			},
			"see":    func() error { _, err := s.Seen(ctx, other, s.id, "p04"); return err },
			"report": func() error { _, err := s.Report(ctx, other, s.id); return err },
			"log":    func() error { _, err := s.Log(ctx, other, s.id); return err },
			"decide": func() error {
				_, err := s.Decide(ctx, other, s.id, classroom.Entry{By: "x", Do: classroom.Release})
				return err
			},
			"forget": func() error { return s.Forget(ctx, other, s.id, "p04", "x") },
		} {
			if err := do(); !errors.Is(err, store.ErrNotFound) {
				t.Errorf("%s: %v", name, err)
			}
		}
		if err := s.Delete(ctx, s.organization, s.id); err != nil {
			t.Error(err)
		}
	})
}
