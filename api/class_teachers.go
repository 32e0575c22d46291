package api

import (
	"context"
	"net/http"

	"github.com/gin-gonic/gin"

	"partwright/worker/classroom/classbook"
)

// ListTeachers serves GET /v1/assignments/{assignment}/teachers.
func (h *handlers) ListTeachers(c *gin.Context, id AssignmentPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		all, err := s.Teachers(ctx, organization, id)
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusOK, TeacherList{Teachers: all})
	})
}

// GiveAssignment serves PUT /v1/assignments/{assignment}/teachers/{teacher}.
func (h *handlers) GiveAssignment(c *gin.Context, id AssignmentPath, teacher TeacherPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		return gone(c, s.Give(ctx, organization, id, teacher, callerOf(c).TeachesAs()))
	})
}

// TakeAssignment serves DELETE /v1/assignments/{assignment}/teachers/{teacher}.
func (h *handlers) TakeAssignment(c *gin.Context, id AssignmentPath, teacher TeacherPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		return gone(c, s.Take(ctx, organization, id, teacher))
	})
}
