package api

import (
	"errors"
	"io"
	"maps"
	"math"
	"mime/multipart"
	"net/http"
	"os"
	"strconv"
	"strings"
	"syscall"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/gin-gonic/gin"

	"partwright/musicxml"
	"partwright/theory/voicing"
	"partwright/worker"
	"partwright/worker/pool"
	"partwright/worker/request"
	"partwright/worker/settings"
	"partwright/worker/stage"
	"partwright/worker/store"
)

// problemOf says what an error means for a client: the one place where errors
// become statuses. An error that is not known here is ours and shows nothing.
func problemOf(err error) Problem {
	var (
		refused *refusal
		input   *musicxml.InputError
		given   *settings.Error
		large   *http.MaxBytesError
		quota   *store.QuotaError

		wrong       *worker.RequestError
		field       *request.Error
		progression *voicing.ProgressionError
		impossible  *voicing.ImpossibleError
	)
	switch {
	case errors.As(err, &refused):
		p := newProblem(refused.kind, refused.detail)
		if refused.advice != "" {
			p.Advice = refused.advice
		}
		return p
	case errors.As(err, &input):
		return inputProblem(input)
	case errors.As(err, &given):
		k := unreadableRuleSet
		switch given.What {
		case settings.RubricFile:
			k = unreadableRubric
		case settings.LabelsFile:
			k = unreadableLabels
		}
		p := newProblem(k, given.Error())
		p.File = given.File
		if len(given.Lines) > 0 {
			p.Line = given.Lines[0].Line
		}
		return p
	case errors.As(err, &field):
		return problemOf(refusalOf(field, invalidRequest))
	case errors.As(err, &wrong):
		return newProblem(invalidRequest, sentence(wrong.Problem))
	case errors.As(err, &progression):
		p := newProblem(unreadableProgression, sentence(progression.Problem))
		p.Line = progression.Line
		return p
	case errors.As(err, &impossible):
		p := newProblem(noVoicing, sentence(impossible.Error()))
		p.Chord = impossible.Slot + 1
		return p
	case errors.As(err, &quota):
		return newProblem(quotaReached, sentence(quota.Error()))
	case errors.As(err, &large):
		return newProblem(uploadTooLarge, "The body is larger than "+strconv.FormatInt(large.Limit, 10)+" bytes.")
	case errors.Is(err, store.ErrFull), errors.Is(err, syscall.ENOSPC):
		return newProblem(diskFull, "")
	case errors.Is(err, store.ErrDown):
		return newProblem(databaseDown, "")
	case errors.Is(err, stage.ErrDeadline):
		return newProblem(timeLimit, "")
	case errors.Is(err, pool.ErrBusy), errors.Is(err, errUploadMemory):
		return newProblem(busy, "")
	case errors.Is(err, pool.ErrDraining):
		return newProblem(shuttingDown, "")
	case errors.Is(err, os.ErrDeadlineExceeded):
		return newProblem(uploadTimeout, "")
	case errors.Is(err, io.ErrUnexpectedEOF):
		return newProblem(incompleteUpload, "")
	case errors.Is(err, multipart.ErrMessageTooLarge):
		return newProblem(malformedForm, "The headers of its parts are too long.")
	}
	return newProblem(internalError, "")
}

// sentence makes a clause of a lower package stand by itself.
func sentence(clause string) string {
	first, size := utf8.DecodeRuneInString(clause)
	return string(unicode.ToUpper(first)) + clause[size:] + "."
}

func newProblem(k *kind, detail string) Problem {
	if detail == "" {
		detail = k.Meaning
	}
	return Problem{
		Type: k.uri(), Title: k.Title, Status: k.Status, Code: k.Code, Detail: detail, Advice: k.Advice,
	}
}

func inputProblem(e *musicxml.InputError) Problem {
	k := unreadableScore
	if e.Code == musicxml.CodeLimit {
		k = limitExceeded
	}
	p := newProblem(k, e.Problem)
	p.Code = e.Code
	if e.Advice != "" {
		p.Advice = e.Advice
	}
	p.File, p.Entry, p.Part, p.Measure, p.Line, p.Column = e.File, e.Entry, e.Part, e.Measure, e.Line, e.Column
	return p
}

// writeProblem answers with the problem that an error means.
func (h *handlers) writeProblem(c *gin.Context, err error) {
	p := problemOf(err)
	p.Instance = "#" + requestID(c)
	header := c.Writer.Header()
	header.Del("Content-Disposition")
	header.Del("Content-Language")
	var refused *refusal
	if errors.As(err, &refused) {
		maps.Copy(header, refused.header)
	}
	switch p.Status {
	case http.StatusServiceUnavailable:
		header.Set("Retry-After", strconv.Itoa(retryAfter(err)))
	case http.StatusUnsupportedMediaType:
		// RFC 9110, 15.5.16.
		header.Set("Accept", strings.Join(h.bodyTypes(c), ", "))
	}
	header.Set("Content-Type", "application/problem+json")
	body, encodeErr := encodeJSON(p)
	if encodeErr != nil {
		body = nil // a struct of strings and numbers always encodes
	}
	h.write(c, p.Status, body)
}

// retryAfter is in whole seconds, at least one: 0 would invite a storm.
func retryAfter(err error) int {
	var full *pool.BusyError
	if errors.As(err, &full) {
		return int(math.Ceil(max(full.RetryAfter, time.Second).Seconds()))
	}
	return 5
}
