package pool

import (
	"container/list"
	"context"
	"time"

	"partwright/worker/request"
)

// class is how long a score is thought to take.
type class int8

const (
	plain class = iota
	// short ones have a few slots beside the others, so that they need not wait for a score
	// that takes longer than was thought.
	short
	heavy
)

// class is that of a score with this estimate.
func (c *Config) class(estimate time.Duration) class {
	switch {
	case estimate >= c.Heavy:
		return heavy
	case estimate < c.Heavy/shortPart:
		return short
	}
	return plain
}

// shortPart is the part of the time of a heavy score that a short one takes at most.
const shortPart = 5

// spare is how many short scores run beside all others, where these hold the slots.
func (c *Config) spare() int { return max(c.Size/2, 1) }

// ticket is a place in the queue.
type ticket struct {
	since time.Time
	// rank orders those of one line: it is when they came, and later the longer they are
	// thought to take.
	rank  time.Time
	class class
	turn  chan struct{} // closed when a slot is handed over
}

// rankTimes is how many times as long as a score takes it lets others go first that came
// later and take next to nothing: eight that take a tenth of a second each keep none of
// those waiting, and none waits for ever.
const rankTimes = 10

// slot is the right to run one score, or a few short ones one after the other. The pool's
// lock guards it.
type slot struct {
	start time.Time
	class class
	left  bool
	// scores are how many had it; none where something else was done, whose time says
	// nothing of theirs.
	scores int
}

// run is the work on one score. The pool's lock guards it.
type run struct{ overran, ended bool }

// lineOf is where scores of a class wait, with how many may wait and how many may run.
func (p *Pool) lineOf(c class) (l *line, queue, size int) {
	if c == heavy {
		return &p.heavy, p.config.HeavyQueue, p.config.HeavySize
	}
	return &p.plain, p.config.Queue, p.config.Size
}

// room tells whether a score of a class may run beside those that do. Never do more than
// the size and what is spare run at once. It needs the lock.
func (p *Pool) room(c class) bool {
	switch c {
	case heavy:
		return p.running < p.config.Size && p.heavy.running < p.config.HeavySize
	case short:
		spare := p.config.spare()
		return p.running < p.config.Size || p.shorts < spare && p.running < p.config.Size+spare
	}
	return p.running < p.config.Size
}

// begin and end count a score that runs. They need the lock.
func (p *Pool) begin(c class) { p.count(c, 1) }
func (p *Pool) end(c class)   { p.count(c, -1) }

func (p *Pool) count(c class, n int) {
	l, _, _ := p.lineOf(c)
	l.running += n
	p.running += n
	if c == short {
		p.shorts += n
	}
}

// turn makes a score that runs longer than was thought a heavy one: those hold their
// share alone, and what is short goes on beside them.
func (p *Pool) turn(s *slot) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if s.left || s.class == heavy {
		return
	}
	p.end(s.class)
	s.class = heavy
	p.begin(heavy)
	p.handOver()
}

// waits is how many scores wait. It needs the lock.
func (p *Pool) waits() int { return p.plain.waiting.Len() + p.heavy.waiting.Len() }

// enter takes a slot, waiting in the queue if none is free. Takes is how long that is
// thought to be needed.
func (p *Pool) enter(ctx context.Context, c class, takes time.Duration) error {
	if err := ctx.Err(); err != nil {
		return context.Cause(ctx)
	}
	p.mu.Lock()
	l, queue, _ := p.lineOf(c)
	switch {
	case p.draining:
		p.mu.Unlock()
		return ErrDraining
	case p.room(c): // whoever waits may not run
		p.begin(c)
		p.mu.Unlock()
		p.metrics.waited(0)
		return nil
	case l.waiting.Len() >= queue:
		err := &BusyError{RetryAfter: p.retryAfter(c)}
		p.mu.Unlock()
		return err
	}
	now := time.Now()
	place := &ticket{since: now, rank: now.Add(rankTimes * takes), class: c, turn: make(chan struct{})}
	element := l.waiting.PushBack(place)
	p.mu.Unlock()
	return p.await(ctx, c, place, element)
}

// await waits for the turn of a ticket.
func (p *Pool) await(ctx context.Context, c class, place *ticket, element *list.Element) error {
	tired := time.NewTimer(p.config.Wait)
	defer tired.Stop()
	var err error
	select {
	case <-place.turn:
	case <-ctx.Done():
		err = context.Cause(ctx)
	case <-tired.C:
		err = &BusyError{RetryAfter: p.waitTime(c)}
	}
	if err != nil && p.withdraw(c, element) {
		return err
	}
	// If the turn came at the same moment, the score goes ahead.
	p.metrics.waited(time.Since(place.since))
	return nil
}

func (p *Pool) waitTime(c class) time.Duration {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.retryAfter(c)
}

// withdraw takes a ticket out of the queue; false if its turn has come.
func (p *Pool) withdraw(c class, element *list.Element) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	select {
	case <-element.Value.(*ticket).turn:
		return false
	default:
	}
	l, _, _ := p.lineOf(c)
	l.waiting.Remove(element)
	p.settle()
	return true
}

// overran notes that a score still runs past its deadline.
func (p *Pool) overran(r *run) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !r.ended {
		r.overran = true
		p.overrun++
	}
}

// ended notes that the work on a score is over.
func (p *Pool) ended(r *run) {
	p.mu.Lock()
	defer p.mu.Unlock()
	r.ended = true
	if r.overran {
		p.overrun--
	}
}

// leave gives a slot back, to the first ticket whose kind may run.
func (p *Pool) leave(s *slot) {
	p.mu.Lock()
	defer p.mu.Unlock()
	s.left = true
	l, _, _ := p.lineOf(s.class)
	if s.scores > 0 {
		// An eighth of the newest: the last dozen scores decide.
		l.mean += (time.Since(s.start)/time.Duration(s.scores) - l.mean) / 8
	}
	p.end(s.class)
	p.handOver()
	p.settle()
}

// handOver gives the slots that are free to the first tickets that may have them. It
// needs the lock.
func (p *Pool) handOver() {
	for {
		l, element := p.next()
		if element == nil {
			return
		}
		l.waiting.Remove(element)
		place := element.Value.(*ticket)
		p.begin(place.class)
		close(place.turn)
	}
}

// next is the first ticket that may have a slot, of the line whose first came before that
// of the other; nil for none. It needs the lock.
func (p *Pool) next() (next *line, first *list.Element) {
	var since time.Time
	for _, l := range []*line{&p.plain, &p.heavy} {
		element := l.front(p.room)
		if element == nil {
			continue
		}
		if came := element.Value.(*ticket).since; next == nil || came.Before(since) {
			next, first, since = l, element, came
		}
	}
	return next, first
}

// front is the first by rank that waits and may run, nil for none.
func (l *line) front(room func(class) bool) (first *list.Element) {
	for e := l.waiting.Front(); e != nil; e = e.Next() {
		t := e.Value.(*ticket)
		if room(t.class) && (first == nil || t.rank.Before(first.Value.(*ticket).rank)) {
			first = e
		}
	}
	return first
}

// settle closes idle when nothing is left to wait for. It needs the lock.
func (p *Pool) settle() {
	if p.draining && p.running == 0 && p.waits() == 0 {
		select {
		case <-p.idle:
		default:
			close(p.idle)
		}
	}
}

// retryAfter is when a place in the queue of a kind is likely to be free: the time in
// which its slots work off what waits and runs, at least a second. It needs the lock.
func (p *Pool) retryAfter(c class) time.Duration {
	l, _, size := p.lineOf(c)
	ahead := time.Duration(l.waiting.Len() + l.running)
	wait := ahead * l.mean / time.Duration(size)
	return min(max(wait.Round(time.Second), time.Second), 2*time.Minute)
}

// Admit returns the error of a score that would be turned away if it came now, and
// counts it, so that a caller need not fetch the score first. It keeps no place: a
// score that is admitted may still be turned away.
func (p *Pool) Admit(job request.Job) error {
	err := p.full()
	if err != nil {
		p.metrics.outcome(job, 0, err)
	}
	return err
}

func (p *Pool) full() error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.draining {
		return ErrDraining
	}
	if p.running >= p.config.Size && p.plain.waiting.Len() >= p.config.Queue {
		return &BusyError{RetryAfter: p.retryAfter(plain)}
	}
	return nil
}

// Drain refuses new scores and waits until those accepted, running or waiting,
// are done. It returns ctx's error if that comes first.
func (p *Pool) Drain(ctx context.Context) error {
	p.mu.Lock()
	p.draining = true
	p.settle()
	p.mu.Unlock()
	select {
	case <-p.idle:
		return nil
	case <-ctx.Done():
		return context.Cause(ctx)
	}
}

// Stats is a pool at one moment.
type Stats struct {
	// Size and Queue are its bounds.
	Size, Queue int
	// Running counts taken slots; Overrunning those among them whose score runs
	// past its deadline and was answered long since.
	Running, Overrunning int
	// Waiting counts scores in the queue, Oldest how long the first has waited.
	Waiting int
	Oldest  time.Duration
	// Mean is a moving average of the time a score runs that is not heavy; Heavy counts
	// the slots of those that are.
	Mean  time.Duration
	Heavy int
}

// Stats returns the pool's figures now.
func (p *Pool) Stats() Stats {
	p.mu.Lock()
	defer p.mu.Unlock()
	s := Stats{
		Size: p.config.Size, Queue: p.config.Queue, Running: p.running,
		Overrunning: p.overrun, Waiting: p.waits(), Mean: p.plain.mean, Heavy: p.heavy.running,
	}
	for _, l := range []*line{&p.plain, &p.heavy} {
		if front := l.waiting.Front(); front != nil {
			s.Oldest = max(s.Oldest, time.Since(front.Value.(*ticket).since))
		}
	}
	return s
}

// Stuck reports whether every slot is held by a score that overran its deadline:
// nothing can be done until one ends or the process is restarted.
func (p *Pool) Stuck() bool {
	s := p.Stats()
	return s.Overrunning >= s.Size
}
