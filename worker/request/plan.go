package request

// Plan is what the engine does: a [*CheckPlan], [*MendPlan], [*VoicePlan],
// [*ContinuePlan] or [*CleanPlan].
type Plan interface {
	// Job is the name of the job, such as "check".
	Job() Job
	// Size is how many bytes of text it works on beside those of a score.
	Size() int
	// Wish is the plan as text.
	Wish() Wish
}

// Job is the name of something the engine does with a score.
type Job string

// Jobs of the engine.
const (
	JobCheck    Job = "check"
	JobClean    Job = "clean"
	JobVoice    Job = "voice"
	JobMend     Job = "mend"
	JobContinue Job = "continue" // lists the continuations of one sonority
	JobRevise   Job = "revise"   // changes notes of a score, then checks it
)

// Jobs lists all jobs.
var Jobs = []Job{JobCheck, JobClean, JobVoice, JobMend, JobContinue, JobRevise}

// Job implements [Plan].
func (p *CheckPlan) Job() Job {
	if p.Revision != nil {
		return JobRevise
	}
	return JobCheck
}

// Job implements [Plan].
func (*MendPlan) Job() Job { return JobMend }

// Job implements [Plan].
func (*VoicePlan) Job() Job { return JobVoice }

// Job implements [Plan].
func (*ContinuePlan) Job() Job { return JobContinue }

// Job implements [Plan].
func (*CleanPlan) Job() Job { return JobClean }

// Size implements [Plan].
func (*CheckPlan) Size() int { return 0 }

// Size implements [Plan].
func (*MendPlan) Size() int { return 0 }

// Size implements [Plan].
func (p *VoicePlan) Size() int { return len(p.Progression) }

// Size implements [Plan].
func (p *ContinuePlan) Size() int { return len(p.Chords) + len(p.Then) }

// Size implements [Plan].
func (*CleanPlan) Size() int { return 0 }
