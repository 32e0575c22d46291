package wall

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"os"
	"os/signal"
	"reflect"
	"runtime/debug"
	"runtime/metrics"
	"sync"
	"syscall"
	"time"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/request"
	"partwright/worker/settings"
	"partwright/worker/stage"
)

// Argument is the one argument of a program that is started as a child.
const Argument = "work-for-parent"

// Serve does the jobs that come in on one side and answers on the other, until there
// are no more: it is the whole of a child. It sets limits for its process.
func Serve(in, out *os.File) error {
	in, out = waking(in), waking(out)
	// Whoever ends the service ends its whole group of processes; this one goes on until
	// its parent has what it waits for.
	signal.Ignore(os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	c := &child{line: newLine(in, out), handed: map[int]chan struct{}{}}
	var s setup
	if err := c.line.receive(&s); err != nil {
		return err
	}
	c.engine = &worker.Engine{Version: s.Version, Memory: s.Memory, Observe: c.observe}
	if err := json.Unmarshal(s.Limits, &c.engine.Limits); err != nil {
		return err
	}
	if s.Patient {
		giveWay(os.Getpid())
	}
	c.warmUp()
	// Where the system refuses, budgets and the parent's clock hold alone.
	_ = limitMemory(s.Room)
	if s.Room > 0 {
		debug.SetMemoryLimit(s.Room * 3 / 4)
	}
	if err := c.line.send(reply{}); err != nil {
		return err
	}
	calls := make(chan received, mostAhead)
	go c.listen(calls)
	for r := range calls {
		if r.err != nil {
			return r.err
		}
		began := time.Now()
		if err := c.answer(r); err != nil {
			return err
		}
		if time.Since(began) > slimAfter {
			slim()
		}
	}
	return nil
}

// mostAhead is how many jobs are taken in while one runs. Whoever sends more waits, and a
// word that one of them is to end waits as well.
const mostAhead = 16

// child is a process that does jobs for its parent.
type child struct {
	line   *line
	engine *worker.Engine
	// handed has, of each job that has no answer yet, what is closed once it is to end.
	handing sync.Mutex
	handed  map[int]chan struct{}
	// last is the score of the call before, where it is kept.
	last worker.Input
	// wished and plan are those of the call before: the scores of a batch have one.
	wished request.Wish
	plan   request.Plan
	stages []timing
}

// received is a call with what follows it.
type received struct {
	call
	score, labels []byte
	// canceled is closed once the job is to end.
	canceled chan struct{}
	err      error
}

// listen reads calls while jobs run, so that the next is there when one ends, a job can be
// canceled, and a child ends when its parent does.
func (c *child) listen(calls chan<- received) {
	defer close(calls)
	for {
		r := received{canceled: make(chan struct{})}
		if r.err = c.line.receive(&r.call); r.err == nil && r.HasScore && !r.Again {
			r.score, r.err = c.line.body(r.Score)
		}
		if r.err == nil && r.HasLabels && !r.Again {
			r.labels, r.err = c.line.body(r.Labels)
		}
		if r.err != nil {
			c.cancelAll() // nobody waits for what runs
			// The parent is gone, or is done with this child.
			time.AfterFunc(grace, func() { os.Exit(1) })
			if !errors.Is(r.err, io.EOF) {
				calls <- r
			}
			return
		}
		if r.Cancel {
			c.forget(r.Number, true)
			continue
		}
		c.handing.Lock()
		c.handed[r.Number] = r.canceled
		c.handing.Unlock()
		calls <- r
	}
}

// forget is done with a job, or ends it. One that has its answer is not there any more.
func (c *child) forget(number int, end bool) {
	c.handing.Lock()
	defer c.handing.Unlock()
	if canceled, there := c.handed[number]; there && end {
		close(canceled)
	}
	delete(c.handed, number)
}

func (c *child) cancelAll() {
	c.handing.Lock()
	defer c.handing.Unlock()
	for _, canceled := range c.handed {
		close(canceled)
	}
	clear(c.handed)
}

// answer does one job.
func (c *child) answer(r received) error {
	defer c.forget(r.Number, false)
	c.stages = c.stages[:0]
	ctx, cancel := context.WithCancelCause(context.Background())
	defer cancel(nil)
	if !isOpen(r.canceled) {
		cancel(context.Canceled) // before its turn
	}
	if r.Time > 0 {
		var stop context.CancelFunc
		ctx, stop = context.WithTimeoutCause(ctx, r.Time, stage.ErrDeadline)
		defer stop()
		limitProcessor(r.Time + grace)
	}
	go func() {
		select {
		case <-r.canceled:
			cancel(context.Canceled)
		case <-ctx.Done():
		}
	}()
	var a *answer.Answer
	plan, err := c.planOf(r.Wish)
	var in worker.Input
	if err == nil {
		in, err = c.input(&r)
	}
	if err == nil {
		a, err = c.engine.Do(ctx, in, plan)
	}
	out := reply{Stages: c.stages}
	if err != nil {
		if ctx.Err() != nil && errors.Is(err, ctx.Err()) {
			err = context.Cause(ctx)
		}
		out.Failed = failure(err)
		return c.line.send(out)
	}
	bundle, err := a.Bundle()
	if err != nil {
		out.Failed = failure(err)
		return c.line.send(out)
	}
	music := musicOf(a, plan)
	out.Bundle, out.Music = len(bundle), len(music)
	out.Suffix, out.Tally = a.Suffix(), answer.TallyOf(a.Report)
	return c.line.send(out, bundle, music)
}

// musicOf is the music that may be asked for once an answer has left the process that
// knows its notes, nil for none.
func musicOf(a *answer.Answer, plan request.Plan) []byte {
	if plan.Job() != request.JobMend {
		return nil
	}
	music, err := a.MIDI()
	if err != nil {
		return nil // it may have pitches that no key of MIDI plays
	}
	return music
}

// planOf makes a plan, or takes that of the call before.
func (c *child) planOf(wish request.Wish) (request.Plan, error) {
	if c.plan != nil && reflect.DeepEqual(c.wished, wish) {
		return c.plan, nil
	}
	plan, err := wish.Plan()
	if err != nil {
		return nil, err
	}
	c.wished, c.plan = wish, plan
	return plan, nil
}

func (c *child) input(r *received) (worker.Input, error) {
	if r.Again {
		in := c.last
		in.Name = r.Name
		return in, nil
	}
	in := worker.Input{Name: r.Name, Data: r.score}
	if r.Keep {
		in.Read = &worker.Reading{}
	}
	if r.HasLabels {
		var err error
		if in.Labels, err = settings.ReadLabels(r.LabelsFile, r.labels); err != nil {
			return in, err
		}
	}
	if c.last = (worker.Input{}); r.Keep {
		c.last = in
	}
	return in, nil
}

func (c *child) observe(_ context.Context, name stage.Name, took time.Duration) {
	c.stages = append(c.stages, timing{name, took})
}

// slimAt is how much memory a child may have from the system between two jobs; it is
// looked at after a job that took so long, since giving memory back takes time too.
const (
	slimAt    = 96 << 20
	slimAfter = 300 * time.Millisecond
)

// slim gives memory back after a large score.
func slim() {
	use := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
	metrics.Read(use)
	if use[0].Value.Uint64()-use[1].Value.Uint64() > slimAt {
		debug.FreeOSMemory()
	}
}

// warmUp reads what the engine reads once in its life, so that the first score need not
// wait for it.
func (c *child) warmUp() {
	if plan, err := request.Defaults(&request.Check{}).Plan(); err == nil {
		_, _ = c.engine.Do(context.Background(), worker.Input{Name: "warm-up", Data: []byte(warmUpScore)}, plan)
	}
	c.stages = nil
}

// warmUpScore is one measure of two voices.
const warmUpScore = `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>S</part-name></score-part>` +
	`<score-part id="P2"><part-name>B</part-name></score-part></part-list>` +
	`<part id="P1"><measure number="1"><attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>` +
	`<note><pitch><step>E</step><octave>5</octave></pitch><duration>4</duration></note></measure></part>` +
	`<part id="P2"><measure number="1"><attributes><divisions>1</divisions></attributes>` +
	`<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration></note></measure></part></score-partwise>`
