package pool

import (
	"context"
	"errors"
	"sync"
	"time"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/request"
)

// MostTogether is how many short scores are handed over together: so many that who works
// on them need not wait between them, so few that who waits for their slot soon has it.
const MostTogether = 8

// Row is where one who has many scores gives them to a pool, as many at a time as he
// likes: it holds one slot, or waits for one. Short scores are handed over together where
// the engine takes them so, see [Hander]; others are done one after the other. Each has
// its own time, its own end and its own answer. It is safe for concurrent use.
type Row struct {
	pool *Pool
	// place is full while the row has a slot or waits for one.
	place chan struct{}

	mu    sync.Mutex
	group *group // which further scores may join, nil for none
}

// group is a few scores that have one slot.
type group struct {
	// open is closed once there is a slot, or err that says why there is none.
	open chan struct{}
	err  error
	slot *slot
	do   func(context.Context, worker.Input, request.Plan) (*answer.Answer, error)
	end  func()
	// joined came, left are done. The lock of the row guards them.
	joined, left int
}

// Row returns a new row.
func (p *Pool) Row() *Row { return &Row{pool: p, place: make(chan struct{}, 1)} }

// Do is [Pool.Do].
func (r *Row) Do(ctx context.Context, in worker.Input, plan request.Plan) (*answer.Answer, error) {
	p := r.pool
	hander, hands := p.engine.(Hander)
	takes := estimate(&in, plan)
	if !hands || p.config.class(takes) != short {
		select {
		case r.place <- struct{}{}:
		case <-ctx.Done():
			return nil, context.Cause(ctx)
		}
		defer func() { <-r.place }()
		return p.Do(ctx, in, plan)
	}
	var a *answer.Answer
	err := p.report(ctx, plan.Job(), in.Size()+plan.Size(), func(ctx context.Context) error {
		g, err := r.join(ctx, hander, takes*MostTogether)
		if err != nil {
			return err
		}
		return p.within(ctx, short, g.slot, func(ctx context.Context) (err error) {
			a, err = g.do(ctx, in, plan)
			return err
		}, func() { r.leave(g) })
	})
	if err != nil {
		return nil, err // as in [Pool.Do]
	}
	p.metrics.count(a)
	return a, nil
}

// join is the group that a score belongs to, once that has a slot.
func (r *Row) join(ctx context.Context, h Hander, takes time.Duration) (*group, error) {
	since := time.Now()
	for {
		g, first := r.seat()
		if first {
			r.begin(ctx, g, h, takes)
		}
		select {
		case <-g.open:
		case <-ctx.Done():
			r.leave(g)
			return nil, context.Cause(ctx)
		}
		if g.err == nil {
			if !first {
				r.pool.metrics.waited(time.Since(since))
			}
			return g, nil
		}
		r.leave(g)
		// That another one's time to wait was over says nothing of this one.
		if first || errors.Is(g.err, ErrBusy) || errors.Is(g.err, ErrDraining) {
			return nil, g.err
		}
	}
}

// seat is a place in the group that scores may join, or in a new one, which the first of
// it has to begin.
func (r *Row) seat() (g *group, first bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if g = r.group; g != nil && g.joined < MostTogether && r.pool.mayJoin(g) {
		g.joined++
		return g, false
	}
	g = &group{open: make(chan struct{}), joined: 1}
	r.group = g
	return g, true
}

// mayJoin tells whether further scores may go along with those of a group.
func (p *Pool) mayJoin(g *group) bool {
	select {
	case <-g.open:
	default:
		return true
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	return g.err == nil && !p.draining && g.slot.class == short
}

// begin waits for a slot for a group, which is thought to need it for so long.
func (r *Row) begin(ctx context.Context, g *group, h Hander, takes time.Duration) {
	defer close(g.open)
	select {
	case r.place <- struct{}{}:
	case <-ctx.Done():
		g.err = context.Cause(ctx)
		return
	}
	if g.err = r.pool.enter(ctx, short, takes); g.err != nil {
		<-r.place
		return
	}
	g.slot = &slot{start: time.Now(), class: short}
	g.do, g.end = h.Together()
}

// leave ends one score of a group; the last gives the slot back.
func (r *Row) leave(g *group) {
	r.mu.Lock()
	g.left++
	last := g.left == g.joined
	if last && r.group == g {
		r.group = nil
	}
	r.mu.Unlock()
	if !last || g.slot == nil {
		return
	}
	g.end()
	g.slot.scores = g.joined
	r.pool.leave(g.slot)
	<-r.place
}
