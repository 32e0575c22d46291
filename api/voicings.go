package api

import (
	"net/url"
	"strconv"

	"github.com/gin-gonic/gin"

	"partwright/worker"
	"partwright/worker/pool"
	"partwright/worker/report"
)

// voicingOffers are the media types of a voiced progression.
var voicingOffers = []string{typeJSON, typeMusicXML, typeContainer, typeMIDI, typeMixed}

// CreateVoicing serves POST /v1/voicings.
func (h *handlers) CreateVoicing(c *gin.Context, _ CreateVoicingParams) {
	c.Header("Vary", "Accept")
	answer, ok := negotiate(c.GetHeader("Accept"), voicingOffers)
	if !ok {
		fail(c, refuse(notAcceptable))
		return
	}
	fields := h.optionFields(c, ownRuleSet)
	fields[progressionField] = worker.MaxProgressionText
	up, err := h.admit(c, pool.TaskVoice, fields)
	if err != nil {
		fail(c, err)
		return
	}
	defer up.release()
	request, err := h.voiceRequest(c, up)
	if err != nil {
		fail(c, err)
		return
	}
	result, err := h.pool.Voice(c.Request.Context(), *request)
	if err != nil {
		fail(c, err)
		return
	}
	h.writeVoicing(c, up, result, answer)
}

// voiceRequest is what a body, a query and a form ask for together.
func (h *handlers) voiceRequest(c *gin.Context, up *upload) (*worker.VoiceRequest, error) {
	values, err := h.options(c, up.fields)
	if err != nil {
		return nil, err
	}
	r := &worker.VoiceRequest{
		Gives: values.Get("gives"), Key: values.Get("key"), Title: values.Get("title"), Style: values.Get("style"),
		Bass: values.Get("bass"), Ending: values.Get("ending"), SixFour: values.Get("six_four") == "true",
		Layout: values.Get("layout"), Exercise: values.Get("exercise"),
		Annotate: values.Get("annotate"),
		Compare:  values.Get("compare") == "true", Reasons: values.Get("reasons") == "true",
	}
	switch field, ok := up.fields[progressionField]; {
	case ok:
		r.Progression = field.text
	case up.mediaType == typeText:
		r.Progression = string(up.Data)
	default:
		r.Score = &up.Input
	}
	// Without a rule set the style has its own.
	if _, own := up.fields[ownField]; own || values.Has("rule_set") {
		if r.RuleSet, err = ruleSetIn(values, up.fields); err != nil {
			return nil, err
		}
	}
	return r, voiceNumbers(r, values)
}

func voiceNumbers(r *worker.VoiceRequest, values url.Values) (err error) {
	if r.Alternatives, err = option(values, "alternatives", 1, strconv.Atoi); err != nil {
		return err
	}
	if r.Density, err = option(values, "density", 0, number); err != nil {
		return err
	}
	if r.Levels, err = option(values, "levels", 0, strconv.Atoi); err != nil {
		return err
	}
	r.Seed, err = option(values, "seed", 1, seed)
	return err
}

// writeVoicing answers with the kind that Accept chose; of several voicings a
// sheet or a MIDI file by itself is that of the first, or the exercise or the
// sheet that compares them all, where one is asked for.
func (h *handlers) writeVoicing(c *gin.Context, up *upload, result *worker.VoiceResult, answer string) {
	switch answer {
	case typeJSON:
		h.writeJSON(c, result.Report)
	case typeMIDI:
		h.writeMIDI(c, up, result.Textures[0], ".voiced")
	case typeMixed:
		files, err := voicingFiles(up.Name, result)
		if err != nil {
			fail(c, err)
			return
		}
		h.writeMixed(c, result.Report, files)
	default:
		infix := ".voiced"
		switch {
		case result.Exercise != nil:
			infix = ".exercise"
		case result.Compared != nil:
			infix = ".compared"
		}
		h.writeScore(c, up, result.Sheet(), answer, infix)
	}
}

// voicingFiles are the sheets and MIDI files of all voicings.
func voicingFiles(name string, result *worker.VoiceResult) ([]attached, error) {
	var files []attached
	for i, sheet := range result.Sheets {
		midi, err := report.MIDI(result.Textures[i])
		if err != nil {
			return nil, err
		}
		infix := ".voiced"
		if i > 0 {
			infix += "-" + strconv.Itoa(i+1)
		}
		files = append(files,
			attached{typeMusicXML, attachment(name, infix, typeMusicXML), sheet},
			attached{typeMIDI, attachment(name, infix, typeMIDI), midi})
	}
	if result.Exercise != nil {
		files = append(files, attached{typeMusicXML, attachment(name, ".exercise", typeMusicXML), result.Exercise})
	}
	if result.Compared != nil {
		files = append(files, attached{typeMusicXML, attachment(name, ".compared", typeMusicXML), result.Compared})
	}
	for i, level := range result.Levels {
		files = append(files, attached{typeMusicXML, attachment(name, ".level-"+strconv.Itoa(i+1), typeMusicXML), level})
	}
	return files, nil
}
