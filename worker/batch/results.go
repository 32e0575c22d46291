package batch

import (
	"context"

	"partwright/worker/store"
)

// Results returns a page of answers by number; see [store.Results]. A batch that
// is not the organization's is [store.ErrNotFound].
func (s *Service) Results(ctx context.Context, q store.ResultQuery) (page []store.Result, err error) {
	err = s.whole(ctx, func(tx store.Tx) error {
		if _, err := store.BatchByID(ctx, tx, q.Organization, q.Batch); err != nil {
			return err
		}
		page, err = store.Results(ctx, tx, q)
		return err
	}, func() (all []*store.Blob) {
		for i := range page {
			all = append(all, page[i].Blobs()...)
		}
		return all
	})
	return page, err
}

// Result returns what became of one score of a batch.
func (s *Service) Result(ctx context.Context, organization, id string, number int64) (r *store.Result, err error) {
	err = s.whole(ctx, func(tx store.Tx) error {
		r, err = store.ResultOf(ctx, tx, organization, id, number)
		return err
	}, func() []*store.Blob { return r.Blobs() })
	return r, err
}

// whole reads rows, and then what lies outside the database of it. What is gone may have
// been deleted meanwhile: then the rows are read again.
func (s *Service) whole(ctx context.Context, read func(store.Tx) error, of func() []*store.Blob) error {
	for try := 0; ; try++ {
		if err := s.store.Read(ctx, read); err != nil {
			return err
		}
		blobs := of()
		if err := s.store.Fetch(ctx, blobs...); err != nil {
			return err
		}
		missing := store.Gone(blobs...)
		if missing == 0 {
			return nil
		}
		if try > 0 {
			s.metrics.gone(missing)
			s.logger.ErrorContext(ctx, "stored documents are gone", "documents", missing)
			return nil // whoever reads one is told
		}
	}
}

// pageSize is how many answers a download holds at a time.
const pageSize = 32

// each calls f for every answer there is, page by page, so that a slow reader
// holds no transaction open.
func (s *Service) each(ctx context.Context, q store.ResultQuery, f func(*store.Result) error) error {
	q.Limit = pageSize
	for {
		page, err := s.Results(ctx, q)
		if err != nil {
			return err
		}
		for i := range page {
			if err := f(&page[i]); err != nil {
				return err
			}
			q.After = page[i].Number
		}
		if len(page) < pageSize {
			return nil
		}
	}
}
