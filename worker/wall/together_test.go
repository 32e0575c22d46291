package wall

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"partwright/theory"
	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/request"
	"partwright/worker/stage"
)

// long is a job that goes on for many seconds.
func long(t *testing.T) (worker.Input, request.Plan) {
	t.Helper()
	return worker.Input{Name: "long.xml", Data: heavy(24, 60)}, plan(t, &request.Mend{}, said("all", "true", "severity", "remark", "alternatives", "5"))
}

// handed is what comes of a job that was handed over.
type handed struct {
	answer *answer.Answer
	err    error
}

// behind hands a job over, then waits until it has been sent, so that the next comes
// behind it.
func behind(t *testing.T, ctx context.Context, w *Wall, do func(context.Context, worker.Input, request.Plan) (*answer.Answer, error), in worker.Input, p request.Plan) <-chan handed { //nolint:revive // the context is one of several
	t.Helper()
	sent := w.sent()
	out := make(chan handed, 1)
	go func() {
		a, err := do(ctx, in, p)
		out <- handed{a, err}
	}()
	for until := time.Now().Add(time.Minute); w.sent() == sent; time.Sleep(time.Millisecond) {
		if time.Now().After(until) {
			t.Fatal("the job is not sent")
		}
	}
	return out
}

// sent counts the jobs that children were sent.
func (w *Wall) sent() (count int) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for p := range w.all {
		p.handing.Lock()
		count += p.jobs
		p.handing.Unlock()
	}
	return count
}

// What is handed over together is answered as one by one: each gets its own answer or its
// own error.
func TestTogetherEachHasItsAnswer(t *testing.T) {
	w := newWall(t, Config{})
	engine := &worker.Engine{Version: "test"}
	class := scores(t)
	class["no score.xml"] = []byte("<html/>")
	class["empty.xml"] = []byte{}
	p := plan(t, &request.Check{}, said("marks", "true"))
	do, end := w.Together()
	var all sync.WaitGroup
	for range 3 {
		for name, data := range class {
			all.Go(func() {
				in := worker.Input{Name: name, Data: data}
				want, wantErr := engine.Do(t.Context(), in, p)
				got, err := do(t.Context(), in, p)
				if fmt.Sprintf("%T %v", err, err) != fmt.Sprintf("%T %v", wantErr, wantErr) {
					t.Errorf("%s: the error is %T %v, here %T %v", name, err, err, wantErr, wantErr)
				}
				if err != nil || wantErr != nil {
					return
				}
				a, _ := want.Bundle()
				if b, err := got.Bundle(); err != nil || !bytes.Equal(a, b) {
					t.Errorf("%s: the answer of %d bytes is another than that of %d here: %v", name, len(b), len(a), err)
				}
			})
		}
	}
	all.Wait()
	end()
	if begun, ended := w.Counts(); begun != 1 || ended != 0 || w.waits() != 1 {
		t.Errorf("%d children were begun, %d ended, %d wait; want one that waits", begun, ended, w.waits())
	}
}

// A child that is killed costs none of those that wait in it a try, and fails none.
func TestKilledChildFailsNoneBehind(t *testing.T) {
	w := newWall(t, Config{})
	check := plan(t, &request.Check{}, nil)
	do, end := w.Together()
	defer end()
	in, mend := long(t)
	first := behind(t, t.Context(), w, do, in, mend)
	var later []<-chan handed
	for i := range 7 {
		later = append(later, behind(t, t.Context(), w, do, worker.Input{Name: fmt.Sprint(i), Data: []byte(warmUpScore)}, check))
	}
	for len(first) == 0 {
		if w.sent() > 0 {
			time.Sleep(200 * time.Millisecond) // by then the child is at the long one
			w.killOne()
		}
		time.Sleep(20 * time.Millisecond)
	}
	for i, l := range later {
		if got := <-l; got.err != nil {
			t.Errorf("score %d behind one whose child was killed: %v", i, got.err)
		}
	}
	if got := <-first; !errors.Is(got.err, stage.ErrLost) {
		t.Errorf("the score whose child was killed each time: %v", got.err)
	}
}

// bounds skips a test where a child is not held to its memory.
func bounds(t *testing.T) {
	t.Helper()
	if limitMemory(0) != nil || !bounded {
		t.Skip("this system does not bound the memory of a process")
	}
	if raceDetector {
		t.Skip("the race detector takes several times the memory that a child is allowed")
	}
}

// Of scores that are handed over together the one that needs too much memory has a
// problem, the others are answered.
func TestMemoryOfOneTogether(t *testing.T) {
	bounds(t)
	w := newWall(t, Config{Room: 64 << 20})
	check := plan(t, &request.Check{}, nil)
	do, end := w.Together()
	defer end()
	var all sync.WaitGroup
	for i := range 8 {
		all.Go(func() {
			in := worker.Input{Name: "x.xml", Data: []byte(warmUpScore)}
			if i == 3 {
				in.Data = make([]byte, 200<<20)
			}
			_, err := do(t.Context(), in, check)
			var memory *theory.MemoryError
			if i == 3 && !errors.As(err, &memory) || i != 3 && err != nil {
				t.Errorf("score %d of eight, of which the fourth needs too much memory: %v", i, err)
			}
		})
	}
	all.Wait()
}

// A job that comes to a child just as the one before has ended it is not taken for the one
// that needed too much memory.
func TestEndOfTheOneBeforeIsNotMine(t *testing.T) {
	bounds(t)
	w := newWall(t, Config{Room: 64 << 20})
	check := plan(t, &request.Check{}, nil)
	p, err := w.take(nil, false)
	if err != nil {
		t.Fatal(err)
	}
	defer w.put(p)
	var memory *theory.MemoryError
	if _, err := p.do(t.Context(), &worker.Input{Name: "large.xml", Data: make([]byte, 200<<20)}, check, &w.config); !errors.As(err, &memory) {
		t.Fatalf("the large one: %v", err)
	}
	// Twice: whoever comes next waits for nobody.
	for range 2 {
		if _, err := p.do(t.Context(), &worker.Input{Name: "x.xml", Data: []byte(warmUpScore)}, check, &w.config); !errors.Is(err, errNotBegun) {
			t.Errorf("the one behind it: %v", err)
		}
	}
}

// Each has its own end: one that waits in the child ends when nobody waits for it, one that
// runs at its deadline, and those behind have all their time.
func TestTogetherEachHasItsEnd(t *testing.T) {
	w := newWall(t, Config{})
	check := plan(t, &request.Check{}, nil)
	small := worker.Input{Name: "x.xml", Data: []byte(warmUpScore)}
	do, end := w.Together()
	defer end()
	timed, _ := stage.WithClock(t.Context(), 700*time.Millisecond)
	in, mend := long(t)
	first := behind(t, timed, w, do, in, mend)
	canceled, cancel := context.WithCancel(t.Context())
	second := behind(t, canceled, w, do, in, mend) // of itself it would go on
	patient, _ := stage.WithClock(t.Context(), 500*time.Millisecond)
	third := behind(t, patient, w, do, small, check)
	cancel()
	// A mending that has something to show for its time answers with it.
	if got := <-first; got.err != nil && !errors.Is(got.err, stage.ErrDeadline) {
		t.Errorf("the job that has no end: %v", got.err)
	}
	if got := <-second; !errors.Is(got.err, context.Canceled) {
		t.Errorf("the job that nobody waits for: %v", got.err)
	}
	if got := <-third; got.err != nil {
		t.Errorf("the job behind them, which waited longer than it may take: %v", got.err)
	}
}

// BenchmarkTogether measures what eight hand-ins of the demo class cost that are handed
// over together, beside eight that are handed over one by one, in turn: processor time of
// both processes, and the one by the other.
func BenchmarkTogether(b *testing.B) {
	w := newWall(b, Config{Jobs: 1 << 30})
	p := plan(b, &request.Check{}, nil)
	in := worker.Input{Name: "x.xml", Data: scores(b)["hand-in.musicxml"]}
	const eight = 8
	var apart, together time.Duration
	timed := func(into *time.Duration, eightOf func() error) {
		began := w.processorTime()
		for range 2 * inTurn / eight {
			if err := eightOf(); err != nil {
				b.Fatal(err)
			}
		}
		*into += w.processorTime() - began
	}
	for b.Loop() {
		timed(&apart, func() error {
			for range eight {
				if err := written(w.Do(b.Context(), in, p)); err != nil {
					return err
				}
			}
			return nil
		})
		timed(&together, func() error {
			do, end := w.Together()
			defer end()
			errs := make(chan error, eight)
			for range eight {
				go func() { errs <- written(do(b.Context(), in, p)) }()
			}
			var err error
			for range eight {
				err = errors.Join(err, <-errs)
			}
			return err
		})
	}
	each := float64(b.N * 2 * inTurn / eight * eight)
	b.ReportMetric(apart.Seconds()*1000/each, "apart-cpu-ms/score")
	b.ReportMetric(together.Seconds()*1000/each, "together-cpu-ms/score")
	b.ReportMetric(together.Seconds()/apart.Seconds(), "together/apart")
}
