package api

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"partwright/worker/classroom"
	"partwright/worker/classroom/classbook"
	"partwright/worker/request"
)

// markingAgain is the body of a request to mark again.
type markingAgain struct {
	Rules     string `json:"rules"`
	Rubric    string `json:"rubric"`
	OwnRules  string `json:"own_rules"`
	OwnRubric string `json:"own_rubric"`
	Confirm   string `json:"confirm"`
}

// MarkAgain serves POST /v1/assignments/{assignment}/markings.
func (h *handlers) MarkAgain(c *gin.Context, id AssignmentPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		var body markingAgain
		if err := h.readBody(c, "NewMarking", &body); err != nil {
			return err
		}
		out, err := s.MarkAgain(ctx, organization, id, decider(c), &classroom.Judging{
			Rules: body.Rules, Rubric: body.Rubric,
			OwnRules: request.Source{Name: "own_rules", Text: body.OwnRules}, OwnRubric: request.Source{Name: "own_rubric", Text: body.OwnRubric},
		}, body.Confirm)
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusOK, out)
	})
}

// SetRoster serves PUT /v1/assignments/{assignment}/roster.
func (h *handlers) SetRoster(c *gin.Context, id AssignmentPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		if _, err := s.Get(ctx, organization, id); err != nil {
			return err
		}
		roster, err := receiveTable(h, c, classroom.ReadRoster)
		if err != nil {
			return err
		}
		if err := s.SetRoster(ctx, organization, id, roster.References); err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusOK, roster)
	})
}

// GetRoster serves GET /v1/assignments/{assignment}/roster.
func (h *handlers) GetRoster(c *gin.Context, id AssignmentPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		dependsOn(c.Writer.Header(), "Accept")
		accepted, ok := negotiate(c.GetHeader("Accept"), []string{typeJSON, typeCSV})
		if !ok {
			return refuse(notAcceptable)
		}
		a, references, err := s.Roster(ctx, organization, id)
		if err != nil {
			return err
		}
		roster := classroom.Roster{References: append([]string{}, references...)}
		if accepted == typeCSV {
			return h.written(c, "enrollments.csv", typeCSV, func(w io.Writer) error { return roster.Write(w, a, time.Now()) })
		}
		return h.writeJSONAs(c, http.StatusOK, roster)
	})
}

// SetStock serves PUT /v1/assignments/{assignment}/stock.
func (h *handlers) SetStock(c *gin.Context, id AssignmentPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		var body RemarkStock
		if err := h.readBody(c, "RemarkStock", &body); err != nil {
			return err
		}
		if err := s.SetStock(ctx, organization, id, body.Remarks); err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusOK, body)
	})
}

// mostInTerm is how many assignments a term has at most.
const mostInTerm = 50

// GetTerm serves GET /v1/term.
func (h *handlers) GetTerm(c *gin.Context, params GetTermParams) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		ids, err := h.termOf(c, params.Assignments)
		if err != nil {
			return err
		}
		series, err := s.Term(ctx, organization, ids)
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusOK, series)
	})
}

// termOf lists assignments by a text that names them, all of them the caller's; without it
// they are the newest that the caller teaches.
func (h *handlers) termOf(c *gin.Context, named string) ([]string, error) {
	if named != "" {
		ids := strings.Split(named, ",")
		if len(ids) > mostInTerm {
			return nil, refuse(invalidRequest, fmt.Sprintf("assignments names %d; a term has at most %d.", len(ids), mostInTerm))
		}
		for _, id := range ids {
			if err := h.reaches(c, id); err != nil {
				return nil, err
			}
		}
		return ids, nil
	}
	all, err := h.taught(c)
	if err != nil {
		return nil, err
	}
	var ids []string
	for _, a := range all[max(0, len(all)-mostInTerm):] {
		ids = append(ids, a.ID)
	}
	return ids, nil
}
