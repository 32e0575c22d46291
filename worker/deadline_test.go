package worker

import (
	"context"
	"errors"
	"testing"
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
	request := VoiceRequest{
		Progression:  "C: I vi ii6 V7 I IV V I || a: i iv V7 i || C: IV V7 I",
		Alternatives: 3, Density: 1, Compare: true, Levels: 3,
	}
	whole := &expiring{t.Context(), 1 << 30, 0}
	if _, err := engine.Voice(whole, request); err != nil {
		t.Fatal(err)
	}
	for _, left := range []int{0, 10, whole.looks / 4, whole.looks / 2, whole.looks - 1} {
		ctx := &expiring{t.Context(), left, 0}
		if _, err := engine.Voice(ctx, request); !errors.Is(err, context.DeadlineExceeded) || ctx.looks > left+2 {
			t.Errorf("ended at %d of %d looks: %v after %d", left, whole.looks, err, ctx.looks)
		}
	}
}
