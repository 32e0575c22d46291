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
	// counts those that are being started ahead of it, waiting the jobs that wait for one
	// of them. Free tells these that there is one, or that none comes.
	starting sync.WaitGroup
	coming   int
	waiting  int
	free     sync.Cond
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
	w.free.L = &w.mu
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

// Do does a job as [worker.Engine.Do] does, with the same errors, and [stage.ErrLost]. Where a
// child ends by itself, by no limit of its own, the job is begun again, twice at most.
// The clock of the job runs while a child works on it, see [stage.Run].
func (w *Wall) Do(ctx context.Context, in worker.Input, plan request.Plan) (*answer.Answer, error) {
	h := &hand{wall: w}
	defer h.end()
	return h.Do(ctx, in, plan)
}

// Together is [Wall.Do] for several jobs that one child does in the order in which they
// are handed to it, without waiting for what comes of the one before. Each has its own
// time, which runs from when the child comes to it, its own end and its own answer. Where
// the child ends, the next does those that it had not come to. They are done until end is
// called, which is after the last of them.
func (w *Wall) Together() (do func(context.Context, worker.Input, request.Plan) (*answer.Answer, error), end func()) {
	h := &hand{wall: w}
	return h.Do, h.end
}

// take is an idle child, that which read a score last where there is one, or a new one.
// Patient work has children of its own: a process cannot take back that it gives way.
func (w *Wall) take(last *worker.Reading, patient bool) (*process, error) {
	w.mu.Lock()
	for !w.closed {
		at := w.idleFor(last, patient)
		if at < 0 && !patient && w.coming > w.waiting {
			// It is sooner there than another that is begun now.
			w.waiting++
			w.free.Wait()
			w.waiting--
			continue
		}
		if at < 0 {
			w.mu.Unlock()
			return w.start(patient)
		}
		p := w.idle[at]
		w.idle = slices.Delete(w.idle, at, at+1)
		if p.alive() {
			if patient {
				w.turn(p)
			}
			w.mu.Unlock()
			return p, nil
		}
		w.killed++
		delete(w.all, p)
		w.starting.Go(p.retire)
	}
	w.mu.Unlock()
	return nil, errClosed
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
	if patient {
		return len(w.idle) - 1 // it turns patient sooner than another begins
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
		w.free.Signal()
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
	w.turn(p)
}

// turn is giveWay. It needs the lock.
func (w *Wall) turn(p *process) {
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
		w.free.Broadcast()
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
	w.free.Broadcast()
	idle := w.idle
	w.idle = nil
	w.mu.Unlock()
	for _, p := range idle {
		p.retire()
	}
	w.starting.Wait()
}
