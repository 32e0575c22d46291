package queue

import (
	"context"
	"sync"
	"time"

	"partwright/worker/store"
)

// ownJobs knows which jobs this process works on, and finds those that the database
// says it does and that it does not. Such lost jobs come from a database that was gone
// when a job was handed out, or when its error was to be written.
type ownJobs struct {
	mu      sync.Mutex
	jobs    map[int64]bool
	missing map[attempt]time.Time // when each was first seen
}

// attempt is one attempt at a job.
type attempt struct{ job, number int64 }

// begin notes that a job is worked on until the function it returns is called.
func (o *ownJobs) begin(id int64) (end func()) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.jobs == nil {
		o.jobs = map[int64]bool{}
	}
	o.jobs[id] = true
	return func() {
		o.mu.Lock()
		defer o.mu.Unlock()
		delete(o.jobs, id)
	}
}

// lost returns those of the running jobs that have been lost for so long.
func (o *ownJobs) lost(running []attempt, long time.Duration) (out []attempt) {
	o.mu.Lock()
	defer o.mu.Unlock()
	before := o.missing
	o.missing = map[attempt]time.Time{}
	for _, s := range running {
		if o.jobs[s.job] {
			continue
		}
		since, seen := before[s]
		if !seen {
			since = time.Now()
		}
		if time.Since(since) >= long {
			out = append(out, s)
			continue
		}
		o.missing[s] = since
	}
	return out
}

// lostAfter is how many times the time after which a process is dead a job may
// run without being worked on: the error of a job that has ended is written in the
// meantime, with several tries.
const lostAfter = 2

// requeueLost brings back jobs of this process that it does not work on. It did not end
// under them, so the attempt does not count.
func (q *Queue) requeueLost(ctx context.Context) error {
	var running []attempt
	err := q.store.Read(ctx, func(tx store.Tx) error {
		running = nil
		return store.Each(ctx, tx, func(scan store.Scan) error {
			var s attempt
			err := scan(&s.job, &s.number)
			running = append(running, s)
			return err
		}, q.client.dialect().running, q.id)
	})
	if err != nil {
		return err
	}
	lost := q.own.lost(running, lostAfter*q.config.Dead)
	if len(lost) == 0 {
		return nil
	}
	return q.store.Write(ctx, func(tx store.Tx) error {
		var all int64
		for _, s := range lost {
			n, err := store.Exec(ctx, tx, `UPDATE river_job SET state = 'available', attempt = attempt - 1
				WHERE id = $1 AND attempt = $2 AND state = 'running'`, s.job, s.number)
			if err != nil {
				return err
			}
			all += n
		}
		q.logRequeued(ctx, all)
		return nil
	})
}
