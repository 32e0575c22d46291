package api

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"mime"
	"net/http"

	"github.com/gin-gonic/gin"

	"partwright/api/gradebook"
	"partwright/worker/account"
	"partwright/worker/answer"
	"partwright/worker/classroom/classbook"
)

// withWork calls f with an attempt as the caller may see it.
func (h *handlers) withWork(c *gin.Context, id, reference string, attempt int, f func(*classbook.Work) error) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		if err := own(c, reference); err != nil {
			return err
		}
		w, err := s.Work(ctx, organization, id, reference, attempt, callerOf(c).May(account.Classes))
		if err != nil {
			return err
		}
		return f(w)
	})
}

// GetHandIn serves GET /v1/assignments/{assignment}/references/{reference}/hand-ins/{attempt}.
func (h *handlers) GetHandIn(c *gin.Context, id AssignmentPath, reference ReferencePath, attempt AttemptPath) {
	h.withWork(c, id, reference, attempt, func(w *classbook.Work) error { return h.writeJSONAs(c, http.StatusOK, w) })
}

// GetHandedIn serves GET …/hand-ins/{attempt}/score.
func (h *handlers) GetHandedIn(c *gin.Context, id AssignmentPath, reference ReferencePath, attempt AttemptPath) {
	h.withWork(c, id, reference, attempt, func(w *classbook.Work) error {
		extension := ".musicxml"
		if isContainer(w.Score) {
			extension = ".mxl"
		}
		h.sendFile(c, "hand-in"+extension, scoreType(w.Score), w.Score)
		return nil
	})
}

// scoreEdits is the body of a request for other pitches.
type scoreEdits struct {
	Edits json.RawMessage `json:"edits"`
}

// ReviseHandIn serves POST …/hand-ins/{attempt}/revisions.
func (h *handlers) ReviseHandIn(c *gin.Context, id AssignmentPath, reference ReferencePath, attempt AttemptPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		if err := own(c, reference); err != nil {
			return err
		}
		var body scoreEdits
		if err := h.readBody(c, "ScoreEdits", &body); err != nil {
			return err
		}
		accepted, ok := negotiate(c.GetHeader("Accept"), append([]string{typeMixed}, scoreOffers(false)...))
		if !ok {
			return refuse(notAcceptable)
		}
		dependsOn(c.Writer.Header(), "Accept")
		r, err := s.Revise(ctx, organization, id, reference, attempt, string(body.Edits), accepted == typeMixed)
		if err != nil {
			return err
		}
		form := accepted
		if accepted == typeMixed {
			form = typeMusicXML
		}
		score, err := inForm(r.Document, form)
		if err != nil {
			return err
		}
		file := attached{form, attachment("hand-in", string(answer.Revised), form), score}
		if accepted == typeMixed {
			return h.writeMixed(c, r, []attached{file})
		}
		h.writeFile(c, file)
		return nil
	})
}

// GetMarkedHandIn serves GET …/hand-ins/{attempt}/marked.
func (h *handlers) GetMarkedHandIn(c *gin.Context, id AssignmentPath, reference ReferencePath, attempt AttemptPath) {
	h.withWork(c, id, reference, attempt, func(w *classbook.Work) error {
		switch {
		case w.Outcome == nil && !w.Findings:
			return classbook.ErrNotShown
		case w.Marked == nil:
			return refuse(notFound, "What was handed in could not be read, so there is no marked score.")
		}
		h.sendFile(c, "hand-in.marked"+w.Extension, scoreType(w.Marked), w.Marked)
		return nil
	})
}

// scoreType is the media type of a score.
func scoreType(score []byte) string {
	if isContainer(score) {
		return typeContainer
	}
	return typeMusicXML
}

// sendFile answers with a file to download.
func (h *handlers) sendFile(c *gin.Context, name, mediaType string, data []byte) {
	c.Header("Content-Type", mediaType)
	c.Header("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	h.write(c, http.StatusOK, data)
}

// ListMarks serves GET /v1/assignments/{assignment}/marks.
func (h *handlers) ListMarks(c *gin.Context, id AssignmentPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		marks, err := s.Marks(ctx, organization, id)
		if err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusOK, OutcomeList{Outcomes: marks})
	})
}

// GetClassArchive serves GET /v1/assignments/{assignment}/marked.zip.
func (h *handlers) GetClassArchive(c *gin.Context, id AssignmentPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		return h.written(c, "marked.zip", "application/zip", func(w io.Writer) error { return s.WriteArchive(ctx, organization, id, w) })
	})
}

// written answers with a file of a class once it is whole.
func (h *handlers) written(c *gin.Context, name, mediaType string, write func(io.Writer) error) error {
	var out bytes.Buffer
	if err := write(&out); err != nil {
		return err
	}
	h.sendFile(c, name, mediaType, out.Bytes())
	return nil
}

// GetClassReport serves GET /v1/assignments/{assignment}/report.
func (h *handlers) GetClassReport(c *gin.Context, id AssignmentPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		dependsOn(c.Writer.Header(), "Accept")
		accepted, ok := negotiate(c.GetHeader("Accept"), []string{typeJSON, typeHTML, typeCSV})
		if !ok {
			return refuse(notAcceptable)
		}
		if accepted == typeCSV {
			return h.written(c, "results.csv", typeCSV, func(w io.Writer) error { return s.WriteResults(ctx, organization, id, w) })
		}
		r, err := s.Report(ctx, organization, id)
		if err != nil {
			return err
		}
		if accepted == typeJSON {
			return h.writeJSONAs(c, http.StatusOK, r)
		}
		page, err := r.Page()
		if err != nil {
			return err
		}
		c.Header("Content-Type", typeHTML+"; charset=utf-8")
		c.Header("Content-Security-Policy", pageOfReport)
		h.write(c, http.StatusOK, page)
		return nil
	})
}

// pageOfReport lets the page of a report have the styles in it, and nothing else.
const pageOfReport = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// GetGradebook serves GET /v1/assignments/{assignment}/gradebook.
func (h *handlers) GetGradebook(c *gin.Context, id AssignmentPath) {
	h.withClasses(c, func(ctx context.Context, s *classbook.Service, organization string) error {
		list := GradebookList{Entries: []gradebook.Entry{}}
		if h.config.Gradebook == nil {
			if _, err := s.Get(ctx, organization, id); err != nil {
				return err
			}
			return h.writeJSONAs(c, http.StatusOK, list)
		}
		var err error
		if list.Entries, err = h.config.Gradebook.Entries(ctx, organization, id); err != nil {
			return err
		}
		return h.writeJSONAs(c, http.StatusOK, list)
	})
}
