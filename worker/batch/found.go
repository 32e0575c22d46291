package batch

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"partwright/worker/collection"
	"partwright/worker/report"
	"partwright/worker/store"
)

// ErrUnsearched is returned where the service keeps no rows to ask.
var ErrUnsearched = errors.New("the service does not keep what was found as rows")

// Ask answers a question over all batches of an organization with a page of rows, and
// with counts by columns where some are named: at most groups of them.
func (s *Service) Ask(ctx context.Context, q store.Find, by []string, groups int) (page *store.FoundPage, counts *store.FoundCounts, err error) {
	if !s.config.Search {
		return nil, nil, ErrUnsearched
	}
	err = s.store.Read(ctx, func(tx store.Tx) error {
		if page, err = q.Find(ctx, tx); err == nil && len(by) > 0 {
			counts, err = q.Count(ctx, tx, by, groups)
		}
		return err
	})
	return page, counts, err
}

// foundIn is what was found in one score.
func foundIn(r *report.Report) *store.Found {
	all := collection.RowsOf("", 0, r)
	return all.Found()
}

// foundNothing is what is known of a score that failed.
func foundNothing(name, engine string, problem json.RawMessage) *store.Found {
	f := &store.Found{Score: store.FoundScore{FoundIn: store.FoundIn{File: name}, Outcome: "failed", Engine: engine}}
	var failure report.Failure
	if json.Unmarshal(problem, &failure) == nil {
		f.Score.Problem = failure.Code
	}
	return f
}

// found is the same of an answer that is kept.
func found(r *store.Result) (*store.Found, error) {
	if r.Problem != nil {
		return foundNothing(r.Name, r.Engine, r.Problem), nil
	}
	said, err := readReport(r)
	if err != nil {
		return nil, err
	}
	return foundIn(said), nil
}

// find adds what is asked of an answer that does not say so yet.
func (s *Service) find(name string, r *store.NewResult) (err error) {
	if s.config.Search && r.Found == nil {
		r.Found, err = found(&store.Result{Name: name, Engine: r.Engine, Report: r.Report, Problem: r.Problem})
	}
	return err
}

// searchedAtOnce is how many answers get their rows in one transaction.
const searchedAtOnce = 100

// searchEarlier writes the rows of answers that have none: those of earlier versions, and
// of processes that write none.
func (s *Service) searchEarlier(ctx context.Context) error {
	for s.config.Search && ctx.Err() == nil {
		var b *store.Batch
		var page []store.Result
		err := s.whole(ctx, func(tx store.Tx) (err error) {
			if b, err = store.Unsearched(ctx, tx); err == nil {
				page, err = store.Unfound(ctx, tx, b, searchedAtOnce)
			}
			return err
		}, func() (all []*store.Blob) {
			for i := range page {
				all = append(all, page[i].Blobs()...)
			}
			return all
		})
		if errors.Is(err, store.ErrNotFound) {
			return nil
		}
		if err == nil {
			err = s.addFound(ctx, b, page)
		}
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			return fmt.Errorf("writing rows of earlier answers: %w", err)
		}
	}
	return ctx.Err()
}

// addFound writes the rows of answers. One that is gone has the row of a score that failed.
func (s *Service) addFound(ctx context.Context, b *store.Batch, page []store.Result) error {
	rows := make(map[int64]*store.Found, len(page))
	for i := range page {
		r := &page[i]
		f, err := found(r)
		if errors.Is(err, store.ErrBlobGone) {
			f, err = foundNothing(r.Name, r.Engine, failure(r.Name, err)), nil
		}
		if err != nil {
			return err
		}
		rows[r.Number] = f
	}
	_, err := s.change(ctx, b.Organization, b.ID, func(tx store.Tx, b *store.Batch) error {
		return store.AddFound(ctx, tx, b, rows)
	})
	return err
}
