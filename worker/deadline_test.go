package worker

import (
	"context"
	"errors"
	"testing"

	"partwright/worker/request"
)

// expiring is a context that ends after so many looks at it.
type expiring struct {
	context.Context
	left, looks int
}

func (e *expiring) Err() error {
	e.looks++
	if e.looks > e.left {
		return context.DeadlineExceeded
	}
	return nil
}

// Wherever the deadline falls, voicing ends within a few more looks at its context,
// so that the slot is free again.
func TestVoicingEndsWithItsContext(t *testing.T) {
	engine := &Engine{}
	plan, err := planned(&request.Voice{},
		"progression", "C: I vi ii6 V7 I IV V I || a: i iv V7 i || C: IV V7 I",
		"alternatives", "3", "density", "1", "compare", "true", "levels", "3")
	if err != nil {
		t.Fatal(err)
	}
	whole := &expiring{t.Context(), 1 << 30, 0}
	if _, err := engine.Do(whole, Input{}, plan); err != nil {
		t.Fatal(err)
	}
	for _, left := range []int{0, 10, whole.looks / 4, whole.looks / 2, whole.looks - 1} {
		ctx := &expiring{t.Context(), left, 0}
		if _, err := engine.Do(ctx, Input{}, plan); !errors.Is(err, context.DeadlineExceeded) || ctx.looks > left+2 {
			t.Errorf("ended at %d of %d looks: %v after %d", left, whole.looks, err, ctx.looks)
		}
	}
}
