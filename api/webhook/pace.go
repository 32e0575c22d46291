package webhook

import (
	"maps"
	"sync"
	"time"
)

// A receiver is slow whose last answer took longer than slowAnswer. What finds all
// that a slow one may have busy is put off: by as long as what was put off before it
// will take, shortestPause at least and longestPause at most.
const (
	slowAnswer    = time.Second
	shortestPause = 250 * time.Millisecond
	longestPause  = time.Hour
)

// pace keeps receivers that are slow from holding all workers of a process: a
// message takes as long as its receiver likes, so turns alone are not fair.
type pace struct {
	share int // of the workers, for one that is slow or not known yet
	mu    *sync.Mutex
	of    map[string]*receiver // by id of the webhook
}

type receiver struct {
	running int
	known   bool
	last    time.Duration
	// free is when all that was put off will have been sent, seen when there last was
	// something to send.
	free, seen time.Time
}

func newPace(workers int) pace {
	return pace{max(1, workers/4), new(sync.Mutex), map[string]*receiver{}}
}

// begin takes a place for messages to a webhook, which end gives back. Where there is
// none, end is nil, and wait says for how long they are to be put off.
func (p *pace) begin(webhook string, messages int, now time.Time) (wait time.Duration, end func()) {
	p.mu.Lock()
	defer p.mu.Unlock()
	r := p.of[webhook]
	if r == nil {
		p.forget(now)
		r = &receiver{}
		p.of[webhook] = r
	}
	r.seen = now
	if r.running < p.share || r.known && r.last < slowAnswer {
		r.running++
		return 0, func() {
			p.mu.Lock()
			defer p.mu.Unlock()
			r.running--
		}
	}
	if r.free.Before(now) {
		r.free = now
	}
	r.free = r.free.Add(max(shortestPause, r.last*time.Duration(messages)/time.Duration(p.share)))
	if limit := now.Add(longestPause); r.free.After(limit) {
		r.free = limit
	}
	return r.free.Sub(now), nil
}

// forget drops receivers that have not been seen for as long as anything is put
// off.
func (p *pace) forget(now time.Time) {
	maps.DeleteFunc(p.of, func(_ string, r *receiver) bool {
		return r.running == 0 && now.Sub(r.seen) > longestPause && now.After(r.free)
	})
}

// took notes how long a receiver took to answer.
func (p *pace) took(webhook string, took time.Duration) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if r := p.of[webhook]; r != nil {
		r.known, r.last = true, took
	}
}
