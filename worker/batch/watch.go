package batch

import "sync"

// watch wakes those who wait for a batch to change. What another process does to
// it wakes nobody here: whoever waits looks again after a while in any case.
type watch struct {
	mu      sync.Mutex
	waiting map[string]chan struct{}
}

// Changed returns a channel that is closed when the batch changes next. It must be
// asked for before looking at the batch, so that no change falls in between.
func (s *Service) Changed(batch string) <-chan struct{} {
	w := &s.watch
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.waiting == nil {
		w.waiting = map[string]chan struct{}{}
	}
	if w.waiting[batch] == nil {
		w.waiting[batch] = make(chan struct{})
	}
	return w.waiting[batch]
}

func (w *watch) changed(batch string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if c := w.waiting[batch]; c != nil {
		close(c)
		delete(w.waiting, batch)
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
