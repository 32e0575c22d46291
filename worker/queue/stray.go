package queue

import (
	"context"
	"sync"
	"time"

	"partwright/worker/store"
)

// hand knows which jobs this process works on, and finds those that the database
// says it does and that it does not. Such strays come from a database that was gone
// when a job was handed out, or when its error was to be written.
type hand struct {
	mu     sync.Mutex
	jobs   map[int64]bool
	strays map[stray]time.Time // when each was first seen
}

// stray is one attempt at a job.
type stray struct{ id, attempt int64 }

// take notes that a job is worked on until the function it returns is called.
func (h *hand) take(id int64) (put func()) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.jobs == nil {
		h.jobs = map[int64]bool{}
	}
	h.jobs[id] = true
	return func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		delete(h.jobs, id)
	}
}

// sort returns those of the running jobs that have been nobody's for so long.
func (h *hand) sort(running []stray, long time.Duration) (lost []stray) {
	h.mu.Lock()
	defer h.mu.Unlock()
	before := h.strays
	h.strays = map[stray]time.Time{}
	for _, s := range running {
		if h.jobs[s.id] {
			continue
		}
		since, seen := before[s]
		if !seen {
			since = time.Now()
		}
		if time.Since(since) >= long {
			lost = append(lost, s)
			continue
		}
		h.strays[s] = since
	}
	return lost
}

// straysAfter is how many times the time after which a process is dead a job may
// run without being in hand: the error of a job that has ended is written in the
// meantime, with several tries.
const straysAfter = 2

// gather brings back jobs of this process that it does not work on. It did not end
// under them, so the attempt does not count.
func (q *Queue) gather(ctx context.Context) error {
	var running []stray
	err := q.store.Read(ctx, func(tx store.Tx) error {
		running = nil
		return store.Each(ctx, tx, func(scan store.Scan) error {
			var s stray
			err := scan(&s.id, &s.attempt)
			running = append(running, s)
			return err
		}, q.client.dialect().running, q.id)
	})
	if err != nil {
		return err
	}
	lost := q.hand.sort(running, straysAfter*q.config.Dead)
	if len(lost) == 0 {
		return nil
	}
	return q.store.Write(ctx, func(tx store.Tx) error {
		var all int64
		for _, s := range lost {
			n, err := store.Exec(ctx, tx, `UPDATE river_job SET state = 'available', attempt = attempt - 1
				WHERE id = $1 AND attempt = $2 AND state = 'running'`, s.id, s.attempt)
			if err != nil {
				return err
			}
			all += n
		}
		q.told(ctx, all)
		return nil
	})
}
