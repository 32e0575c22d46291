package api

import (
	"context"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"partwright/worker/account"
	"partwright/worker/classroom"
	"partwright/worker/classroom/classbook"
)

// linkFor is how long a link to hand in waits for the browser that it is meant for.
const linkFor = 30 * 24 * time.Hour

// CopyAssignment serves POST /v1/assignments/{assignment}/copies.
func (h *handlers) CopyAssignment(c *gin.Context, id AssignmentPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		var own NewCopy
		if c.Request.ContentLength != 0 {
			if err := h.readBody(c, "NewCopy", &own); err != nil {
				return err
			}
		}
		a, err := s.Copy(ctx, organization, id, classbook.Own{Title: own.Title, Opens: own.Opens, Closes: own.Closes, Groups: own.Groups}, callerOf(c).TeachesAs()...)
		if err != nil {
			return err
		}
		c.Header("Location", "/v1/assignments/"+a.ID)
		return h.writeJSONAs(c, http.StatusCreated, a)
	})
}

// SetMarks serves POST /v1/assignments/{assignment}/marks.
func (h *handlers) SetMarks(c *gin.Context, id AssignmentPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		if _, err := s.Get(ctx, organization, id); err != nil {
			return err
		}
		marks, err := receiveTable(h, c, classroom.ReadMarks)
		if err != nil {
			return err
		}
		n, err := s.SetMarks(ctx, organization, id, decider(c), marks)
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusOK, MarksSet{Set: n})
	})
}

// receiveTable reads what was sent as a table of a class.
func receiveTable[T any](h *handlers, c *gin.Context, read func(name string, data []byte) (T, error)) (table T, err error) {
	up, err := h.receiveJSON(c)
	if err != nil {
		return table, err
	}
	defer up.release()
	if table, err = read("the table", up.Data); err != nil {
		return table, &classbook.InvalidError{Problem: err.Error()}
	}
	return table, nil
}

// CreateHandInLink serves POST /v1/assignments/{assignment}/references/{reference}/links.
func (h *handlers) CreateHandInLink(c *gin.Context, id AssignmentPath, reference ReferencePath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		if _, err := s.Get(ctx, organization, id); err != nil {
			return err
		}
		if h.config.Accounts == nil {
			return refuse(notFound, "Nobody signs in here: this service was started without accounts.")
		}
		until := time.Now().Add(linkFor).UTC().Truncate(time.Second)
		link, err := h.config.Accounts.PersonLink(ctx, account.NewSession{
			Organization: organization, Role: account.Pupil, Subject: reference, Assignment: id, Scopes: []account.Scope{account.HandIns},
		}, until)
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusCreated, HandInLink{Link: link, Expires: until})
	})
}
