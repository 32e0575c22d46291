package worker

import (
	"errors"
	"testing"

	"partwright/worker/stage"
)

func TestStagesNameTheOneThatPanicked(t *testing.T) {
	var e Engine
	err := e.stages(t.Context(), []step{
		{stage.Read, func() error { return nil }},
		{stage.Voices, func() error { panic("lyrics of a pupil") }},
	})
	var panicked *stage.PanicError
	if !errors.As(err, &panicked) || panicked.Stage != stage.Voices {
		t.Errorf("got %v, want a panic in the stage %q", err, stage.Voices)
	}
}
