package batch

import (
	"context"
	"errors"
	"strconv"

	"partwright/worker"
	"partwright/worker/queue"
	"partwright/worker/store"
)

// Add adds one score to an open batch and returns its number. With a key that came
// before with the same score it returns the number given then, also when the
// batch has been closed since.
func (s *Service) Add(ctx context.Context, organization, id string, in worker.Input, key Key) (int64, error) {
	earlier, free, err := s.claim(ctx, organization, key)
	if err != nil {
		return 0, err
	}
	defer free()
	if earlier != "" {
		return strconv.ParseInt(earlier, 10, 64)
	}
	members := []store.NewMember{newMember(in)}
	if err := s.store.CarryMembers(ctx, organization, members); err != nil {
		return 0, err
	}
	var number int64
	_, err = s.change(ctx, organization, id, func(tx store.Tx, b *store.Batch) error {
		if b.State != store.BatchOpen || b.Receiver != "" {
			return ErrClosed
		}
		number = b.Last + 1
		if err := s.add(ctx, tx, b, members, queue.Urgent); err != nil {
			return err
		}
		return s.keep(ctx, tx, organization, key, strconv.FormatInt(number, 10))
	})
	if errors.Is(err, errOvertaken) {
		earlier, _, err = s.claimed(ctx, organization, key)
		if err == nil {
			number, err = strconv.ParseInt(earlier, 10, 64)
		}
	}
	return number, err
}

// errOvertaken ends the transaction of a request whose key another process kept
// first.
var errOvertaken = errors.New("the same request was answered elsewhere")

// keep writes what a request with the key came to, in its transaction.
func (s *Service) keep(ctx context.Context, tx store.Tx, organization string, key Key, answer string) error {
	if key.Value == "" {
		return nil
	}
	first, err := s.store.Remember(ctx, tx, organization, key.Value, key.Fingerprint, answer)
	if err == nil && !first {
		err = errOvertaken
	}
	return err
}

// claim returns what a request with the key came to before, "" if it is the
// first; then no other with the key is let in until free is called.
func (s *Service) claim(ctx context.Context, organization string, key Key) (earlier string, free func(), err error) {
	if key.Value == "" {
		return "", func() {}, nil
	}
	if !s.keys.take(organization, key.Value) {
		return "", nil, ErrInProgress
	}
	free = func() { s.keys.free(organization, key.Value) }
	earlier, found, err := s.claimed(ctx, organization, key)
	if err != nil {
		free()
		return "", nil, err
	}
	if !found {
		return "", free, nil
	}
	return earlier, free, nil
}

func (s *Service) claimed(ctx context.Context, organization string, key Key) (answer string, found bool, err error) {
	err = s.store.Read(ctx, func(tx store.Tx) error {
		answer, err = store.Remembered(ctx, tx, organization, key.Value, key.Fingerprint)
		return err
	})
	if errors.Is(err, store.ErrNotFound) {
		return "", false, nil
	}
	return answer, err == nil, err
}
