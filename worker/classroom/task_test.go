package classroom_test

import (
	"testing"
	"time"

	"partwright/worker/classroom"
)

// What is said of work before it is handed in is what becomes of it then.
func TestWhatIsTaken(t *testing.T) {
	opens := time.Date(2026, time.November, 20, 8, 0, 0, 0, time.UTC)
	closes := opens.Add(8 * time.Hour)
	const costs = "costs"
	for _, c := range []struct {
		why    string
		change func(*classroom.Assignment)
		log    classroom.Log
		used   int
		now    time.Time
		want   classroom.Taking
	}{
		{why: "before it opens", now: opens.Add(-time.Second), want: classroom.NotYet},
		{why: "when it opens", now: opens, want: classroom.InTime},
		{why: "when it closes", now: closes, want: classroom.InTime},
		{why: "after", now: closes.Add(time.Second), want: classroom.IsLate},
		{why: "after, where late work is refused", change: func(a *classroom.Assignment) { a.Late.Policy = classroom.LateRefused }, now: closes.Add(time.Second), want: classroom.TooLate},
		{why: "within the days of late work", change: func(a *classroom.Assignment) { a.Late = classroom.Late{Policy: costs, Points: 2, Days: 2} }, now: closes.Add(48 * time.Hour), want: classroom.IsLate},
		{why: "after the days of late work", change: func(a *classroom.Assignment) { a.Late = classroom.Late{Policy: costs, Points: 2, Days: 2} }, now: closes.Add(49 * time.Hour), want: classroom.TooLate},
		{why: "with more time", log: classroom.Log{{Do: classroom.Extend, Reference: "p1", Until: closes.Add(time.Hour)}}, now: closes.Add(time.Minute), want: classroom.InTime},
		{why: "with more time for another", log: classroom.Log{{Do: classroom.Extend, Reference: "p2", Until: closes.Add(time.Hour)}}, now: closes.Add(time.Minute), want: classroom.IsLate},
		{why: "the last attempt", change: func(a *classroom.Assignment) { a.Attempts = 2 }, used: 1, now: opens, want: classroom.InTime},
		{why: "one attempt more", change: func(a *classroom.Assignment) { a.Attempts = 2 }, used: 2, now: opens, want: classroom.NoMoreLeft},
		{why: "without bounds", change: func(a *classroom.Assignment) { a.Opens, a.Closes = time.Time{}, time.Time{} }, used: 9, now: closes.Add(1000 * time.Hour), want: classroom.InTime},
	} {
		a := &classroom.Assignment{Title: "Quiz", Opens: opens, Closes: closes}
		if err := a.Check(); err != nil {
			t.Fatal(err)
		}
		if c.change != nil {
			c.change(a)
		}
		got := a.TaskOf("p1", c.used, c.log, c.now)
		if got.Takes != c.want {
			t.Errorf("%s: %s, want %s", c.why, got.Takes, c.want)
		}
		if c.want == classroom.NotYet {
			continue // it is not kept, so it comes to nothing
		}
		o := a.Outcome(&classroom.HandIn{Reference: "p1", Attempt: c.used + 1, Received: c.now, Marking: &classroom.Marking{}}, c.log)
		if (o.Refused == "") != (c.want == classroom.InTime || c.want == classroom.IsLate) || (o.Late > 0) != (c.want == classroom.IsLate || c.want == classroom.TooLate) {
			t.Errorf("%s: said %s, handed in it is refused %q and %d days late", c.why, got.Takes, o.Refused, o.Late)
		}
	}
}
