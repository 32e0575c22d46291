package wall

import (
	"time"

	"partwright/worker/answer"
	"partwright/worker/request"
	"partwright/worker/stage"
)

// setup is the first message to a child: the engine that it is to be.
type setup struct {
	Version string
	// Limits are a [musicxml.Limits] in JSON.
	Limits []byte
	// Memory is that of the engine, Room what the process may take beside what it has
	// when it begins; both in bytes, 0 for any.
	Memory, Room int64
	// Patient tells it to give way to other processes.
	Patient bool
}

// call is a job for a child. The score and the labels beside it follow.
type call struct {
	Wish request.Wish
	Name string
	// HasScore tells a score of no bytes from none. Score and Labels are how many bytes
	// follow; LabelsFile is the name under which the labels came, HasLabels tells that
	// there are some.
	HasScore, HasLabels bool
	Score, Labels       int
	LabelsFile          string
	// Again tells that the score is that of the call before, which does not follow
	// again; Keep that further jobs on it may come.
	Again, Keep bool
	// Time is how long it may take, 0 for any time.
	Time time.Duration
	// Number tells the calls of a child apart.
	Number int
	// Cancel makes it no call: the job of that number is to end, if it still runs.
	Cancel bool
}

// reply is what came of a call. A bundle of the answer follows, and the music of its
// score in MIDI.
type reply struct {
	Bundle, Music int
	// Suffix and Tally are those of the report in the bundle.
	Suffix string
	Tally  []answer.Tally
	Stages []timing
	Failed *failed
}

// timing is how long a stage took.
type timing struct {
	Stage stage.Name
	Took  time.Duration
}
