package worker

import "errors"

// Stage is one step of the job, for metrics and progress.
type Stage string

// Stages in the order they run.
const (
	StageRead    Stage = "read"
	StageVoices  Stage = "voices"
	StageHarmony Stage = "harmony"
	StageCheck   Stage = "check"
	StageWrite   Stage = "write"
)

// Stages lists all stages in order.
var Stages = []Stage{StageRead, StageVoices, StageHarmony, StageCheck, StageWrite}

// ErrDeadline is returned when a score took longer than it may.
var ErrDeadline = errors.New("the score took longer than it may")
