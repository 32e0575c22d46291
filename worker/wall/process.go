package wall

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"sync"
	"time"

	"partwright/theory"
	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/request"
	"partwright/worker/stage"
)

// process is one child.
type process struct {
	command *exec.Cmd
	line    *line
	// in and out are this end of the pipes to it.
	in, out *os.File
	// words are the first that it says on standard error: why it ended.
	words *words
	// ended is closed once it has ended.
	ended chan struct{}

	// handing guards what follows: jobs are numbered in the order in which they are sent.
	handing sync.Mutex
	jobs    int
	// answered is closed once the job that was sent last has its answer, nil before the
	// first.
	answered chan struct{}
	// last is what was read of the score of its last job. Where no job runs, the lock of
	// the wall guards it too.
	last *worker.Reading

	// patient is set where it gives way to other processes; the lock of the wall guards it.
	patient bool
}

// startTime bounds the time in which a child is there.
const startTime = 30 * time.Second

// begin starts a child and waits until it is ready.
func begin(c *Config, patient bool) (*process, error) {
	p := &process{patient: patient, command: exec.Command(c.Program, Argument), words: &words{}, ended: make(chan struct{})} // #nosec G204 -- this program; it outlives requests
	p.command.Stderr = p.words
	// One score is worked on at a time: more threads would help the collector alone.
	// It is small between two scores and may grow far: collecting less often is cheaper,
	// and its limit of memory makes it collect in time.
	p.command.Env = []string{"GOMAXPROCS=1", "GOGC=400", "GOTRACEBACK=none"}
	if err := p.start(); err != nil {
		return nil, fmt.Errorf("starting a child process: %w", err)
	}
	late := time.AfterFunc(startTime, p.kill)
	defer late.Stop()
	limits, err := json.Marshal(c.Limits)
	if err == nil {
		err = p.line.send(setup{Version: c.Version, Limits: limits, Memory: c.Memory, Room: c.Room, Patient: patient})
	}
	if err == nil {
		err = p.line.receive(&reply{})
	}
	if err != nil {
		p.kill()
		<-p.ended
		return nil, fmt.Errorf("starting a child process: %w: %w: %s", errEnded, err, p.why())
	}
	return p, nil
}

// start starts a child between two pipes, which stay open here when it ends.
func (p *process) start() (err error) {
	var toChild, fromChild [2]*os.File
	if toChild[0], toChild[1], err = os.Pipe(); err != nil {
		return err
	}
	defer func() { _ = toChild[0].Close() }()
	if fromChild[0], fromChild[1], err = os.Pipe(); err != nil {
		return errors.Join(err, toChild[1].Close())
	}
	defer func() { _ = fromChild[1].Close() }()
	p.command.Stdin, p.command.Stdout = toChild[0], fromChild[1]
	p.in, p.out = fromChild[0], toChild[1]
	if err := p.command.Start(); err != nil {
		return errors.Join(err, p.in.Close(), p.out.Close())
	}
	widen(p.in)
	widen(p.out)
	p.line = newLine(p.in, p.out)
	go func() {
		_ = p.command.Wait() // words say why it ended
		close(p.ended)
	}()
	return nil
}

// errEnded is the error of a child that ended by itself.
var errEnded = errors.New("the child process ended")

// mostAheadBytes is how large a score is at most that is sent before its turn.
const mostAheadBytes = 256 << 10

// errNotBegun is the error of a job that a child had not come to when it ended.
var errNotBegun = errors.New("the child process ended before it came to the job")

// do hands a job over, waits for its turn and for what comes of it. A child that cannot
// go on is killed. Jobs may be handed over while others are at work; each reads its own
// answer, in the order in which they were sent.
func (p *process) do(ctx context.Context, in *worker.Input, plan request.Plan, c *Config) (*answer.Answer, error) {
	p.handing.Lock()
	m, bodies := p.next(ctx, in, plan)
	before, answered := p.answered, make(chan struct{})
	p.answered = answered
	defer close(answered) // by then what comes for this job is read, or the child has ended
	sent := false
	send := func() error {
		defer p.handing.Unlock()
		sent = true
		return p.line.send(m, bodies...)
	}
	if isOpen(before) {
		// What is large counts as memory of the job that the child is at: it is sent after
		// that, and what comes behind it later still.
		if len(in.Data) <= mostAheadBytes {
			err := send()
			send = func() error { return err }
		}
		p.await(ctx, m.Number, before)
	}
	// Also where there was nothing to wait for: while this one waited to hand its job over,
	// the job before may have ended the child, and with it what the child says of its end.
	if !p.alive() {
		if !sent {
			p.handing.Unlock()
		}
		return nil, errNotBegun
	}
	// What it waited for is not its time.
	ctx, stop := stage.Run(ctx)
	defer stop()
	unwatch := p.watch(ctx, m.Number)
	a, err := p.ask(ctx, send, c)
	overdue := unwatch()
	switch {
	case err == nil || !errors.Is(err, errEnded):
		return a, err
	case overdue:
		<-p.ended
		return nil, context.Cause(ctx)
	}
	p.kill()
	<-p.ended
	if p.outOfMemory() {
		return nil, &theory.MemoryError{Most: c.Room}
	}
	if p.outOfTime() {
		return nil, stage.ErrDeadline
	}
	return nil, errEnded
}

// isOpen tells whether somebody still works on what closes a channel; nil is closed.
func isOpen(c <-chan struct{}) bool {
	if c == nil {
		return false
	}
	select {
	case <-c:
		return false
	default:
		return true
	}
}

// next is the call of a job with what follows it. It needs the lock.
func (p *process) next(ctx context.Context, in *worker.Input, plan request.Plan) (m call, bodies [][]byte) {
	p.jobs++
	m = call{Number: p.jobs, Wish: plan.Wish(), Name: in.Name, HasScore: in.Data != nil, Score: len(in.Data), Keep: in.Read != nil, Again: in.Read != nil && in.Read == p.last}
	if left, bounded := stage.Left(ctx); bounded {
		m.Time = max(left, time.Millisecond)
	}
	if in.Labels != nil {
		m.HasLabels, m.Labels, m.LabelsFile = true, len(in.Labels.Source), in.Labels.File
	}
	p.last = in.Read
	if m.Again {
		return m, nil
	}
	bodies = append(bodies, in.Data)
	if in.Labels != nil {
		bodies = append(bodies, in.Labels.Source)
	}
	return m, bodies
}

// await waits until the job before one has its answer. One that nobody waits for any more
// is canceled meanwhile.
func (p *process) await(ctx context.Context, number int, before <-chan struct{}) {
	stop := context.AfterFunc(ctx, func() { p.cancel(number) })
	<-before
	stop()
}

// cancel tells the child that nobody waits for a job. That it does not listen any more
// does not matter.
func (p *process) cancel(number int) { _ = p.line.send(call{Cancel: true, Number: number}) }

// watch cancels a job that runs once its context is done, and kills the child where
// that does not help. What it returns ends the watch and tells whether it was killed.
func (p *process) watch(ctx context.Context, number int) func() bool {
	done, gone := make(chan struct{}), make(chan bool, 1)
	// No goroutine waits beside each job: beginning one wakes another thread.
	unwatch := context.AfterFunc(ctx, func() {
		if errors.Is(ctx.Err(), context.Canceled) {
			go p.cancel(number)
		}
		late := time.NewTimer(grace)
		defer late.Stop()
		select {
		case <-done:
			gone <- false
		case <-late.C:
			p.kill()
			gone <- true
		}
	})
	return func() bool {
		if unwatch() {
			return false
		}
		close(done)
		return <-gone
	}
}

// ask sends a job and reads what comes of it.
func (p *process) ask(ctx context.Context, send func() error, c *Config) (*answer.Answer, error) {
	ended := func(err error) error { return fmt.Errorf("%w: %w", errEnded, err) }
	if err := send(); err != nil {
		return nil, ended(err)
	}
	var r reply
	if err := p.line.receive(&r); err != nil {
		return nil, ended(err)
	}
	bundle, err := p.line.body(r.Bundle)
	if err != nil {
		return nil, ended(err)
	}
	music, err := p.line.body(r.Music)
	if err != nil {
		return nil, ended(err)
	}
	if c.Observe != nil {
		for _, t := range r.Stages {
			c.Observe(ctx, t.Stage, t.Took)
		}
	}
	if r.Failed != nil {
		return nil, r.Failed.err()
	}
	a, err := answer.Unbundle(bundle, &answer.Written{Suffix: r.Suffix, Tally: r.Tally})
	if err == nil && len(music) > 0 {
		a.Music = music
	}
	return a, err
}

func (p *process) alive() bool {
	select {
	case <-p.ended:
		return false
	default:
		return true
	}
}

func (p *process) kill() { _ = p.command.Process.Kill() } // it may be gone

// retire lets a child end: there is no more work for it.
func (p *process) retire() {
	_ = p.out.Close()
	late := time.AfterFunc(2*grace, p.kill)
	<-p.ended
	late.Stop()
	_ = p.in.Close()
}

func (p *process) outOfMemory() bool {
	said := p.words.String()
	return strings.Contains(said, "out of memory") || strings.Contains(said, "cannot allocate memory")
}

func (p *process) outOfTime() bool { return strings.Contains(p.words.String(), "cpu limit exceeded") }

// why is why a child ended, as far as it says; nothing of a score is in it.
func (p *process) why() string {
	first, _, _ := strings.Cut(strings.TrimSpace(p.words.String()), "\n")
	if first == "" && p.command.ProcessState != nil {
		first = p.command.ProcessState.String()
	}
	return first
}

// words keeps the first words of what is written.
type words struct {
	mu   sync.Mutex
	kept bytes.Buffer
}

const mostWords = 4 << 10

// Write implements [io.Writer].
func (w *words) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if room := mostWords - w.kept.Len(); room > 0 {
		w.kept.Write(p[:min(len(p), room)])
	}
	return len(p), nil
}

// String returns what was kept.
func (w *words) String() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.kept.String()
}
