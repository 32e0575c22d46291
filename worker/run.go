package worker

import (
	"context"
	"iter"
	"runtime"
	"sync"
	"time"
)

// Run does one job on many items.
type Run struct {
	// Job is what is done with each score, such as [Engine.Check] with its
	// options. It is called on several goroutines at once.
	Job func(context.Context, Input) (*Result, error)
	// Workers is how many scores are worked on at once (default: the number of
	// processors).
	Workers int
	// Timeout bounds the work on one score (default: none).
	Timeout time.Duration
}

// Outcome is what became of one item: a result, an error, or, for an item that
// was skipped, neither.
type Outcome struct {
	Item   Item
	Result *Result
	Err    error
}

// Over yields the outcome of every item, in the order of the items. No more
// than about twice Workers scores are held at a time, however many there are.
// When ctx is done, the remaining items are not begun and not yielded.
func (r *Run) Over(ctx context.Context, items iter.Seq[Item]) iter.Seq[Outcome] {
	workers := r.Workers
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	return func(yield func(Outcome) bool) {
		ctx, cancel := context.WithCancel(ctx)
		var running sync.WaitGroup
		defer running.Wait()
		defer cancel()

		type promise struct {
			item Item
			kept chan Outcome
		}
		queue := make(chan promise)
		// The buffer lets workers run ahead of a slow score at the front.
		inOrder := make(chan promise, workers)
		for range workers {
			running.Go(func() {
				for p := range queue {
					p.kept <- r.one(ctx, p.item)
				}
			})
		}
		running.Go(func() {
			defer close(inOrder)
			defer close(queue)
			for item := range items {
				p := promise{item, make(chan Outcome, 1)}
				select {
				case inOrder <- p:
				case <-ctx.Done():
					return
				}
				select {
				case queue <- p:
				case <-ctx.Done():
					// Already promised to the reader, who stops by itself.
					p.kept <- Outcome{Item: item, Err: ctx.Err()}
					return
				}
			}
		})
		for p := range inOrder {
			outcome := <-p.kept
			if ctx.Err() != nil || !yield(outcome) {
				return
			}
		}
	}
}

func (r *Run) one(ctx context.Context, item Item) Outcome {
	if item.Skipped != "" {
		return Outcome{Item: item}
	}
	if r.Timeout > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, r.Timeout)
		defer cancel()
	}
	data, err := item.Read()
	if err != nil {
		return Outcome{Item: item, Err: err}
	}
	result, err := r.Job(ctx, Input{Name: item.Name, Data: data})
	return Outcome{Item: item, Result: result, Err: err}
}
