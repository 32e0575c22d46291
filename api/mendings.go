package api

import (
	"cmp"
	"strconv"

	"github.com/gin-gonic/gin"

	"partwright/theory/partwriting"
	"partwright/worker"
	"partwright/worker/pool"
	"partwright/worker/report"
)

// mendingOffers are the media types of a mended score.
func mendingOffers(packed bool) []string {
	offers := append([]string{typeJSON}, scoreOffers(packed)...)
	return append(offers, typeMIDI, typeMixed)
}

// CreateMending serves POST /v1/mendings.
func (h *handlers) CreateMending(c *gin.Context, _ CreateMendingParams) {
	c.Header("Vary", "Accept")
	if _, ok := negotiate(c.GetHeader("Accept"), mendingOffers(false)); !ok {
		fail(c, refuse(notAcceptable))
		return
	}
	up, err := h.admit(c, pool.TaskMend, h.optionFields(c, ownRuleSet))
	if err != nil {
		fail(c, err)
		return
	}
	defer up.release()
	request, err := h.mendRequest(c, up)
	if err != nil {
		fail(c, err)
		return
	}
	result, err := h.pool.Mend(c.Request.Context(), up.Input, *request)
	if err != nil {
		fail(c, err)
		return
	}
	answer, _ := negotiate(c.GetHeader("Accept"), mendingOffers(isContainer(up.Data)))
	h.writeMending(c, up, result, answer)
}

func (h *handlers) mendRequest(c *gin.Context, up *upload) (*worker.MendRequest, error) {
	values, err := h.options(c, up.fields)
	if err != nil {
		return nil, err
	}
	// What it may be was held against the contract.
	severity, _ := partwriting.SeverityByName(cmp.Or(values.Get("severity"), partwriting.Fault.String()))
	r := &worker.MendRequest{
		Severity: severity,
		Keep:     listOf(values.Get("keep")), KeepMeasures: listOf(values.Get("keep_measures")),
		Only: listOf(values.Get("only")), Both: values.Get("both") == "true",
	}
	if r.Alternatives, err = option(values, "alternatives", 1, strconv.Atoi); err != nil {
		return nil, err
	}
	r.RuleSet, err = ruleSetIn(values, up.fields)
	return r, err
}

func (h *handlers) writeMending(c *gin.Context, up *upload, result *worker.MendResult, answer string) {
	const infix = ".mended"
	switch answer {
	case typeJSON:
		h.writeJSON(c, result.Report)
	case typeMIDI:
		h.writeMIDI(c, up, result.Texture, infix)
	case typeMixed:
		mediaType := scoreOffers(isContainer(result.Mended))[0]
		files := []attached{{mediaType, attachment(up.Name, infix, mediaType), result.Mended}}
		for i, data := range result.Others {
			files = append(files, attached{mediaType, attachment(up.Name, infix+"-"+strconv.Itoa(i+2), mediaType), data})
		}
		if result.Both != nil {
			files = append(files, attached{typeMusicXML, attachment(up.Name, ".both", typeMusicXML), result.Both})
		}
		// A score may have pitches that no key of MIDI plays, or no voice.
		if result.Texture == nil {
			h.writeMixed(c, result.Report, files)
			return
		}
		if midi, err := report.MIDI(result.Texture); err == nil {
			files = append(files, attached{typeMIDI, attachment(up.Name, infix, typeMIDI), midi})
		}
		h.writeMixed(c, result.Report, files)
	default:
		if result.Both != nil {
			h.writeScore(c, up, result.Both, answer, ".both")
			return
		}
		h.writeScore(c, up, result.Mended, answer, infix)
	}
}
