package pool

import (
	"time"

	"partwright/worker"
	"partwright/worker/request"
)

// What work takes on one processor, about, measured on scores of the demo class and
// long songs. The estimate need not be near: it tells what may take seconds from what
// takes milliseconds.
const (
	checkPerByte = 2 * time.Microsecond
	// fixTimes and mendTimes are how many times as long as a check ways to mend take,
	// for each that is asked for.
	fixTimes, mendTimes = 4, 100
	perChord            = 5 * time.Millisecond
	// perPair is what decorations take for each two chords: every one is checked in the
	// whole.
	perPair       = time.Millisecond
	bytesPerChord = 3 // "C: I V "
	perContinuing = 200 * time.Millisecond
)

// estimate is about how long a job takes, from what can be seen before it begins.
func estimate(in *worker.Input, plan request.Plan) time.Duration {
	check := time.Duration(in.TextSize()) * checkPerByte
	switch p := plan.(type) {
	case *request.CheckPlan:
		return check * time.Duration(1+fixTimes*p.Fixes)
	case *request.MendPlan:
		return check * mendTimes * time.Duration(max(p.Alternatives, 1))
	case *request.VoicePlan:
		return check + voicingTakes(p)
	case *request.ContinuePlan:
		return perContinuing
	}
	return check / 4 // a cleaning only reads and writes
}

func voicingTakes(p *request.VoicePlan) time.Duration {
	chords := time.Duration(min(len(p.Progression)/bytesPerChord+1, worker.MaxProgression))
	if p.Progression == "" {
		chords = 16 // what a task in a score has
	}
	each := perChord * time.Duration(3+p.Alternatives) / 4
	for voices := len(p.Style.Voices); voices > 4; voices-- {
		each *= 4
	}
	if p.Bass == "free" {
		each *= 4
	}
	all := chords * each
	if p.Density > 0 {
		all += chords * chords * perPair * time.Duration(p.Alternatives)
	}
	return all + time.Duration(p.Levels)*chords*chords*perPair
}
