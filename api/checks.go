package api

import (
	"net/http"
	"slices"

	"github.com/gin-gonic/gin"

	"partwright/worker/pool"
)

// CreateCheck serves POST /v1/checks.
func (h *handlers) CreateCheck(c *gin.Context, params CreateCheckParams) {
	options := checkOptions{
		ruleSet: params.RuleSet, rubric: params.Rubric, language: params.Language, marks: params.Marks, fixes: params.Fixes,
		analysis: params.Analysis, given: params.Given, annotate: params.Annotate,
	}
	// Before the body is read: a client that waits for 100 Continue can save it.
	if _, err := h.chooseAnswer(c, options, false); err != nil {
		fail(c, err)
		return
	}
	up, err := h.admit(c, pool.TaskCheck, checkFields)
	if err != nil {
		fail(c, err)
		return
	}
	defer up.release()
	if err := options.override(up.fields); err != nil {
		fail(c, err)
		return
	}
	h.check(c, up, options)
}

// check does the work and answers as Accept has it.
func (h *handlers) check(c *gin.Context, up *upload, options checkOptions) {
	answer, err := h.chooseAnswer(c, options, isContainer(up.Data))
	if err != nil {
		fail(c, err)
		return
	}
	work, err := options.work()
	if err != nil {
		fail(c, err)
		return
	}
	work.Marks = answer != typeJSON
	if work.Language, err = h.speak(c, options.language); err != nil {
		fail(c, err)
		return
	}
	up.Labels = options.labels
	result, err := h.pool.Submit(c.Request.Context(), up.Input, work)
	if err != nil {
		fail(c, err)
		return
	}
	switch answer {
	case typeJSON:
		h.writeJSON(c, result.Report)
	case typeMixed:
		mediaType := scoreOffers(isContainer(result.Marked))[0]
		h.writeMixed(c, result.Report, []attached{{mediaType, attachment(up.Name, ".marked", mediaType), result.Marked}})
	default:
		h.writeScore(c, up, result.Marked, answer, ".marked")
	}
}

// chooseAnswer picks the media type of the answer for a score that came packed
// in a container, or did not.
func (h *handlers) chooseAnswer(c *gin.Context, o checkOptions, packed bool) (string, error) {
	c.Header("Vary", "Accept, Accept-Language")
	offers := append([]string{typeJSON}, scoreOffers(packed)...)
	offers = append(offers, typeMixed)
	if o.marks != nil && *o.marks {
		// With both in one answer first, since nothing is left out then.
		offers = append([]string{typeMixed}, scoreOffers(packed)...)
	} else if o.marks != nil {
		offers = []string{typeJSON}
	}
	answer, ok := negotiate(c.GetHeader("Accept"), offers)
	if !ok {
		return "", refuse(notAcceptable)
	}
	return answer, nil
}

// scoreOffers are the media types of a score, that in which it came first.
func scoreOffers(packed bool) []string {
	offers := []string{typeMusicXML, typeContainer}
	if packed {
		slices.Reverse(offers)
	}
	return offers
}

// admit reads the body of a request, unless it would be turned away anyway.
func (h *handlers) admit(c *gin.Context, task pool.Task, fields fieldSizes) (*upload, error) {
	if err := h.pool.Admit(task); err != nil {
		return nil, err
	}
	return h.receive(underlying(c.Writer), c.Request, h.bodyTypes(c), fields)
}

// underlying returns the server's own writer: only it can end a connection whose
// body is too large.
func underlying(w http.ResponseWriter) http.ResponseWriter {
	for {
		inner, ok := w.(interface{ Unwrap() http.ResponseWriter })
		if !ok {
			return w
		}
		w = inner.Unwrap()
	}
}
