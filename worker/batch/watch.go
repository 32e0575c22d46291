package batch

import "sync"

// watched are the batches that somebody waits for in this process. What another
// process does to one wakes nobody here: whoever waits looks again after a while in
// any case.
type watched struct {
	mu      sync.Mutex
	batches map[string]*watching
}

type watching struct {
	watches int
	next    chan struct{}
}

// Watch looks out for what happens to a batch, from [Service.Watch] to [Watch.End].
type Watch struct {
	in    *watched
	batch string
}

// Watch begins to look out for what happens to a batch, which need not be there.
func (s *Service) Watch(batch string) *Watch {
	w := &s.watched
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.batches == nil {
		w.batches = map[string]*watching{}
	}
	if w.batches[batch] == nil {
		w.batches[batch] = &watching{next: make(chan struct{})}
	}
	w.batches[batch].watches++
	return &Watch{w, batch}
}

// Changed returns a channel that is closed when the batch changes next. It must be
// asked for before looking at the batch, so that no change falls in between.
func (w *Watch) Changed() <-chan struct{} {
	w.in.mu.Lock()
	defer w.in.mu.Unlock()
	return w.in.batches[w.batch].next
}

// End ends the watch, once.
func (w *Watch) End() {
	w.in.mu.Lock()
	defer w.in.mu.Unlock()
	b := w.in.batches[w.batch]
	if b.watches--; b.watches == 0 {
		delete(w.in.batches, w.batch)
	}
}

func (w *watched) changed(batch string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if b := w.batches[batch]; b != nil {
		close(b.next)
		b.next = make(chan struct{})
	}
}

// keys are the idempotency keys whose requests are being answered.
type keys struct {
	mu   sync.Mutex
	busy map[[2]string]bool
}

// take claims a key of an organization; false if another request has it.
func (k *keys) take(organization, key string) bool {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.busy == nil {
		k.busy = map[[2]string]bool{}
	}
	at := [2]string{organization, key}
	if k.busy[at] {
		return false
	}
	k.busy[at] = true
	return true
}

func (k *keys) free(organization, key string) {
	k.mu.Lock()
	defer k.mu.Unlock()
	delete(k.busy, [2]string{organization, key})
}
