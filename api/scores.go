package api

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/textproto"

	"github.com/gin-gonic/gin"

	"partwright/musicxml/container"
)

func isContainer(data []byte) bool { return container.Sniff(data) == container.Zip }

// writeFile answers with a file.
func (h *handlers) writeFile(c *gin.Context, f attached) {
	c.Header("Content-Type", f.mediaType)
	c.Header("Content-Disposition", f.disposition)
	h.write(c, http.StatusOK, f.data)
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

// attached is one file of an answer.
type attached struct {
	mediaType, disposition string
	data                   []byte
}

// writeMixed answers with a report and the files that belong to it in one body.
func (h *handlers) writeMixed(c *gin.Context, report any, files []attached) error {
	first, err := encodeJSON(report)
	if err != nil {
		return err
	}
	var frame bytes.Buffer
	w := multipart.NewWriter(&frame)
	// Only the frame goes through the writer, so that no file is copied.
	var parts [][]byte
	add := func(header textproto.MIMEHeader, data []byte) error {
		if _, err := w.CreatePart(header); err != nil {
			return err
		}
		parts = append(parts, bytes.Clone(frame.Bytes()), data)
		frame.Reset()
		return nil
	}
	err = add(textproto.MIMEHeader{"Content-Type": {typeJSON}}, first)
	for _, f := range files {
		if err == nil {
			err = add(textproto.MIMEHeader{"Content-Type": {f.mediaType}, "Content-Disposition": {f.disposition}}, f.data)
		}
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		return err
	}
	c.Header("Content-Type", typeMixed+"; boundary="+w.Boundary())
	h.write(c, http.StatusOK, append(parts, frame.Bytes())...)
	return nil
}
