package worker

import (
	"errors"
	"testing"
)

func TestStagesNameTheOneThatPanicked(t *testing.T) {
	var e Engine
	err := e.stages(t.Context(), []step{
		{StageRead, func() error { return nil }},
		{StageVoices, func() error { panic("lyrics of a pupil") }},
	})
	var panicked *PanicError
	if !errors.As(err, &panicked) || panicked.Stage != StageVoices {
		t.Errorf("got %v, want a panic in the stage %q", err, StageVoices)
	}
}
