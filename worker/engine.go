package worker

import (
	"bytes"
	"context"
	"fmt"
	"sync"
	"time"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/separation"
	"partwright/worker/answer"
	"partwright/worker/request"
	"partwright/worker/settings"
	"partwright/worker/stage"
)

// Engine does the jobs. It is safe for concurrent use.
type Engine struct {
	// Version is reported in answers.
	Version string
	// Limits bound what one document may cost.
	Limits musicxml.Limits
	// Memory bounds what the searches of one job may keep, in bytes, by estimate; 0 is
	// no bound.
	Memory int64
	// Observe, if set, gets how long each stage took.
	Observe func(context.Context, stage.Name, time.Duration)
}

// Input is one score as it came in.
type Input struct {
	// Name is a file name, for messages.
	Name string
	Data []byte
	// Labels is an analysis that came beside the score, nil for none; it counts
	// in place of the labels in the score.
	Labels *settings.Labels
	// Read keeps what was read of the score for further jobs on it, which have the
	// same limits and labels; nil keeps nothing.
	Read *Reading
}

// Size is how many bytes came in.
func (in *Input) Size() int { return len(in.Data) }

// packedTimes is how many times larger a packed score is, about.
const packedTimes = 15

// TextSize is about how many bytes the text of the score has.
func (in *Input) TextSize() int {
	if bytes.HasPrefix(in.Data, []byte("PK\x03\x04")) {
		return len(in.Data) * packedTimes
	}
	return len(in.Data)
}

// Do does the job of a plan on one score. All jobs have this one signature: a
// progression as text and the chords to continue from are part of their plans.
//
// A score that cannot be read is a [*musicxml.InputError]. A plan that cannot be
// carried out with this score is a [*RequestError], a [*voicing.ProgressionError] or
// a [*voicing.ImpossibleError]. Once ctx is done the work ends within milliseconds with
// its error; a little earlier, what can be left out is: further ways to mend, further
// mendings. A job that needs too much memory is a [*theory.MemoryError]. A panic is a
// [*stage.PanicError].
func (e *Engine) Do(ctx context.Context, in Input, plan request.Plan) (a *answer.Answer, err error) {
	defer collectFor(&in)()
	job := *e
	ctx, job.Limits.Work = theory.NewWork(ctx, e.Memory)
	err = stage.Guard("", func() error {
		a, err = job.do(ctx, in, plan)
		return err
	})
	if err != nil {
		return nil, err
	}
	return a, nil
}

// do does a job within the budget that the limits hold.
func (e *Engine) do(ctx context.Context, in Input, plan request.Plan) (*answer.Answer, error) {
	switch p := plan.(type) {
	case *request.CheckPlan:
		return e.check(ctx, in, p)
	case *request.MendPlan:
		return e.mend(ctx, in, p)
	case *request.VoicePlan:
		return e.voice(ctx, in, p)
	case *request.ContinuePlan:
		return e.continueFrom(ctx, p)
	case *request.CleanPlan:
		return e.clean(ctx, in)
	}
	return nil, fmt.Errorf("there is no job for a %T", plan)
}

// RequestError says what is wrong with a request for this score; it is the caller's
// to mend.
type RequestError = stage.RequestError

// Reading is what was read of one score: the document, its voices, and its harmony.
// It is worked out once, by the first job that needs it.
type Reading struct {
	mu       sync.Mutex
	document *musicxml.Document
	texture  *theory.Texture
	harmony  *harmony.Analysis
	wish     harmonyWish
	// sung is set where the figures of the score are lyrics under its bass.
	sung bool
}

// harmonyWish is how a harmony is to be named.
type harmonyWish struct {
	use   harmony.LabelUse
	style harmony.Style
	// reread is set where changed versions are to be read again.
	reread bool
}

// has reports whether a harmony that was named as w says is what another wish asks for.
func (w harmonyWish) has(other harmonyWish) bool {
	return w.use == other.use && w.style == other.style && (w.reread || !other.reread)
}

// name names the harmony of a texture.
func (w harmonyWish) name(t *theory.Texture, given []harmony.Annotation) *harmony.Analysis {
	if w.reread {
		return harmony.GuidedToReread(t, given, w.use, w.style)
	}
	return harmony.GuidedAs(t, given, w.use, w.style)
}

// read reads a score, finds its voices and names its harmony, as far as that was not
// done before.
func (e *Engine) read(ctx context.Context, in *Input, wish harmonyWish) (*Reading, error) {
	r := &Reading{}
	if in.Read != nil {
		in.Read.mu.Lock()
		defer in.Read.mu.Unlock()
		if in.Read.document != nil {
			r.document = in.Read.document.Under(e.Limits.Work)
			r.texture = in.Read.texture.Under(e.Limits.Work)
			r.sung = in.Read.sung
		}
		if in.Read.wish.has(wish) {
			r.harmony, r.wish = in.Read.harmony, in.Read.wish
		}
	}
	var steps []step
	if r.document == nil {
		steps = append(steps, e.voices(in, r)...)
	}
	if r.harmony == nil {
		steps = append(steps, step{stage.Harmony, func() error {
			r.sung = r.sung || readSungFigures(r.document, r.texture).all()
			r.harmony, r.wish = wish.name(r.texture, givenLabels(in, r.texture)), wish
			return nil
		}})
	}
	if err := e.stages(ctx, steps); err != nil {
		return nil, err
	}
	if in.Read != nil {
		in.Read.document, in.Read.texture, in.Read.harmony, in.Read.wish, in.Read.sung = r.document, r.texture, r.harmony, r.wish, r.sung
	}
	return r, nil
}

// voices are the steps from a score to its voices.
func (e *Engine) voices(in *Input, r *Reading) []step {
	return []step{
		{stage.Read, func() (err error) {
			r.document, err = musicxml.Read(in.Name, in.Data, e.Limits)
			return err
		}},
		{stage.Voices, func() error {
			r.texture = separation.FindVoices(r.document.Score)
			return nil
		}},
	}
}

type step struct {
	stage stage.Name
	run   func() error
}

// stages runs the steps in order and stops between them when ctx is done. A panic
// becomes a [*stage.PanicError] that names the stage.
func (e *Engine) stages(ctx context.Context, steps []step) error {
	for _, s := range steps {
		if err := ctx.Err(); err != nil {
			return err
		}
		start := time.Now()
		_, span := stage.StartSpan(ctx, string(s.stage))
		err := stage.Guard(s.stage, s.run)
		span.End()
		if e.Observe != nil {
			e.Observe(ctx, s.stage, time.Since(start))
		}
		if err != nil {
			return err
		}
	}
	return nil
}
