package batch

import (
	"cmp"
	"context"
	"time"

	"partwright/worker/stage"
	"partwright/worker/store"
)

// window begins members of a chunk and takes their answers in the order in which they
// were begun. One goroutine uses it.
type window struct {
	*chunkRun
	by    *answerer
	begun []*begunMember
	// ended is when the last answer that was taken was there.
	ended time.Time
	// careful saves each answer at once.
	careful bool
	// left is why members have no answer that can have none now: the first [scoreFault].
	left error
}

// begunMember is a member that is worked on. Result, err and ended are there once done is
// closed.
type begunMember struct {
	member       *store.Member
	same         sameAnswer
	began, ended time.Time
	done         chan struct{}
	result       store.NewResult
	err          error
}

// begin takes answers until a member may be begun, and begins it, unless the time of the
// chunk is over. An error is one after which no other member can be answered.
func (w *window) begin(ctx context.Context, m *store.Member) (over bool, err error) {
	b := &begunMember{member: m, same: sameAnswer{m.Hash, w.recipe.of(m), w.recipe.bound(m)}, done: make(chan struct{})}
	if err := w.take(ctx, w.room(b)); err != nil {
		return false, err
	}
	if w.late() {
		// What a job counts, its faults and the ends of processes, must stay with its scores.
		if !w.careful && w.left == nil {
			return true, nil
		}
		if err := w.save(ctx, nil); err != nil {
			return false, err
		}
	}
	if w.fresh[b.same] {
		// The answer to the same score is found where it is kept.
		if err := w.save(ctx, nil); err != nil {
			return false, err
		}
	}
	w.begun, b.began = append(w.begun, b), time.Now()
	go func() {
		defer close(b.done)
		b.err = stage.Guard("", func() (err error) {
			b.result, err = w.by.answer(ctx, m, b.same)
			return err
		})
		b.ended = time.Now()
	}()
	return false, nil
}

// late tells whether the time of the chunk is over; something has an answer then.
func (w *window) late() bool {
	return !w.ended.IsZero() && time.Since(w.saved) > w.service.config.ChunkTime
}

// room is how many may be worked on when a member is begun: none that is the same, and
// none beside a large one.
func (w *window) room(next *begunMember) int {
	for _, b := range w.begun {
		if b.same == next.same || max(b.member.Size, next.member.Size) > mostSmall {
			return 0
		}
	}
	return w.by.atOnce - 1
}

// take takes answers until so many members are worked on.
func (w *window) take(ctx context.Context, most int) error {
	for len(w.begun) > most {
		b := w.begun[0]
		<-b.done
		w.begun = w.begun[1:]
		if err := w.took(ctx, b); err != nil {
			return err
		}
		if w.careful {
			if err := w.save(ctx, nil); err != nil {
				return err
			}
		}
	}
	return nil
}

// took takes an answer. After a [scoreFault] the others can still be answered.
func (w *window) took(ctx context.Context, b *begunMember) error {
	// Those that were handed over together are worked on one after the other.
	from := b.began
	if from.Before(w.ended) {
		from = w.ended
	}
	b.result.Took, w.ended = max(b.ended.Sub(from), 0), b.ended
	if !b.result.Reused {
		w.service.metrics.score(ctx, b.result.Took)
	}
	switch {
	case b.err == nil:
		w.results = append(w.results, b.result)
		if !b.result.Reused && b.result.Problem == nil {
			w.fresh[b.same] = true
		}
	case !isFault(b.err):
		return b.err
	case w.job.Faults() >= mostFaults:
		w.fail(b.member, b.err)
	default:
		w.left = cmp.Or(w.left, b.err)
	}
	return nil
}

// wait waits for what is still worked on after an error, and takes what answers there are.
func (w *window) wait() {
	for _, b := range w.begun {
		<-b.done
		_ = w.took(context.Background(), b) // the first error counts
	}
	w.begun = nil
}
