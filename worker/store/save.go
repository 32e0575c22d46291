package store

import "context"

// SaveAnswers is [Store.SaveResults] into a batch that is not being changed yet, and then
// [Store.Change] with what they come to, in one transaction. The answers are written before the batch is
// held, so that many who save into one do not wait for one another longer than it takes
// to count.
func (s *Store) SaveAnswers(ctx context.Context, tx Tx, organization, id string, results []NewResult) (*Batch, []NewResult, error) {
	// What they come to is counted by itself first.
	sum := &Batch{ID: id, Organization: organization, Searched: true}
	taken, err := s.SaveResults(ctx, tx, sum, results...)
	if err != nil {
		return nil, nil, err
	}
	b, err := s.Change(ctx, tx, organization, id, func(b *Batch) error {
		b.add(sum)
		if len(taken) > 0 {
			b.Tell(EventAnswered)
		}
		return nil
	})
	return b, taken, err
}

// add counts what answers have come to that were counted by themselves.
func (b *Batch) add(sum *Batch) {
	b.Waiting += sum.Waiting
	b.Done += sum.Done
	b.Failed += sum.Failed
	b.Bytes += sum.Bytes
	b.Worked += sum.Worked
	b.Searched = b.Searched && sum.Searched
	b.answered = append(b.answered, sum.answered...)
	if !sum.Started.IsZero() && (b.Started.IsZero() || sum.Started.Before(b.Started)) {
		b.Started = sum.Started
	}
	if sum.Slowest > b.Slowest {
		b.Slowest, b.SlowestNumber = sum.Slowest, sum.SlowestNumber
	}
}
