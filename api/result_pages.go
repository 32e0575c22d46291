package api

import (
	"context"

	"github.com/gin-gonic/gin"

	"partwright/worker/batch"
	"partwright/worker/store"
)

// Bounds on what a page of results takes of memory: about how many bytes of reports
// it has, and how many results are read at once.
const (
	pageBytes     = 4 << 20
	resultsAtOnce = 32
)

// ListResults serves GET /v1/batches/{batch}/results.
func (h *handlers) ListResults(c *gin.Context, id BatchPath, params ListResultsParams) {
	h.withBatches(c, func(ctx context.Context, s *batch.Service, organization string) error {
		orDefault(&params.Limit, 100)
		// The state first: if it says that the batch is finished, nothing is missing.
		status, err := s.Status(ctx, organization, id)
		if err != nil {
			return err
		}
		page := ResultPage{State: string(status.State), Results: []BatchScore{}}
		err = fillPage(ctx, s, &page, store.ResultQuery{Organization: organization, Batch: id, After: params.After, Reports: true}, params.Limit)
		if err == nil {
			h.writeJSON(c, page)
		}
		return err
	})
}

// fillPage reads results until there are as many as the limit, enough bytes, or no
// more.
func fillPage(ctx context.Context, s *batch.Service, page *ResultPage, q store.ResultQuery, limit int) error {
	bytes := 0
	for len(page.Results) < limit {
		q.Limit = min(limit-len(page.Results), resultsAtOnce)
		results, err := s.Results(ctx, q)
		if err != nil {
			return err
		}
		for i := range results {
			if bytes >= pageBytes {
				page.Next = q.After
				return nil
			}
			view, err := viewScore(&results[i])
			if err != nil {
				return err
			}
			page.Results = append(page.Results, view)
			bytes += len(view.Report)
			q.After = view.Number
		}
		if len(results) < q.Limit {
			return nil
		}
	}
	page.Next = q.After
	return nil
}
