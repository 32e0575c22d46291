package theory_test

import (
	"context"
	"errors"
	"testing"

	"partwright/theory"
)

func TestWorkStopsOnceItsContextIsDone(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	_, work := theory.NewWork(ctx, 0)
	steps := 0
	err := work.Run(func() error {
		for {
			if steps++; steps == 5000 {
				cancel()
			}
			work.Step(1)
		}
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("the work ended with %v, want the error of its context", err)
	}
	if steps < 5000 || steps > 5000+2000 {
		t.Errorf("%d steps were done, the context ended after 5000", steps)
	}
}

func TestWorkStopsWhereMemoryEnds(t *testing.T) {
	_, work := theory.NewWork(t.Context(), 1000)
	for _, tt := range []struct {
		held []int
		stop bool
		why  string
	}{
		{[]int{600, 400}, false, "as much as may be"},
		{[]int{600, -600, 900}, false, "what was given back counts no more"},
		{[]int{600, 401}, true, "a byte too much"},
		{[]int{1000}, false, "what the run before held was given back"},
	} {
		err := work.Run(func() error {
			for _, n := range tt.held {
				work.Hold(n)
			}
			return nil
		})
		var memory *theory.MemoryError
		if errors.As(err, &memory) != tt.stop || tt.stop && memory.Most != 1000 {
			t.Errorf("%v held: %v, stopped should be %v: %s", tt.held, err, tt.stop, tt.why)
		}
	}
}

// Music is read again for every change that is tried: a reading that is over holds
// nothing.
func TestScopeGivesBack(t *testing.T) {
	_, work := theory.NewWork(t.Context(), 1000)
	err := work.Run(func() error {
		for range 5 {
			end := work.Scope()
			work.Hold(900)
			end()
		}
		return nil
	})
	if err != nil {
		t.Error(err)
	}
}

func TestNoWorkIsNoBound(t *testing.T) {
	var work *theory.Work
	if err := work.Run(func() error { work.Step(1 << 40); work.Hold(1 << 40); return nil }); err != nil {
		t.Error(err)
	}
}

func TestOtherPanicsGoOn(t *testing.T) {
	defer func() {
		if value := recover(); value != "ours" {
			t.Errorf("recovered %v", value)
		}
	}()
	_, work := theory.NewWork(t.Context(), 0)
	_ = work.Run(func() error { panic("ours") })
}

// A part of a job may end before the whole: it asks its own context and shares the
// memory.
func TestWorkOfAPart(t *testing.T) {
	ctx, whole := theory.NewWork(t.Context(), 1000)
	whole.Hold(600)
	part, cancel := context.WithCancel(ctx)
	cancel()
	if err := theory.WorkIn(part).Run(func() error { theory.WorkIn(part).Step(1 << 20); return nil }); !errors.Is(err, context.Canceled) {
		t.Errorf("the part ended with %v", err)
	}
	var memory *theory.MemoryError
	if err := theory.WorkIn(part).Run(func() error { theory.WorkIn(part).Hold(500); return nil }); !errors.As(err, &memory) {
		t.Errorf("the part held more than there is: %v", err)
	}
	if err := whole.Run(func() error { whole.Step(1 << 20); return nil }); err != nil {
		t.Errorf("the whole ended with its part: %v", err)
	}
}
