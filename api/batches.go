package api

import (
	"context"
	"encoding/json"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"partwright/worker/batch"
	"partwright/worker/store"
)

// batches returns the service that keeps batches, if there is one.
func (h *handlers) batches() (*batch.Service, error) {
	if h.config.Batches == nil {
		return nil, refuse(notFound, "This service keeps no batches: it was started without a data directory or a database.")
	}
	return h.config.Batches, nil
}

// withBatches calls f if batches are kept, and renders its error.
func (h *handlers) withBatches(c *gin.Context, f func(ctx context.Context, s *batch.Service, organization string) error) {
	service, err := h.batches()
	if err == nil {
		err = f(c.Request.Context(), service, organizationOf(c))
	}
	if err != nil {
		fail(c, inBatches.of(err))
	}
}

// ListBatches serves GET /v1/batches.
func (h *handlers) ListBatches(c *gin.Context, params ListBatchesParams) {
	h.withBatches(c, func(ctx context.Context, s *batch.Service, organization string) error {
		orDefault(&params.Limit, 100)
		all, err := s.List(ctx, organization, params.After, params.Limit)
		if err != nil {
			return err
		}
		list := BatchList{Batches: []Batch{}}
		for _, b := range all {
			list.Batches = append(list.Batches, batchView(b))
		}
		if len(all) == params.Limit {
			list.Next = all[len(all)-1].ID
		}
		h.writeJSON(c, list)
		return nil
	})
}

// GetBatch serves GET /v1/batches/{batch}.
func (h *handlers) GetBatch(c *gin.Context, id BatchPath) {
	h.withBatches(c, func(ctx context.Context, s *batch.Service, organization string) error {
		return h.writeBatch(ctx, c, s, organization, id)
	})
}

func (h *handlers) writeBatch(ctx context.Context, c *gin.Context, s *batch.Service, organization, id string) error {
	status, err := s.Status(ctx, organization, id)
	if err == nil {
		h.writeJSON(c, batchView(status))
	}
	return err
}

// DeleteBatch serves DELETE /v1/batches/{batch}.
func (h *handlers) DeleteBatch(c *gin.Context, id BatchPath) {
	h.withBatches(c, func(ctx context.Context, s *batch.Service, organization string) error {
		return noContent(c, s.Delete(ctx, organization, id))
	})
}

// DeleteBatchScore serves DELETE /v1/batches/{batch}/scores/{number}.
func (h *handlers) DeleteBatchScore(c *gin.Context, id BatchPath, number NumberPath) {
	h.withBatches(c, func(ctx context.Context, s *batch.Service, organization string) error {
		return noContent(c, s.DeleteScore(ctx, organization, id, number))
	})
}

// noContent answers 204 unless there is an error.
func noContent(c *gin.Context, err error) error {
	if err == nil {
		c.Status(http.StatusNoContent)
		c.Writer.WriteHeaderNow()
	}
	return err
}

// changeBatch does something to a batch and answers how it is then.
func (h *handlers) changeBatch(c *gin.Context, id string, change func(*batch.Service) func(context.Context, string, string) (*store.Batch, error)) {
	h.withBatches(c, func(ctx context.Context, s *batch.Service, organization string) error {
		if _, err := change(s)(ctx, organization, id); err != nil {
			return err
		}
		return h.writeBatch(ctx, c, s, organization, id)
	})
}

type batchChange = func(context.Context, string, string) (*store.Batch, error)

// CloseBatch serves POST /v1/batches/{batch}/close.
func (h *handlers) CloseBatch(c *gin.Context, id BatchPath) {
	h.changeBatch(c, id, func(s *batch.Service) batchChange { return s.Close })
}

// CancelBatch serves POST /v1/batches/{batch}/cancel.
func (h *handlers) CancelBatch(c *gin.Context, id BatchPath) {
	h.changeBatch(c, id, func(s *batch.Service) batchChange { return s.Cancel })
}

// ResumeBatch serves POST /v1/batches/{batch}/resume.
func (h *handlers) ResumeBatch(c *gin.Context, id BatchPath) {
	h.changeBatch(c, id, func(s *batch.Service) batchChange { return s.Resume })
}

// RetryBatch serves POST /v1/batches/{batch}/retry.
func (h *handlers) RetryBatch(c *gin.Context, id BatchPath) {
	h.changeBatch(c, id, func(s *batch.Service) batchChange { return s.Retry })
}

func batchView(s *batch.Status) Batch {
	view := Batch{
		ID: s.ID, State: string(s.State), Created: s.Created, Skipped: s.Skipped,
		Scores:          countsView(s.Counts),
		ScoresPerSecond: float32(s.Rate), SecondsLeft: float32(s.Left.Seconds()),
		WaitedSeconds: float32(s.Waited.Seconds()), WorkedSeconds: float32(s.Worked.Seconds()),
		SlowestSeconds: float32(s.Slowest.Seconds()), SlowestScore: s.SlowestNumber,
	}
	view.Closed, view.Finished = momentOrNone(s.Closed), momentOrNone(s.Finished)
	return view
}

func countsView(n store.Counts) ScoreCounts {
	return ScoreCounts{Total: n.Total, Waiting: n.Waiting, Done: n.Done, Failed: n.Failed, Canceled: n.Canceled}
}

func momentOrNone(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}

// scoreView is a score of a batch with its answer; the report is passed on as it
// is kept.
type scoreView struct {
	Number   int64           `json:"number"`
	File     string          `json:"file"`
	State    string          `json:"state"`
	Reused   bool            `json:"reused,omitempty"`
	Finished *time.Time      `json:"finished,omitempty"`
	Engine   string          `json:"engine,omitempty"`
	Report   json.RawMessage `json:"report,omitempty"`
	Problem  *Problem        `json:"problem,omitempty"`
}

func viewScore(r *store.Result) (scoreView, error) {
	view := scoreView{Number: r.Number, File: r.Name, State: string(r.State), Reused: r.Reused, Finished: momentOrNone(r.Finished), Engine: r.Engine}
	if r.Problem != nil {
		problem, err := storedProblem(r.Problem)
		view.Problem = problem
		return view, err
	}
	report, err := r.Report.Unpack()
	view.Report = report
	return view, err
}
