package api

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"partwright/worker/batch"
	"partwright/worker/report"
	"partwright/worker/store"
)

// storedProblem makes the problem document of a failure that is kept.
func storedProblem(text json.RawMessage) (*Problem, error) {
	var f report.Failure
	if err := json.Unmarshal(text, &f); err != nil {
		return nil, fmt.Errorf("reading a stored problem: %w", err)
	}
	k := kindOfFailure(&f)
	p := newProblem(k, f.Problem)
	p.Instance = "#"
	if k == unreadableScore || k == limitExceeded {
		p.Code = f.Code
	}
	if f.Advice != "" {
		p.Advice = f.Advice
	}
	p.File, p.Entry, p.Part, p.Measure, p.Line, p.Column = f.File, f.Entry, f.Part, f.Measure, f.Line, f.Column
	return &p, nil
}

// GetBatchScore serves GET /v1/batches/{batch}/scores/{number}.
func (h *handlers) GetBatchScore(c *gin.Context, id BatchPath, number NumberPath) {
	h.withBatches(c, func(ctx context.Context, s *batch.Service, organization string) error {
		r, err := s.Result(ctx, organization, id, number)
		if err != nil {
			return err
		}
		view, err := viewScore(r)
		if err == nil {
			h.writeJSON(c, view)
		}
		return err
	})
}

// GetMarkedScore serves GET /v1/batches/{batch}/scores/{number}/marked.
func (h *handlers) GetMarkedScore(c *gin.Context, id BatchPath, number NumberPath) {
	h.withBatches(c, func(ctx context.Context, s *batch.Service, organization string) error {
		r, err := s.Result(ctx, organization, id, number)
		if err != nil {
			return err
		}
		kept, err := batch.KeptOf(r)
		if err != nil {
			return err
		}
		score := kept.Check.Score()
		if score == nil {
			return refuse(notFound, "There is no marked score: the score has no answer yet or failed, or the batch was made without the option marks.")
		}
		return h.send(c, cleanFileName(r.Name), kept.Check, scoreOffers(isContainer(score.Data))[0])
	})
}

// GetMending serves GET /v1/batches/{batch}/scores/{number}/mending.
func (h *handlers) GetMending(c *gin.Context, id BatchPath, number NumberPath) {
	h.further(c, id, number, batch.MendingOf, "There is no mended score: the score has no answer yet or failed, or the batch was made without the option mend.")
}

// GetVoicing serves GET /v1/batches/{batch}/scores/{number}/voicing.
func (h *handlers) GetVoicing(c *gin.Context, id BatchPath, number NumberPath) {
	h.further(c, id, number, batch.VoicingOf, "There is no voicing: the score has no answer yet or failed, or the batch has not the option voice.")
}

// further answers with what came of a job that was done beside the check.
func (h *handlers) further(c *gin.Context, id string, number int64, of func(*store.Result) (*batch.Further, error), none string) {
	dependsOn(c.Writer.Header(), "Accept")
	h.withBatches(c, func(ctx context.Context, s *batch.Service, organization string) error {
		r, err := s.Result(ctx, organization, id, number)
		if err != nil {
			return err
		}
		found, err := of(r)
		switch {
		case err != nil:
			return err
		case found == nil:
			return refuse(notFound, none)
		case found.Problem != nil:
			return refuse(kindOfFailure(found.Problem), found.Problem.Problem)
		}
		offers := append([]string{typeJSON}, scoreOffers(isContainer(found.Answer.Score().Data))...)
		accepted, ok := negotiate(c.GetHeader("Accept"), append(offers, typeMixed))
		if !ok {
			return refuse(notAcceptable)
		}
		return h.send(c, cleanFileName(r.Name), found.Answer, accepted)
	})
}

// GetMendedScores serves GET /v1/batches/{batch}/mended.zip.
func (h *handlers) GetMendedScores(c *gin.Context, id BatchPath) {
	h.download(c, id, "mended.zip", "application/zip", (*batch.Service).WriteMended)
}

// GetAnswers serves GET /v1/batches/{batch}/answers.zip.
func (h *handlers) GetAnswers(c *gin.Context, id BatchPath) {
	h.download(c, id, "answers.zip", "application/zip", (*batch.Service).WriteAnswers)
}

// GetFindingsLines serves GET /v1/batches/{batch}/findings.ndjson.
func (h *handlers) GetFindingsLines(c *gin.Context, id BatchPath, p GetFindingsLinesParams) {
	if p.Lean {
		h.download(c, id, "findings.ndjson", "application/x-ndjson", func(s *batch.Service, ctx context.Context, organization, id string, w io.Writer) error {
			return s.WriteFindings(ctx, organization, id, report.EncodeLeanNDJSON(w))
		})
		return
	}
	h.download(c, id, "findings.ndjson", "application/x-ndjson", (*batch.Service).WriteNDJSON)
}

// GetFindingsTable serves GET /v1/batches/{batch}/findings.csv.
func (h *handlers) GetFindingsTable(c *gin.Context, id BatchPath) {
	h.download(c, id, "findings.csv", "text/csv", func(s *batch.Service, ctx context.Context, organization, id string, w io.Writer) error {
		return s.WriteFindings(ctx, organization, id, report.EncodeCSV(w))
	})
}

// GetMarkedScores serves GET /v1/batches/{batch}/marked.zip.
func (h *handlers) GetMarkedScores(c *gin.Context, id BatchPath) {
	h.download(c, id, "marked.zip", "application/zip", (*batch.Service).WriteMarked)
}

// GetFindingStatistics serves GET /v1/batches/{batch}/finding-statistics.csv.
func (h *handlers) GetFindingStatistics(c *gin.Context, id BatchPath) {
	h.download(c, id, "finding-statistics.csv", "text/csv", (*batch.Service).WriteFindingStatistics)
}

// GetHarmonyStatistics serves GET /v1/batches/{batch}/harmony-statistics.csv.
func (h *handlers) GetHarmonyStatistics(c *gin.Context, id BatchPath) {
	h.download(c, id, "harmony-statistics.csv", "text/csv", (*batch.Service).WriteHarmonyStatistics)
}

// GetStatistics serves GET /v1/batches/{batch}/statistics.csv, an earlier name.
func (h *handlers) GetStatistics(c *gin.Context, id BatchPath) { h.GetFindingStatistics(c, id) }

// GetHarmonies serves GET /v1/batches/{batch}/harmonies.csv, an earlier name.
func (h *handlers) GetHarmonies(c *gin.Context, id BatchPath) { h.GetHarmonyStatistics(c, id) }

// GetTable serves GET /v1/batches/{batch}/tables/{table}.
func (h *handlers) GetTable(c *gin.Context, id BatchPath, table string) {
	h.download(c, id, table+".parquet", typeParquet, func(s *batch.Service, ctx context.Context, organization, id string, w io.Writer) error {
		return s.WriteTable(ctx, organization, id, table, w)
	})
}

// typeParquet is the registered media type of Apache Parquet.
const typeParquet = "application/vnd.apache.parquet"

// writeAccepted answers 202 with where to ask, and a value.
func (h *handlers) writeAccepted(c *gin.Context, location string, value any) error {
	body, err := encodeJSON(value)
	if err != nil {
		return err
	}
	c.Header("Location", location)
	c.Header("Content-Type", typeJSON)
	h.write(c, http.StatusAccepted, body)
	return nil
}

func scoreAddress(id string, number int64) string {
	return batchAddress(id) + "/scores/" + strconv.FormatInt(number, 10)
}

func batchAddress(id string) string { return "/v1/batches/" + id }
