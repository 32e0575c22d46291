package stage

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"
	"time"
)

// What a job waits for is none of its time: the clock stands still before and between the
// parts of the work.
func TestClockRunsWhileThereIsWork(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, clock := WithClock(t.Context(), 10*time.Second)
		var rung []time.Duration
		began := time.Now()
		for _, after := range []time.Duration{2 * time.Second, 10 * time.Second} {
			clock.At(after, func() { rung = append(rung, time.Since(began)) })
		}
		time.Sleep(time.Minute)
		for i, worked := range []time.Duration{3 * time.Second, 4 * time.Second} {
			running, stop := Run(ctx)
			time.Sleep(worked)
			synctest.Wait()
			if err := running.Err(); err != nil {
				t.Errorf("part %d: after %s the time is over: %v", i, worked, err)
			}
			stop()
			time.Sleep(time.Minute)
		}
		if left, bounded := Left(ctx); left != 3*time.Second || !bounded {
			t.Errorf("%s are left of ten seconds after seven (%v)", left, bounded)
		}
		running, stop := Run(ctx)
		defer stop()
		<-running.Done()
		if !errors.Is(running.Err(), context.DeadlineExceeded) || !errors.Is(context.Cause(running), ErrDeadline) {
			t.Errorf("at its end: %v because of %v", running.Err(), context.Cause(running))
		}
		synctest.Wait()
		if want := []time.Duration{62 * time.Second, 190 * time.Second}; len(rung) != 2 || rung[0] != want[0] || rung[1] != want[1] {
			t.Errorf("what was to happen after 2 and 10 seconds of work happened after %v, want %v", rung, want)
		}
	})
}

func TestClockThatEndedCallsNothing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, clock := WithClock(t.Context(), time.Second)
		clock.At(time.Second, func() { t.Error("called after the end") })
		_, stop := Run(ctx)
		clock.End()
		time.Sleep(time.Minute)
		stop()
	})
}

func TestTimeLeft(t *testing.T) {
	if _, bounded := Left(t.Context()); bounded {
		t.Error("a context without an end has one")
	}
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), 2*time.Second)
		defer cancel()
		for most, want := range map[time.Duration]time.Duration{time.Second: time.Second, time.Minute: 2 * time.Second} {
			timed, _ := WithClock(ctx, most)
			if left, _ := Left(timed); left != want {
				t.Errorf("%s are left of %s in two seconds, want %s", left, most, want)
			}
		}
		if running, stop := Run(ctx); running != ctx {
			stop()
			t.Error("without a clock there is another context")
		}
	})
}
