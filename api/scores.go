package api

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/textproto"

	"github.com/gin-gonic/gin"

	"partwright/musicxml/container"
	"partwright/worker"
)

func isContainer(data []byte) bool { return container.Sniff(data) == container.Zip }

// writeScore answers with a score in the form asked for.
func (h *handlers) writeScore(c *gin.Context, up *upload, score []byte, mediaType, infix string) {
	score, err := inForm(score, mediaType)
	if err != nil {
		fail(c, err)
		return
	}
	c.Header("Content-Type", mediaType)
	c.Header("Content-Disposition", attachment(up.Name, infix, mediaType))
	h.write(c, http.StatusOK, score)
}

// inForm packs or unpacks a score if it is not in the form asked for.
func inForm(score []byte, mediaType string) ([]byte, error) {
	switch packed := isContainer(score); {
	case packed && mediaType == typeMusicXML:
		c, err := container.Open(score, container.Limits{})
		if err != nil {
			return nil, err
		}
		return c.Score, nil
	case !packed && mediaType == typeContainer:
		return container.Pack("score.musicxml", score)
	}
	return score, nil
}

// writeBoth answers with the findings and the marked score in one body.
func (h *handlers) writeBoth(c *gin.Context, up *upload, result *worker.Result) {
	report, err := encodeJSON(result.Report)
	if err != nil {
		fail(c, err)
		return
	}
	mediaType := scoreOffers(isContainer(result.Marked))[0]
	var frame bytes.Buffer
	w := multipart.NewWriter(&frame)
	// Only the frame goes through the writer, so that the score is not copied.
	var cuts [3][]byte
	for i, header := range []textproto.MIMEHeader{
		{"Content-Type": {typeJSON}},
		{"Content-Type": {mediaType}, "Content-Disposition": {attachment(up.Name, ".marked", mediaType)}},
	} {
		if _, err := w.CreatePart(header); err != nil {
			fail(c, err)
			return
		}
		cuts[i] = bytes.Clone(frame.Bytes())
		frame.Reset()
	}
	if err := w.Close(); err != nil {
		fail(c, err)
		return
	}
	cuts[2] = frame.Bytes()
	c.Header("Content-Type", typeMixed+"; boundary="+w.Boundary())
	h.write(c, http.StatusOK, cuts[0], report, cuts[1], result.Marked, cuts[2])
}
