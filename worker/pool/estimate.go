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
	// halfFixTimes is how many times half as long as a check ways to mend take, for each
	// that is asked for; mendTimes how many times as long a mending takes.
	halfFixTimes, mendTimes = 5, 50
	// cleanPart is the part of a check that a cleaning takes: it only reads and writes.
	cleanPart = 16
	perChord  = 5 * time.Millisecond
	// perPair is what decorations take for each two chords: every one is checked in the
	// whole.
	perPair       = time.Millisecond
	bytesPerChord = 3 // "C: I V "
	// bytesPerNote is what a score to be voiced has for each chord, a note of a melody
	// or of a bass mostly.
	bytesPerNote  = 256
	perContinuing = 200 * time.Millisecond
)

// estimate is about how long a job takes, from what can be seen before it begins.
func estimate(in *worker.Input, plan request.Plan) time.Duration {
	check := time.Duration(in.TextSize()) * checkPerByte
	switch p := plan.(type) {
	case *request.CheckPlan:
		return check * time.Duration(2+halfFixTimes*p.Fixes) / 2
	case *request.MendPlan:
		return check * mendTimes * time.Duration(max(p.Alternatives, 1))
	case *request.VoicePlan:
		return check + voicingTakes(p, in.TextSize())
	case *request.ContinuePlan:
		return perContinuing
	}
	return check / cleanPart
}

// voicingTakes is what voicing takes for a progression, or for a score of so many bytes.
func voicingTakes(p *request.VoicePlan, bytes int) time.Duration {
	count := len(p.Progression) / bytesPerChord
	if p.Progression == "" {
		count = bytes / bytesPerNote
	}
	chords := time.Duration(min(count+1, worker.MaxProgression))
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
