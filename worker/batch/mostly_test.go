package batch

import (
	"testing"
	"time"

	"partwright/worker/store"
)

func TestMostly(t *testing.T) {
	made := time.Date(2026, time.January, 1, 12, 0, 0, 0, time.UTC)
	at := func(seconds int) time.Time {
		if seconds < 0 {
			return time.Time{}
		}
		return made.Add(time.Duration(seconds) * time.Second)
	}
	for _, c := range []struct {
		closed, started, finished, worked, slowest int
		want, why                                  string
	}{
		{1, 2, 60, 110, 1, "its scores", "two workers had enough to do"},
		{1, 2, 60, 58, 40, "one score", "the others were long done"},
		{1, 2, 60, 10, 1, "other work", "between its scores something else was done"},
		{1, 50, 60, 20, 2, "waiting", "work on it began late"},
		{50, 1, 60, 20, 2, "taking in", "it was worked on while it came"},
		{50, -1, 50, 0, 0, "taking in", "nothing in it could be read"},
	} {
		b := &store.Batch{
			Created: made, Closed: at(c.closed), Started: at(c.started), Finished: at(c.finished),
			Worked: time.Duration(c.worked) * time.Second, Slowest: time.Duration(c.slowest) * time.Second,
		}
		if got := mostly(b); got != c.want {
			t.Errorf("%+v: %s, want %s: %s", c, got, c.want, c.why)
		}
	}
}
