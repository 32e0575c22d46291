package wall

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"slices"
	"sync"
	"time"

	"partwright/musicxml"
	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/request"
	"partwright/worker/stage"
)

// grace is how long a child may outlive the deadline of its job: with the time that it
// takes the system to end it, a second.
const grace = 800 * time.Millisecond

// Config says what children are like.
type Config struct {
	// Program is what is started with [Argument] as a child; "" is this program.
	Program string
	// Version, Limits and Memory are those of the engine.
	Version string
	Limits  musicxml.Limits
	Memory  int64
	// Room is how many bytes a child may take beside what it begins with, 0 for any;
	// Linux holds it to that.
	Room int64
	// Ready is how many children there are at least, whatever ends (default 1). More are
	// started as jobs come at once, and stay as long as they are needed.
	Ready int
	// Jobs is after how many jobs a child is replaced (default 1,000).
	Jobs int
	// Observe, if set, gets how long each stage took.
	Observe func(context.Context, stage.Name, time.Duration)
	Logger  *slog.Logger
}

// Wall does the jobs of an engine in children. It is safe for concurrent use; as many
// children run as jobs do.
type Wall struct {
	config Config

	mu     sync.Mutex
	idle   []*process
	all    map[*process]bool // that have not been retired
	closed bool
	// starting waits for those that are being started or ended beside the work; coming
	// counts those that are being started ahead of it.
	starting sync.WaitGroup
	coming   int
	killed   int
	begun    int
}

// New starts the first children. An error means that this program cannot be started
// again.
func New(config Config) (*Wall, error) {
	if config.Program == "" {
		own, err := os.Executable()
		if err != nil {
			return nil, err
		}
		config.Program = own
	}
	if config.Ready == 0 {
		config.Ready = 1
	}
	if config.Jobs == 0 {
		config.Jobs = 1000
	}
	if config.Logger == nil {
		config.Logger = slog.New(slog.DiscardHandler)
	}
	config.Limits.Work = nil
	w := &Wall{config: config, all: map[*process]bool{}}
	first, err := w.start(false)
	if err != nil {
		return nil, err
	}
	w.idle = append(w.idle, first)
	w.coming = config.Ready - 1
	for range config.Ready - 1 {
		w.startAhead()
	}
	return w, nil
}

// mostTries is how often a job is begun again: a score that ends its child each time is
// told from one whose child somebody killed.
const mostTries = 2

// Do does a job as [worker.Engine.Do] does, with the same errors, and [stage.ErrLost]. Where a
// child ends by itself, by no limit of its own, the job is begun again, twice at most.
func (w *Wall) Do(ctx context.Context, in worker.Input, plan request.Plan) (*answer.Answer, error) {
	for try := 0; ; try++ {
		p, err := w.take(in.Read, stage.IsPatient(ctx))
		if err != nil && try < mostTries && ctx.Err() == nil && !errors.Is(err, errClosed) {
			continue // it was killed as it began
		}
		if err != nil {
			return nil, err
		}
		stop := stage.OnPatient(ctx, func() { w.giveWay(p) })
		a, err := p.do(ctx, &in, plan, &w.config)
		stop()
		w.put(p)
		if !errors.Is(err, errEnded) {
			return a, err
		}
		w.config.Logger.WarnContext(ctx, "a child process ended while it worked", "task", string(plan.Job()), "why", p.why())
		if try == mostTries || ctx.Err() != nil {
			return nil, stage.ErrLost
		}
	}
}

// take is an idle child, that which read a score last where there is one, or a new one.
// Patient work has children of its own: a process cannot take back that it gives way.
func (w *Wall) take(last *worker.Reading, patient bool) (*process, error) {
	w.mu.Lock()
	if w.closed {
		w.mu.Unlock()
		return nil, errClosed
	}
	for {
		at := w.idleFor(last, patient)
		if at < 0 {
			break
		}
		p := w.idle[at]
		w.idle = slices.Delete(w.idle, at, at+1)
		if p.alive() {
			w.mu.Unlock()
			return p, nil
		}
		w.killed++
		delete(w.all, p)
		w.starting.Go(p.retire)
	}
	w.mu.Unlock()
	return w.start(patient)
}

// idleFor is the index of the idle child that is to work, -1 for none. It needs the lock.
func (w *Wall) idleFor(last *worker.Reading, patient bool) int {
	if last != nil {
		if i := slices.IndexFunc(w.idle, func(p *process) bool { return p.last == last }); i >= 0 {
			return i
		}
	}
	for i := len(w.idle) - 1; i >= 0; i-- {
		if w.idle[i].patient == patient {
			return i
		}
	}
	return -1
}

var errClosed = errors.New("the child processes of the service were ended")

// put gives a child back, or replaces it where it is done for.
func (w *Wall) put(p *process) {
	w.mu.Lock()
	switch {
	case p.alive() && p.jobs < w.config.Jobs && !w.closed && !(p.patient && w.patientIdle() >= w.config.Ready):
		w.idle = append(w.idle, p)
		w.mu.Unlock()
		return
	case !p.alive():
		w.killed++
	}
	delete(w.all, p)
	enough := p.patient || w.closed || w.plain() >= w.config.Ready
	if !enough {
		w.coming++
	}
	w.mu.Unlock()
	w.starting.Go(p.retire)
	if !enough {
		w.startAhead()
	}
}

// patientIdle is how many children wait that are patient. It needs the lock.
func (w *Wall) patientIdle() (count int) {
	for _, p := range w.idle {
		if p.patient {
			count++
		}
	}
	return count
}

// giveWay makes a child at work a patient one, and starts another in its stead.
func (w *Wall) giveWay(p *process) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if p.patient {
		return
	}
	p.patient = true
	giveWay(p.command.Process.Pid)
	if !w.closed && w.plain() < w.config.Ready {
		w.coming++
		w.startAhead()
	}
}

// plain is how many children there are, or soon will be, that are not patient. It needs
// the lock.
func (w *Wall) plain() int {
	count := w.coming
	for p := range w.all {
		if !p.patient {
			count++
		}
	}
	return count
}

// startAhead starts a child before there is work for it; it counts among those that are
// coming.
func (w *Wall) startAhead() {
	w.starting.Go(func() {
		p, err := w.start(false)
		w.mu.Lock()
		w.coming--
		if err != nil {
			w.mu.Unlock()
			w.config.Logger.Error("a child process could not be started", "error", err)
			return
		}
		closed := w.closed
		if !closed {
			w.idle = append(w.idle, p)
		}
		w.mu.Unlock()
		if closed {
			p.retire()
		}
	})
}

func (w *Wall) start(patient bool) (*process, error) {
	p, err := begin(&w.config, patient)
	if err != nil {
		return nil, err
	}
	w.mu.Lock()
	w.begun++
	w.all[p] = true
	w.mu.Unlock()
	go func() {
		<-p.ended
		w.replace(p)
	}()
	return p, nil
}

// replace starts another child for one that ended while it waited, before a score has to
// wait for that.
func (w *Wall) replace(p *process) {
	w.mu.Lock()
	defer w.mu.Unlock()
	at := slices.Index(w.idle, p)
	if w.closed || at < 0 {
		return
	}
	w.idle = slices.Delete(w.idle, at, at+1)
	delete(w.all, p)
	w.killed++
	w.starting.Go(p.retire)
	if !p.patient {
		w.coming++
		w.startAhead()
	}
}

// Counts are how many children were begun, and how many ended before their time.
func (w *Wall) Counts() (begun, ended int) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.begun, w.killed
}

// Close ends the children that wait; those that work end with their jobs.
func (w *Wall) Close() {
	w.mu.Lock()
	w.closed = true
	idle := w.idle
	w.idle = nil
	w.mu.Unlock()
	for _, p := range idle {
		p.retire()
	}
	w.starting.Wait()
}
