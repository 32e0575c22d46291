package files

import (
	"context"
	"iter"
	"runtime"

	"partwright/worker"
	"partwright/worker/stage"
)

// Run does one job on many items; T is what comes of one.
type Run[T any] struct {
	// Job is what is done with each score, such as [pool.Pool.Submit] with its
	// options. It is called on several goroutines at once.
	Job func(context.Context, worker.Input) (T, error)
	// Workers is how many scores are worked on at once (default GOMAXPROCS).
	Workers int
	// Counts are those of the outcomes that were yielded.
	Counts Counts
}

// Counts are how many items came to what.
type Counts struct {
	Read, Unreadable int
	// Skipped leaves out what was no surprise; see [Item.Expected].
	Skipped int
}

// Outcome is what became of one item: a result, an error, or, for an item that
// was skipped, neither.
type Outcome[T any] struct {
	Item   Item
	Result T
	Err    error
}

// Over yields the outcome of every item, in the order of the items; see [InOrder].
func (r *Run[T]) Over(ctx context.Context, items iter.Seq[Item]) iter.Seq[Outcome[T]] {
	return func(yield func(Outcome[T]) bool) {
		for o := range InOrder(ctx, r.Workers, items, r.one) {
			r.Counts.add(&o.Item, o.Err)
			if !yield(o) {
				return
			}
		}
	}
}

func (c *Counts) add(item *Item, err error) {
	switch {
	case item.Skipped == "" && err == nil:
		c.Read++
	case item.Skipped == "":
		c.Unreadable++
	case !item.Expected:
		c.Skipped++
	}
}

// pending is a thing that is worked on, and where its result comes.
type pending[A, B any] struct {
	thing  A
	result chan B
}

// InOrder does a job on many things, on as many goroutines as workers says (default
// GOMAXPROCS), and yields what comes of them in the order of the things. No more than
// about twice as many are held at a time, however many there are. When ctx is done it
// ends at once, with what was begun left out.
func InOrder[A, B any](ctx context.Context, workers int, things iter.Seq[A], job func(context.Context, A) B) iter.Seq[B] {
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	return func(yield func(B) bool) {
		ctx, cancel := context.WithCancel(ctx)
		defer cancel()
		work := make(chan pending[A, B])
		// The buffer lets workers run ahead of a slow one at the front.
		inOrder := make(chan pending[A, B], workers)
		for range workers {
			go func() {
				for p := range work {
					p.result <- job(ctx, p.thing)
				}
			}()
		}
		go distribute(ctx, things, inOrder, work)
		for {
			p, ok := receive(ctx, inOrder)
			if !ok {
				return
			}
			outcome, ok := receive(ctx, p.result)
			if !ok || !yield(outcome) {
				return
			}
		}
	}
}

// distribute announces each thing to the reader, in order, and gives it to a worker.
func distribute[A, B any](ctx context.Context, things iter.Seq[A], inOrder, work chan<- pending[A, B]) {
	defer close(inOrder)
	defer close(work)
	for thing := range things {
		p := pending[A, B]{thing, make(chan B, 1)}
		for _, to := range []chan<- pending[A, B]{inOrder, work} {
			select {
			case to <- p:
			case <-ctx.Done():
				return
			}
		}
	}
}

// receive waits for a value, but not longer than for ctx: standard input may
// never answer.
func receive[T any](ctx context.Context, from <-chan T) (value T, ok bool) {
	select {
	case value, ok = <-from:
		return value, ok && ctx.Err() == nil
	case <-ctx.Done():
		return value, false
	}
}

func (r *Run[T]) one(ctx context.Context, item Item) Outcome[T] {
	o := Outcome[T]{Item: item}
	if item.Skipped != "" {
		return o
	}
	var data []byte
	o.Err = stage.Guard(stage.Read, func() (err error) {
		data, err = item.Read()
		return err
	})
	in := worker.Input{Name: item.Name, Data: data}
	if o.Err == nil && item.Labels != nil {
		in.Labels, o.Err = item.Labels()
	}
	if o.Err == nil {
		o.Result, o.Err = r.Job(ctx, in)
	}
	return o
}
