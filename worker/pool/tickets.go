package pool

import (
	"container/list"
	"context"
	"time"

	"partwright/worker/request"
)

// ticket is a place in the queue.
type ticket struct {
	since time.Time
	turn  chan struct{} // closed when a slot is handed over
}

// slot is the right to run one score. The pool's lock guards it.
type slot struct {
	start         time.Time
	heavy         bool
	overran, left bool
	// parses is set where no score is worked on: its time says nothing of theirs.
	parses bool
}

// lineOf is where scores of a kind wait, with how many may wait and how many may run.
func (p *Pool) lineOf(heavy bool) (l *line, queue, size int) {
	if heavy {
		return &p.heavy, p.config.HeavyQueue, p.config.HeavySize
	}
	return &p.plain, p.config.Queue, p.config.Size
}

// waits is how many scores wait. It needs the lock.
func (p *Pool) waits() int { return p.plain.waiting.Len() + p.heavy.waiting.Len() }

// enter takes a slot, waiting in the queue if none is free.
func (p *Pool) enter(ctx context.Context, heavy bool) error {
	if err := ctx.Err(); err != nil {
		return context.Cause(ctx)
	}
	p.mu.Lock()
	l, queue, size := p.lineOf(heavy)
	switch {
	case p.draining:
		p.mu.Unlock()
		return ErrDraining
	case p.running < p.config.Size && l.running < size && l.waiting.Len() == 0:
		p.running++
		l.running++
		p.mu.Unlock()
		p.metrics.waited(0)
		return nil
	case l.waiting.Len() >= queue:
		err := &BusyError{RetryAfter: p.retryAfter(heavy)}
		p.mu.Unlock()
		return err
	}
	place := &ticket{since: time.Now(), turn: make(chan struct{})}
	element := l.waiting.PushBack(place)
	p.mu.Unlock()
	return p.await(ctx, heavy, place, element)
}

// await waits for the turn of a ticket.
func (p *Pool) await(ctx context.Context, heavy bool, place *ticket, element *list.Element) error {
	tired := time.NewTimer(p.config.Wait)
	defer tired.Stop()
	var err error
	select {
	case <-place.turn:
	case <-ctx.Done():
		err = context.Cause(ctx)
	case <-tired.C:
		err = &BusyError{RetryAfter: p.waitTime(heavy)}
	}
	if err != nil && p.withdraw(heavy, element) {
		return err
	}
	// If the turn came at the same moment, the score goes ahead.
	p.metrics.waited(time.Since(place.since))
	return nil
}

func (p *Pool) waitTime(heavy bool) time.Duration {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.retryAfter(heavy)
}

// withdraw takes a ticket out of the queue; false if its turn has come.
func (p *Pool) withdraw(heavy bool, element *list.Element) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	select {
	case <-element.Value.(*ticket).turn:
		return false
	default:
	}
	l, _, _ := p.lineOf(heavy)
	l.waiting.Remove(element)
	p.settle()
	return true
}

// overran notes that a score still runs past its deadline.
func (p *Pool) overran(s *slot) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !s.left {
		s.overran = true
		p.overrun++
	}
}

// leave gives a slot back, to the oldest ticket whose kind may run.
func (p *Pool) leave(s *slot) {
	p.mu.Lock()
	defer p.mu.Unlock()
	s.left = true
	if s.overran {
		p.overrun--
	}
	l, _, _ := p.lineOf(s.heavy)
	if !s.parses {
		// An eighth of the newest: the last dozen scores decide.
		l.mean += (time.Since(s.start) - l.mean) / 8
	}
	l.running--
	p.running--
	if next := p.next(); next != nil {
		front := next.waiting.Front()
		next.waiting.Remove(front)
		next.running++
		p.running++
		close(front.Value.(*ticket).turn)
		return
	}
	p.settle()
}

// next is the line whose oldest ticket is to have a slot that is free, nil for none. It
// needs the lock.
func (p *Pool) next() (next *line) {
	var since time.Time
	for _, heavy := range []bool{false, true} {
		l, _, size := p.lineOf(heavy)
		front := l.waiting.Front()
		if front == nil || l.running >= size {
			continue
		}
		if came := front.Value.(*ticket).since; next == nil || came.Before(since) {
			next, since = l, came
		}
	}
	return next
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
func (p *Pool) retryAfter(heavy bool) time.Duration {
	l, _, size := p.lineOf(heavy)
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
		return &BusyError{RetryAfter: p.retryAfter(false)}
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
