package pool

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"partwright/worker"
	"partwright/worker/request"
	"partwright/worker/stage"
)

func newTestPool(t testing.TB, config Config) *Pool {
	t.Helper()
	p, err := New(config, &worker.Engine{}, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// submit runs work through the whole of the pool in a goroutine of its own.
func submit(ctx context.Context, p *Pool, work func(context.Context) error) <-chan error {
	answer := make(chan error, 1)
	go func() { answer <- p.run(ctx, request.JobCheck, 1, work) }()
	return answer
}

// held is work that runs until it is released and ignores its context.
func held(release <-chan struct{}) func(context.Context) error {
	return func(context.Context) error {
		<-release
		return nil
	}
}

func nothing(context.Context) error { return nil }

func TestPoolServesInOrder(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newTestPool(t, Config{Size: 1, Queue: 10})
		release := make(chan struct{})
		first := submit(t.Context(), p, held(release))
		synctest.Wait()

		var order []int
		var answers []<-chan error
		for i := range 5 {
			answers = append(answers, submit(t.Context(), p, func(context.Context) error {
				order = append(order, i) // one slot: no two at once
				return nil
			}))
			synctest.Wait()
		}
		close(release)
		for _, answer := range append(answers, first) {
			if err := <-answer; err != nil {
				t.Error(err)
			}
		}
		if want := []int{0, 1, 2, 3, 4}; !slices.Equal(order, want) {
			t.Errorf("scores ran in the order %v, want %v: the first in line goes first", order, want)
		}
	})
}

func TestPoolNeverRunsMoreThanItsSize(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newTestPool(t, Config{Size: 3, Queue: 100})
		var mu sync.Mutex
		running, most := 0, 0
		var answers []<-chan error
		for range 40 {
			answers = append(answers, submit(t.Context(), p, func(context.Context) error {
				mu.Lock()
				running++
				most = max(most, running)
				mu.Unlock()
				time.Sleep(time.Second) // the bubble's clock: takes no time
				mu.Lock()
				running--
				mu.Unlock()
				return nil
			}))
		}
		for _, answer := range answers {
			if err := <-answer; err != nil {
				t.Error(err)
			}
		}
		if most != 3 {
			t.Errorf("%d scores ran at once, want the pool's size, 3", most)
		}
		if s := p.Stats(); s.Running != 0 || s.Waiting != 0 {
			t.Errorf("an idle pool says that %d run and %d wait", s.Running, s.Waiting)
		}
	})
}

func TestPoolTurnsAwayWhenFull(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newTestPool(t, Config{Size: 2, Queue: 4})
		p.plain.mean = 3 * time.Second
		release := make(chan struct{})
		var answers []<-chan error
		for range 6 {
			answers = append(answers, submit(t.Context(), p, held(release)))
		}
		synctest.Wait()

		err := p.run(t.Context(), request.JobCheck, 1, nothing)
		var busy *BusyError
		if !errors.As(err, &busy) || !errors.Is(err, ErrBusy) {
			t.Fatalf("a full pool answered %v, want ErrBusy", err)
		}
		if !errors.Is(p.Admit(request.JobCheck), ErrBusy) {
			t.Error("a full pool admits another score")
		}
		if want := 9 * time.Second; busy.RetryAfter != want {
			t.Errorf("retry after %s, want %s: six scores of 3 s on two slots", busy.RetryAfter, want)
		}
		close(release)
		for _, answer := range answers {
			if err := <-answer; err != nil {
				t.Error(err)
			}
		}
		if err := p.run(t.Context(), request.JobCheck, 1, nothing); err != nil {
			t.Errorf("the pool stays closed after it was full: %v", err)
		}
	})
}

func TestRetryAfterIsAtLeastASecond(t *testing.T) {
	p := newTestPool(t, Config{Size: 1})
	p.plain.mean = time.Millisecond
	if got := p.retryAfter(plain); got != time.Second {
		t.Errorf("retry after %s; Retry-After counts whole seconds and 0 invites a storm", got)
	}
	p.plain.mean, p.plain.running = time.Hour, 1
	if got := p.retryAfter(plain); got != 2*time.Minute {
		t.Errorf("retry after %s, want it capped at two minutes", got)
	}
}

func TestPoolSurvivesAPanic(t *testing.T) {
	var log bytes.Buffer
	p, err := New(Config{Size: 1}, &worker.Engine{}, nil, slog.New(slog.NewTextHandler(&log, nil)))
	if err != nil {
		t.Fatal(err)
	}
	err = p.run(t.Context(), request.JobCheck, 1, func(context.Context) error {
		return stage.Guard(stage.Voices, func() error { panic("lyrics of a pupil") })
	})
	var panicked *stage.PanicError
	if !errors.As(err, &panicked) || !errors.Is(err, stage.ErrPanicked) {
		t.Fatalf("a panic came back as %v, want ErrPanicked", err)
	}
	if panicked.Stage != stage.Voices {
		t.Errorf("stage %q, want %q", panicked.Stage, stage.Voices)
	}
	if text := err.Error(); strings.Contains(text, "lyrics") || strings.Contains(text, ".go:") {
		t.Errorf("the error shows what only the log may know: %s", text)
	}
	if text := log.String(); !strings.Contains(text, "pool_test.go") || strings.Contains(text, "lyrics") {
		t.Errorf("the log should hold the stack and nothing of the score: %s", text)
	}
	if err := p.run(t.Context(), request.JobCheck, 1, nothing); err != nil {
		t.Errorf("the pool is dead after a panic: %v", err)
	}
}

func TestPoolAnswersAtTheDeadline(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newTestPool(t, Config{Size: 1, Queue: 1, Deadline: 10 * time.Second})
		release := make(chan struct{})
		start := time.Now()
		err := p.run(t.Context(), request.JobCheck, 1, held(release))
		if !errors.Is(err, stage.ErrDeadline) {
			t.Errorf("got %v, want ErrDeadline", err)
		}
		if took := time.Since(start); took != 10*time.Second {
			t.Errorf("answered after %s, want the deadline", took)
		}
		synctest.Wait()
		if s := p.Stats(); s.Running != 1 || s.Overrunning != 1 || !p.Stuck() {
			t.Errorf("the slot of work that cannot be stopped was given away: %+v", s)
		}
		next := submit(t.Context(), p, nothing)
		synctest.Wait()
		if s := p.Stats(); s.Waiting != 1 {
			t.Errorf("the next score should wait for the slot: %+v", s)
		}
		close(release)
		if err := <-next; err != nil {
			t.Error(err)
		}
		synctest.Wait()
		if s := p.Stats(); s.Running != 0 || s.Overrunning != 0 || p.Stuck() {
			t.Errorf("the slot did not come back: %+v", s)
		}
	})
}

func TestPoolForgetsWhoWentAway(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newTestPool(t, Config{Size: 1, Queue: 1})
		release := make(chan struct{})
		first := submit(t.Context(), p, held(release))
		synctest.Wait()
		ctx, cancel := context.WithCancel(t.Context())
		gone := submit(ctx, p, func(context.Context) error {
			t.Error("the score of a client that went away was run")
			return nil
		})
		synctest.Wait()
		cancel()
		if err := <-gone; !errors.Is(err, context.Canceled) {
			t.Errorf("got %v, want context.Canceled", err)
		}
		if s := p.Stats(); s.Waiting != 0 {
			t.Errorf("its place in the queue is still taken: %+v", s)
		}
		close(release)
		if err := <-first; err != nil {
			t.Error(err)
		}
	})
}

func TestPoolTurnsAwayWhoWaitedTooLong(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newTestPool(t, Config{Size: 1, Queue: 1, Wait: 5 * time.Second, Deadline: time.Hour})
		release := make(chan struct{})
		first := submit(t.Context(), p, held(release))
		synctest.Wait()
		start := time.Now()
		err := p.run(t.Context(), request.JobCheck, 1, nothing)
		if !errors.Is(err, ErrBusy) || time.Since(start) != 5*time.Second {
			t.Errorf("got %v after %s, want ErrBusy after 5s", err, time.Since(start))
		}
		if s := p.Stats(); s.Waiting != 0 {
			t.Errorf("its place in the queue is still taken: %+v", s)
		}
		close(release)
		if err := <-first; err != nil {
			t.Error(err)
		}
	})
}

func TestPoolAge(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newTestPool(t, Config{Size: 1, Queue: 9})
		release := make(chan struct{})
		answers := []<-chan error{submit(t.Context(), p, held(release))}
		for range 3 {
			synctest.Wait()
			answers = append(answers, submit(t.Context(), p, held(release)))
			synctest.Wait()
			time.Sleep(2 * time.Second)
		}
		if s := p.Stats(); s.Oldest != 6*time.Second || s.Waiting != 3 {
			t.Errorf("oldest %s of %d, want 6s of 3", s.Oldest, s.Waiting)
		}
		close(release)
		for _, answer := range answers {
			<-answer
		}
	})
}

func TestDrainFinishesWhatWasAccepted(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newTestPool(t, Config{Size: 1, Queue: 1})
		release := make(chan struct{})
		running := submit(t.Context(), p, held(release))
		synctest.Wait()
		waiting := submit(t.Context(), p, nothing)
		synctest.Wait()

		short, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		if err := p.Drain(short); !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("Drain returned %v while a score ran", err)
		}
		if err := p.run(t.Context(), request.JobCheck, 1, nothing); !errors.Is(err, ErrDraining) {
			t.Errorf("a draining pool answered %v, want ErrDraining", err)
		}
		drained := make(chan error, 1)
		go func() { drained <- p.Drain(t.Context()) }()
		synctest.Wait()
		close(release)
		for name, answer := range map[string]<-chan error{"running": running, "waiting": waiting, "drain": drained} {
			if err := <-answer; err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
		if err := p.Drain(t.Context()); err != nil {
			t.Errorf("draining twice: %v", err)
		}
	})
}

func TestPoolConfigRefusesNonsense(t *testing.T) {
	for _, c := range []Config{{Size: -1}, {Queue: -1}, {Wait: -1}, {Deadline: -1}} {
		if _, err := New(c, &worker.Engine{}, nil, nil); err == nil {
			t.Errorf("%+v was accepted", c)
		}
	}
}

func BenchmarkPool(b *testing.B) {
	for _, size := range []int{1, 2} {
		b.Run(fmt.Sprintf("size=%d", size), func(b *testing.B) {
			p := newTestPool(b, Config{Size: size, Queue: 1 << 20})
			b.ReportAllocs()
			b.RunParallel(func(pb *testing.PB) {
				for pb.Next() {
					if err := p.run(b.Context(), request.JobCheck, 1, nothing); err != nil {
						b.Error(err)
					}
				}
			})
		})
	}
}

// Work that ends at once ends well: the pool must not take the end of its own
// context for that of the caller's.
func TestPoolNeverMistakesDoneForCanceled(t *testing.T) {
	p := newTestPool(t, Config{Size: 2})
	for i := range 5000 {
		if err := p.run(t.Context(), request.JobCheck, 1, nothing); err != nil {
			t.Fatalf("job %d of 5000: %v", i, err)
		}
	}
}

// A flood of heavy scores keeps to its share: others run beside them as if there were
// none, and only heavy ones are turned away.
func TestHeavyScoresKeepToTheirShare(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newTestPool(t, Config{Size: 4, Queue: 8, HeavySize: 1, HeavyQueue: 2})
		release := make(chan struct{})
		another := func() <-chan error {
			answer := make(chan error, 1)
			go func() { answer <- p.runAs(t.Context(), heavy, 0, request.JobMend, 1, held(release)) }()
			return answer
		}
		var answers []<-chan error
		for range 3 {
			answers = append(answers, another())
			synctest.Wait()
		}
		var busy *BusyError
		if err := <-another(); !errors.As(err, &busy) || busy.RetryAfter < time.Second {
			t.Errorf("a heavy score beyond the share was answered with %v, want to be told when to come back", err)
		}
		if s := p.Stats(); s.Running != 1 || s.Heavy != 1 || s.Waiting != 2 {
			t.Errorf("%d run, %d of them heavy, and %d wait; want 1, 1 and 2", s.Running, s.Heavy, s.Waiting)
		}
		for range 20 {
			if err := p.run(t.Context(), request.JobCheck, 1, nothing); err != nil {
				t.Errorf("a plain check beside heavy ones: %v", err)
			}
		}
		close(release)
		for _, a := range answers {
			if err := <-a; err != nil {
				t.Error(err)
			}
		}
	})
}

// A heavy score that waits longest goes first once its kind may run: plain ones without
// end do not keep it waiting for ever.
func TestHeavyScoreHasItsTurn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newTestPool(t, Config{Size: 1, Queue: 8})
		release := make(chan struct{})
		first := submit(t.Context(), p, held(release))
		synctest.Wait()
		var order []string
		answer := make(chan error, 1)
		go func() {
			answer <- p.runAs(t.Context(), heavy, 0, request.JobMend, 1, func(context.Context) error { order = append(order, "heavy"); return nil })
		}()
		synctest.Wait()
		time.Sleep(time.Second)
		later := submit(t.Context(), p, func(context.Context) error { order = append(order, "plain"); return nil })
		synctest.Wait()
		close(release)
		for _, a := range []<-chan error{first, answer, later} {
			if err := <-a; err != nil {
				t.Error(err)
			}
		}
		if want := []string{"heavy", "plain"}; !slices.Equal(order, want) {
			t.Errorf("the order was %v, want %v", order, want)
		}
	})
}

// Scores that take far longer than was thought hold the slots and keep no short one
// waiting: they turn heavy, and short ones run beside them. However many they are, no
// more run at once than the pool's size and what is spare.
func TestLongScoresKeepNoShortOneWaiting(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		for _, wrong := range []class{plain, short} {
			p := newTestPool(t, Config{Size: 2, Queue: 20, Heavy: 500 * time.Millisecond})
			release := make(chan struct{})
			var answers []<-chan error
			for range 8 {
				answer := make(chan error, 1)
				go func() { answer <- p.runAs(t.Context(), wrong, 0, request.JobVoice, 1, held(release)) }()
				answers = append(answers, answer)
			}
			synctest.Wait()
			began := time.Now()
			if wrong == short {
				time.Sleep(1200 * time.Millisecond) // two turn heavy after half a second, then one beside them does
				if s := p.Stats(); s.Running != 3 || s.Heavy != 3 || s.Waiting != 5 {
					t.Errorf("%d run, %d of them heavy, and %d wait; want 3, 3 and 5", s.Running, s.Heavy, s.Waiting)
				}
				close(release)
			}
			if err := p.runAs(t.Context(), short, 0, request.JobCheck, 1, nothing); err != nil {
				t.Error(err)
			}
			if took := time.Since(began); wrong == plain && took > 0 {
				t.Errorf("a short score waited %s for long ones", took)
			}
			if wrong == plain {
				time.Sleep(time.Second)
				if s := p.Stats(); s.Running != 2 || s.Heavy != 2 || s.Waiting != 6 {
					t.Errorf("%d run, %d of them heavy, and %d wait; want 2, 2 and 6", s.Running, s.Heavy, s.Waiting)
				}
				close(release)
			}
			for _, a := range answers {
				if err := <-a; err != nil {
					t.Error(err)
				}
			}
			if s := p.Stats(); s.Running != 0 || s.Heavy != 0 || s.Waiting != 0 || p.shorts != 0 {
				t.Errorf("an idle pool says that %d run, %d of them heavy, and %d wait", s.Running, s.Heavy, s.Waiting)
			}
		}
	})
}

// What runs for longer than was thought is told to give way, what is short is not.
func TestLongScoreGivesWay(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newTestPool(t, Config{Size: 2, Heavy: 500 * time.Millisecond})
		err := p.runAs(t.Context(), short, 0, request.JobCheck, 1, func(ctx context.Context) error {
			if stage.IsPatient(ctx) {
				t.Error("a score gives way from the beginning")
			}
			told := false
			stop := stage.OnPatient(ctx, func() { told = true })
			time.Sleep(400 * time.Millisecond)
			if told || stage.IsPatient(ctx) {
				t.Error("a score gives way too soon")
			}
			time.Sleep(200 * time.Millisecond)
			stop()
			if !told || !stage.IsPatient(ctx) {
				t.Error("a score that runs for long does not give way")
			}
			return nil
		})
		if err != nil {
			t.Error(err)
		}
		if err := p.runAs(t.Context(), heavy, 0, request.JobMend, 1, func(ctx context.Context) error {
			if !stage.IsPatient(ctx) {
				t.Error("a heavy score does not give way")
			}
			return nil
		}); err != nil {
			t.Error(err)
		}
	})
}
