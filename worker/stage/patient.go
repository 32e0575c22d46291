package stage

import (
	"context"
	"sync"
)

type paceKey struct{}

// pace tells whether work is to give way, and whoever does it once it is.
type pace struct {
	mu      sync.Mutex
	patient bool
	told    func()
}

// Pace is a context for work that may take long: once giveWay is called it is to give way
// to other work.
func Pace(ctx context.Context) (paced context.Context, giveWay func()) {
	p := &pace{}
	return context.WithValue(ctx, paceKey{}, p), p.giveWay
}

func (p *pace) giveWay() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.patient = true
	if p.told != nil {
		p.told()
	}
}

// IsPatient reports whether work is to give way.
func IsPatient(ctx context.Context) bool {
	p, _ := ctx.Value(paceKey{}).(*pace)
	if p == nil {
		return false
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.patient
}

// OnPatient calls f when work that does not give way is to do so from now on, until stop is
// called; f does not run any more when stop returns.
func OnPatient(ctx context.Context, f func()) (stop func()) {
	p, _ := ctx.Value(paceKey{}).(*pace)
	if p == nil {
		return func() {}
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if !p.patient {
		p.told = f
	}
	return func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.told = nil
	}
}
