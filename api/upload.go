package api

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"mime"
	"mime/multipart"
	"net/http"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"

	"partwright/worker"
)

// Bounds on a form beside the score itself.
const (
	maxParts      = 16
	maxFieldBytes = 1 << 10
)

// progressionField is the field of a form that may stand in place of a score
// where the fields of a request have it.
const progressionField = "progression"

// fieldSizes are the fields that a form may have beside the score, with the
// largest size of each in bytes.
type fieldSizes map[string]int64

// fieldValue is a field of a form; file is its cleaned file name, if it has one.
type fieldValue struct{ text, file string }

// upload is a score, or what may stand in its place, as it was sent.
type upload struct {
	worker.Input
	// mediaType is the type that the request states for its body.
	mediaType string
	// fields are those of a form beside the score; nil for a plain body.
	fields map[string]fieldValue
	// release gives back the memory that the score counts for.
	release func()
}

// receive reads the body of a request, which must be of one of the types that the
// contract has for it. The fields named may come with a score in a form. The
// caller must release the upload.
func (h *handlers) receive(w http.ResponseWriter, r *http.Request, types []string, fields fieldSizes) (*upload, error) {
	mediaType, err := bodyType(r, types)
	if err != nil {
		return nil, err
	}
	if r.ContentLength > h.config.MaxUpload {
		return nil, &http.MaxBytesError{Limit: h.config.MaxUpload}
	}
	r.Body = http.MaxBytesReader(w, r.Body, h.config.MaxUpload)
	body := newDeadlineBody(w, r.Body, h.config.StallTimeout, h.config.UploadTimeout)
	body.closing = &h.closing
	r.Body = body
	var u *upload
	if mediaType == "multipart/form-data" {
		u, err = h.receiveForm(r, fields)
	} else {
		u, err = h.receiveBody(r)
	}
	if err == nil {
		body.done()
		u.mediaType = mediaType
	}
	return u, err
}

// receiveBody reads a score that is the whole body.
func (h *handlers) receiveBody(r *http.Request) (*upload, error) {
	data, release, err := h.memory.read(r.Body, r.ContentLength)
	if err != nil {
		return nil, err
	}
	name := nameIn(r.Header.Get("Content-Disposition"))
	return &upload{Input: worker.Input{Name: name, Data: data}, release: release}, nil
}

// bodyTypes are the media types that the contract has for the body of a route, in
// alphabetical order. For a score they do not matter beyond that: its content
// decides what it is.
func (h *handlers) bodyTypes(c *gin.Context) []string {
	route := h.contract.routes[c.Request.Method+" "+c.FullPath()]
	if route == nil || route.Operation.RequestBody == nil {
		return nil
	}
	return slices.Sorted(maps.Keys(route.Operation.RequestBody.Value.Content))
}

// bodyType returns the media type of the body if it is one of those given.
func bodyType(r *http.Request, types []string) (string, error) {
	if coding := r.Header.Get("Content-Encoding"); coding != "" && !strings.EqualFold(coding, "identity") {
		return "", refuse(unsupportedMediaType, "The body is encoded as ", strings.ToValidUTF8(coding, "\uFFFD"), ", which is not undone here.")
	}
	header := r.Header.Get("Content-Type")
	if header == "" {
		// RFC 9110, 8.3: without a type, the content may be looked at.
		return "application/octet-stream", nil
	}
	mediaType, _, err := mime.ParseMediaType(header)
	if err != nil && !errors.Is(err, mime.ErrInvalidMediaParameter) {
		return "", refuse(unsupportedMediaType, "The header Content-Type cannot be read.")
	}
	if !slices.Contains(types, mediaType) {
		return "", refuse(unsupportedMediaType, "A body of type ", mediaType, " is not read here.")
	}
	return mediaType, nil
}

// receiveForm reads a form part by part; nothing is written to disk.
func (h *handlers) receiveForm(r *http.Request, fields fieldSizes) (*upload, error) {
	form, err := r.MultipartReader()
	if err != nil {
		return nil, refuse(malformedForm, "The header Content-Type names no boundary.")
	}
	u := &upload{fields: map[string]fieldValue{}, release: func() {}}
	scores := 0
	for parts := 0; ; parts++ {
		part, err := form.NextPart()
		if err == io.EOF { //nolint:errorlint // a wrapped EOF is a form that broke off
			// What follows the form does not count (RFC 2046, 5.1.1) but belongs
			// to the body.
			if _, err := io.Copy(io.Discard, r.Body); err != nil {
				u.release()
				return nil, formError(err)
			}
			break
		}
		if err == nil && parts == maxParts {
			err = refuse(malformedForm, fmt.Sprintf("The form has more than %d parts.", maxParts))
		}
		if err == nil && part.FormName() == "score" {
			scores++
			err = h.receiveScore(u, part, scores)
		} else if err == nil {
			err = receiveField(u.fields, part, fields)
		}
		if err != nil {
			u.release()
			return nil, formError(err)
		}
	}
	_, instead := u.fields[progressionField]
	switch {
	case scores == 0 && fields[progressionField] > 0 && !instead:
		return nil, refuse(missingScore, "The form has neither a field named score nor one named progression.")
	case scores > 0 && instead:
		u.release()
		return nil, refuse(missingScore, "The form has both a score and a progression; one of them is voiced.")
	case scores == 0 && !instead:
		return nil, refuse(missingScore, "The form has no field named score.")
	}
	return u, nil
}

func (h *handlers) receiveScore(u *upload, part *multipart.Part, scores int) error {
	if scores > 1 {
		return refuse(missingScore, "The form has more than one field named score.")
	}
	data, release, err := h.memory.read(part, -1)
	if err != nil {
		return err
	}
	u.release = release
	u.Input = worker.Input{Name: nameIn(part.Header.Get("Content-Disposition")), Data: data}
	return nil
}

func receiveField(fields map[string]fieldValue, part *multipart.Part, sizes fieldSizes) error {
	name := part.FormName()
	size, known := sizes[name]
	if !known {
		return refuse(invalidRequest, fmt.Sprintf("The form has a field %q, which is not known here.", shorten(cleanFileName(name), 64)))
	}
	if _, twice := fields[name]; twice {
		return refuse(invalidRequest, fmt.Sprintf("The form has the field %s twice.", name))
	}
	text, err := io.ReadAll(io.LimitReader(part, size+1))
	if err != nil {
		return err
	}
	if int64(len(text)) > size {
		return refuse(invalidRequest, fmt.Sprintf("The field %s has more than %d bytes.", name, size))
	}
	fields[name] = fieldValue{text: string(text), file: nameIn(part.Header.Get("Content-Disposition"))}
	return nil
}
