package api

import (
	"cmp"
	"context"
	"encoding/hex"
	"net/http"

	"github.com/gin-gonic/gin"

	"partwright/worker/account"
	"partwright/worker/classroom"
	"partwright/worker/classroom/classbook"
	"partwright/worker/request"
	"partwright/worker/store"
)

// withClasses calls f if assignments are kept and the one that the address names is the
// caller's, and renders its error.
func (h *handlers) withClasses(c *gin.Context, f func(ctx context.Context, s *classbook.Service, organization string) error) {
	if h.config.Classes == nil {
		fail(c, refuse(notFound, "This service keeps no assignments: it was started without a data directory or a database."))
		return
	}
	var err error
	if id := c.Param("assignment"); id != "" {
		err = h.reaches(c, id)
	}
	if err == nil {
		err = f(c.Request.Context(), h.config.Classes, organizationOf(c))
	}
	if err != nil {
		fail(c, inClasses.of(err))
	}
}

// reaches is [store.ErrNotFound] for an assignment that is not the caller's: a pupil's is the
// one that their session is for, a teacher's is one that is given to them. A key that only
// hands in, which is the school's own system, reaches all of its organization.
func (h *handlers) reaches(c *gin.Context, id string) error {
	caller := callerOf(c)
	switch {
	case caller.Role == account.Pupil && caller.Assignment != "" && caller.Assignment != id:
		return store.ErrNotFound
	case !caller.May(account.Classes) || caller.May(account.AllClasses):
		return nil
	}
	return h.config.Classes.Teaches(c.Request.Context(), caller.Organization, id, caller.TeachesAs())
}

// taught lists the assignments of the caller, the oldest first.
func (h *handlers) taught(c *gin.Context) ([]classroom.Assignment, error) {
	caller, s := callerOf(c), h.config.Classes
	if caller.May(account.AllClasses) {
		return s.List(c.Request.Context(), caller.Organization)
	}
	return s.Taught(c.Request.Context(), caller.Organization, caller.TeachesAs())
}

// newAssignment is the body of a request for an assignment.
type newAssignment struct {
	classroom.Assignment
	Score     string `json:"score"`
	Gives     string `json:"gives"`
	Style     string `json:"style"`
	Models    int    `json:"models"`
	OwnRules  string `json:"own_rules"`
	OwnRubric string `json:"own_rubric"`
}

// CreateAssignment serves POST /v1/assignments.
func (h *handlers) CreateAssignment(c *gin.Context) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		var body newAssignment
		if err := h.readBody(c, "NewAssignment", &body); err != nil {
			return err
		}
		a := &body.Assignment
		if (a.Task == "") == (body.Score == "") {
			return refuse(invalidRequest, "Give task, a row of chords, or score, a score that gives block chords, a bass, a melody or both outer voices; not both.")
		}
		a.OwnRules = request.Source{Name: "own_rules", Text: body.OwnRules}
		a.OwnRubric = request.Source{Name: "own_rubric", Text: body.OwnRubric}
		if err := s.Create(ctx, organization, a, classroom.Order{Task: a.Task, Score: request.Source{Name: "score.musicxml", Text: body.Score}, Gives: body.Gives, Style: body.Style, Models: body.Models}, callerOf(c).TeachesAs()...); err != nil {
			return err
		}
		c.Header("Location", "/v1/assignments/"+a.ID)
		return h.writeJSONAs(c, http.StatusCreated, a)
	})
}

// ListAssignments serves GET /v1/assignments.
func (h *handlers) ListAssignments(c *gin.Context) {
	h.withClasses(c, func(context.Context, *classbook.Service, string) error {
		all, err := h.taught(c)
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusOK, AssignmentList{Assignments: all})
	})
}

// GetAssignment serves GET /v1/assignments/{assignment}.
func (h *handlers) GetAssignment(c *gin.Context, id AssignmentPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		a, err := s.Get(ctx, organization, id)
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusOK, a)
	})
}

// DeleteAssignment serves DELETE /v1/assignments/{assignment}.
func (h *handlers) DeleteAssignment(c *gin.Context, id AssignmentPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		return gone(c, s.Delete(ctx, organization, id))
	})
}

// gone answers that something was deleted.
func gone(c *gin.Context, err error) error {
	if err == nil {
		c.Status(http.StatusNoContent)
		c.Writer.WriteHeaderNow()
	}
	return err
}

// GetExercise serves GET /v1/assignments/{assignment}/exercise.
func (h *handlers) GetExercise(c *gin.Context, id AssignmentPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		a, err := s.Get(ctx, organization, id)
		if err != nil {
			return err
		}
		c.Header("Content-Type", typeMusicXML)
		h.write(c, http.StatusOK, []byte(a.Exercise.Text))
		return nil
	})
}

// ListModels serves GET /v1/assignments/{assignment}/models.
func (h *handlers) ListModels(c *gin.Context, id AssignmentPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		a, err := s.Get(ctx, organization, id)
		if err != nil {
			return err
		}
		list := ModelList{Models: []ModelAnswer{}}
		for i := range a.Models {
			list.Models = append(list.Models, ModelAnswer{Name: a.Models[i].Name, Score: a.Models[i].Text})
		}
		return h.writeJSONAs(c, http.StatusOK, list)
	})
}

// own refuses a pupil what is another's, as if it were not there.
func own(c *gin.Context, reference string) error {
	if caller := callerOf(c); caller.Role == account.Pupil && caller.Subject != reference {
		return store.ErrNotFound
	}
	return nil
}

// HandIn serves POST /v1/assignments/{assignment}/references/{reference}/hand-ins.
func (h *handlers) HandIn(c *gin.Context, id AssignmentPath, reference ReferencePath, params HandInParams) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		if err := own(c, reference); err != nil {
			return err
		}
		// Before the body is read: it may be for nothing.
		if _, err := s.Get(ctx, organization, id); err != nil {
			return err
		}
		up, err := h.receive(underlying(c.Writer), c.Request, h.bodyTypes(c), nil)
		if err != nil {
			return err
		}
		defer up.release()
		print := newFingerprint(c)
		printPart(print, "score", string(up.Data))
		key := classbook.Key{Value: idempotencyKey(params.IdempotencyKey), Fingerprint: hex.EncodeToString(print.Sum(nil))}
		seen, err := s.HandInOnce(ctx, organization, id, reference, up.Data, key)
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusCreated, seen)
	})
}

// ListHandIns serves GET /v1/assignments/{assignment}/references/{reference}/hand-ins.
func (h *handlers) ListHandIns(c *gin.Context, id AssignmentPath, reference ReferencePath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		if err := own(c, reference); err != nil {
			return err
		}
		all, err := s.Seen(ctx, organization, id, reference)
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusOK, SeenHandInList{HandIns: all})
	})
}

// GetTask serves GET /v1/assignments/{assignment}/references/{reference}.
func (h *handlers) GetTask(c *gin.Context, id AssignmentPath, reference ReferencePath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		if err := own(c, reference); err != nil {
			return err
		}
		task, err := s.Task(ctx, organization, id, reference)
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusOK, task)
	})
}

// ForgetReference serves DELETE /v1/assignments/{assignment}/references/{reference}.
func (h *handlers) ForgetReference(c *gin.Context, id AssignmentPath, reference ReferencePath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		return gone(c, s.Forget(ctx, organization, id, reference, decider(c)))
	})
}

// decider is who decides, for the log: a person by their subject, a program by its key.
func decider(c *gin.Context) string {
	caller := callerOf(c)
	return cmp.Or(caller.Subject, caller.Key, string(caller.Role))
}

// Decide serves POST /v1/assignments/{assignment}/decisions.
func (h *handlers) Decide(c *gin.Context, id AssignmentPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		var e classroom.Entry
		if err := h.readBody(c, "NewDecision", &e); err != nil {
			return err
		}
		e.By = decider(c)
		outcomes, err := s.Decide(ctx, organization, id, e)
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusCreated, OutcomeList{Outcomes: outcomes})
	})
}

// ListDecisions serves GET /v1/assignments/{assignment}/decisions.
func (h *handlers) ListDecisions(c *gin.Context, id AssignmentPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		log, err := s.Log(ctx, organization, id)
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusOK, DecisionList{Decisions: log})
	})
}
