package pool

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/request"
	"partwright/worker/stage"
)

// handing is an engine that hands scores over to one who works on them in turn, and is
// there after a while.
type handing struct {
	begins time.Duration
	// works is what is done for a score of a name.
	works func(ctx context.Context, name string) error

	mu sync.Mutex
	// groups are the names of the scores that were handed over together, in order.
	groups [][]string
	alone  []string
}

func (h *handing) Do(ctx context.Context, in worker.Input, _ request.Plan) (*answer.Answer, error) {
	time.Sleep(h.begins)
	h.mu.Lock()
	h.alone = append(h.alone, in.Name)
	h.mu.Unlock()
	ctx, stop := stage.Run(ctx)
	defer stop()
	return &answer.Answer{}, h.works(ctx, in.Name)
}

func (h *handing) Together() (do func(context.Context, worker.Input, request.Plan) (*answer.Answer, error), end func()) {
	turn := make(chan struct{}, 1)
	h.mu.Lock()
	at := len(h.groups)
	h.groups = append(h.groups, nil)
	h.mu.Unlock()
	ended := false
	do = func(ctx context.Context, in worker.Input, _ request.Plan) (*answer.Answer, error) {
		turn <- struct{}{}
		defer func() { <-turn }()
		h.mu.Lock()
		if ended {
			panic("a score is handed over after the end")
		}
		h.groups[at] = append(h.groups[at], in.Name)
		h.mu.Unlock()
		ctx, stop := stage.Run(ctx)
		defer stop()
		return &answer.Answer{}, h.works(ctx, in.Name)
	}
	return do, func() {
		h.mu.Lock()
		ended = true
		h.mu.Unlock()
	}
}

func newHanding(t *testing.T, c Config, h *handing) *Pool {
	t.Helper()
	p, err := New(c, h, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// checkPlan is a check with all defaults.
func checkPlan(t *testing.T) request.Plan {
	t.Helper()
	p, err := request.Defaults(&request.Check{}).Plan()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// sleeps works on every score for so long, as far as there is time.
func sleeps(d time.Duration) func(context.Context, string) error {
	return func(ctx context.Context, _ string) error {
		select {
		case <-time.After(d):
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// small and large are scores that are thought to take a millisecond and a fifth of a
// second.
func small(name string) worker.Input { return worker.Input{Name: name, Data: make([]byte, 500)} }
func large(name string) worker.Input {
	return worker.Input{Name: name, Data: make([]byte, 100<<10)}
}

// all gives scores to a row at once and returns what came of each.
func all(ctx context.Context, r *Row, plan request.Plan, scores ...worker.Input) []error {
	errs := make([]error, len(scores))
	var wait sync.WaitGroup
	for i := range scores {
		wait.Go(func() { _, errs[i] = r.Do(ctx, scores[i], plan) })
	}
	wait.Wait()
	return errs
}

// Short scores go over eight at a time and hold one slot; others go alone. Each is
// answered once.
func TestRowHandsOverSeveral(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := &handing{}
		p := newHanding(t, Config{Size: 2}, h)
		most := 0
		h.works = func(context.Context, string) error {
			most = max(most, p.Stats().Running)
			time.Sleep(10 * time.Millisecond)
			return nil
		}
		var scores []worker.Input
		for i := range 20 {
			scores = append(scores, small(fmt.Sprint(i)))
		}
		scores = append(scores, large("large"))
		for i, err := range all(t.Context(), p.Row(), checkPlan(t), scores...) {
			if err != nil {
				t.Errorf("score %d: %v", i, err)
			}
		}
		synctest.Wait()
		var sizes []int
		names := slices.Clone(h.alone)
		for _, g := range h.groups {
			sizes = append(sizes, len(g))
			names = append(names, g...)
		}
		slices.Sort(sizes)
		if !slices.Equal(sizes, []int{4, 8, 8}) || !slices.Equal(h.alone, []string{"large"}) {
			t.Errorf("%v went together and %v alone, want 4, 8 and 8, and the large one", sizes, h.alone)
		}
		slices.Sort(names)
		if len(slices.Compact(names)) != len(scores) {
			t.Errorf("%v were worked on", names)
		}
		if most != 1 {
			t.Errorf("the row holds %d slots", most)
		}
		if s := p.Stats(); s.Running != 0 || s.Waiting != 0 || p.shorts != 0 {
			t.Errorf("an idle pool says that %d run and %d wait", s.Running, s.Waiting)
		}
	})
}

// An engine that takes one score at a time gets one at a time.
func TestRowOfAnEngineThatTakesOne(t *testing.T) {
	p := newTestPool(t, Config{Size: 2})
	for _, err := range all(t.Context(), p.Row(), checkPlan(t), small("a"), small("b"), small("c")) {
		if err == nil {
			t.Error("five hundred zeros are a score")
		}
	}
	if len(p.Row().place) != 0 || p.Stats().Running != 0 {
		t.Error("the row keeps its slot")
	}
}

// The time of a score runs from when its turn comes: one before it that takes all its time
// takes none of that of others, nor does a process that has to begin.
func TestTimeRunsFromTheTurn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := &handing{begins: time.Minute, works: func(ctx context.Context, name string) error {
			if name == "endless" {
				<-ctx.Done()
				return ctx.Err()
			}
			return sleeps(time.Second)(ctx, name)
		}}
		p := newHanding(t, Config{Size: 1, Deadline: 3 * time.Second}, h)
		r := p.Row()
		first := make(chan error, 1)
		go func() {
			_, err := r.Do(t.Context(), small("endless"), checkPlan(t))
			first <- err
		}()
		synctest.Wait()
		began := time.Now()
		errs := all(t.Context(), r, checkPlan(t), small("a"), small("b"), small("c"))
		if err := <-first; !errors.Is(err, stage.ErrDeadline) {
			t.Errorf("the score without end: %v", err)
		}
		if err := errors.Join(errs...); err != nil || time.Since(began) != 6*time.Second {
			t.Errorf("those behind it: %v after %s, want none after 3 s and one for each", err, time.Since(began))
		}
		began = time.Now()
		if _, err := p.Do(t.Context(), small("alone"), checkPlan(t)); err != nil || time.Since(began) != 61*time.Second {
			t.Errorf("a score whose process begins for a minute: %v after %s", err, time.Since(began))
		}
		synctest.Wait()
		if s := p.Stats(); s.Running != 0 || s.Overrunning != 0 {
			t.Errorf("an idle pool says that %d run, %d of them too long", s.Running, s.Overrunning)
		}
	})
}

// One that nobody waits for any more ends alone, wherever it is: as it waits for the slot
// of its group, which the others get, and as it waits for its turn.
func TestOneOfAGroupEndsAlone(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := &handing{works: sleeps(time.Second)}
		p := newHanding(t, Config{Size: 1}, h)
		release := make(chan struct{})
		other := submit(t.Context(), p, held(release))
		other2 := submit(t.Context(), p, held(release))
		synctest.Wait()
		p.mu.Lock()
		p.shorts = p.config.spare() // nothing is spare
		p.mu.Unlock()
		r := p.Row()
		leaving, leave := context.WithCancel(t.Context())
		answers := make([]chan error, 4)
		for i := range answers {
			answers[i] = make(chan error, 1)
			ctx := t.Context()
			if i == 0 || i == 2 {
				ctx = leaving
			}
			go func() {
				_, err := r.Do(ctx, small(fmt.Sprint(i)), checkPlan(t))
				answers[i] <- err
			}()
			synctest.Wait() // the first waits for the slot of all
		}
		leave()
		for _, i := range []int{0, 2} {
			if err := <-answers[i]; !errors.Is(err, context.Canceled) {
				t.Errorf("score %d, whose client left: %v", i, err)
			}
		}
		synctest.Wait()
		p.mu.Lock()
		p.shorts = 0
		p.mu.Unlock()
		close(release)
		for _, i := range []int{1, 3} {
			if err := <-answers[i]; err != nil {
				t.Errorf("score %d: %v", i, err)
			}
		}
		if err := errors.Join(<-other, <-other2); err != nil {
			t.Error(err)
		}
		synctest.Wait()
		if s := p.Stats(); s.Running != 0 || s.Waiting != 0 {
			t.Errorf("an idle pool says that %d run and %d wait", s.Running, s.Waiting)
		}
	})
}

// Nothing joins a group that takes longer than was thought, or one of a pool that ends.
func TestGroupIsClosed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := &handing{works: sleeps(2 * time.Second)}
		p := newHanding(t, Config{Size: 2, Heavy: 500 * time.Millisecond}, h)
		r := p.Row()
		var wait sync.WaitGroup
		for _, name := range []string{"long", "later"} {
			wait.Go(func() {
				if _, err := r.Do(t.Context(), small(name), checkPlan(t)); err != nil {
					t.Error(name, err)
				}
			})
			time.Sleep(time.Second)
		}
		wait.Wait()
		if len(h.groups) != 2 {
			t.Errorf("the groups were %v: what runs for long takes no others along", h.groups)
		}
		wait.Go(func() {
			if _, err := r.Do(t.Context(), small("last"), checkPlan(t)); err != nil {
				t.Error(err)
			}
		})
		synctest.Wait()
		wait.Go(func() {
			if err := p.Drain(t.Context()); err != nil {
				t.Error(err)
			}
		})
		synctest.Wait()
		if _, err := r.Do(t.Context(), small("too late"), checkPlan(t)); !errors.Is(err, ErrDraining) {
			t.Errorf("a pool that ends takes a score along: %v", err)
		}
		wait.Wait()
	})
}

// Those that take next to nothing go before those that take a tenth of a second, and
// these have their turn in the end.
func TestQuickOnesGoFirst(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		p := newTestPool(t, Config{Size: 1, Queue: 100})
		release := make(chan struct{})
		first := submit(t.Context(), p, held(release))
		synctest.Wait()
		var order []string
		var answers []chan error
		enter := func(name string, takes time.Duration) {
			answer := make(chan error, 1)
			answers = append(answers, answer)
			go func() {
				answer <- p.runAs(t.Context(), plain, takes, request.JobCheck, 1, func(context.Context) error { order = append(order, name); return nil })
			}()
			synctest.Wait()
		}
		enter("long", 100*time.Millisecond)
		enter("long too", 100*time.Millisecond)
		enter("quick", time.Millisecond)
		time.Sleep(2 * time.Second)
		enter("late", time.Millisecond)
		close(release)
		if err := <-first; err != nil {
			t.Error(err)
		}
		for _, a := range answers {
			if err := <-a; err != nil {
				t.Error(err)
			}
		}
		if want := []string{"quick", "long", "long too", "late"}; !slices.Equal(order, want) {
			t.Errorf("the order was %v, want %v", order, want)
		}
	})
}
