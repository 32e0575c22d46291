package api

import (
	"net/http"
	"slices"

	"github.com/gin-gonic/gin"

	"partwright/worker/answer"
	"partwright/worker/request"
)

// job is how one job of the engine is asked for over HTTP.
type job struct {
	name    request.Job
	request request.Request
	// offers are the media types that can answer, the usual one first, for a score that
	// came packed in a container, or did not, with the fields of a form.
	offers func(fields map[string]fieldValue, packed bool) []string
	// read makes the request of an upload, where the body is no score or form.
	read func(up *upload) error
	// plan says what is to be done with an upload whose answer is to be of a media type.
	plan func(up *upload, accepted string) (request.Plan, error)
}

// do answers a request for a job: it reads the body, makes a plan, and sends what
// comes of it.
func (h *handlers) do(c *gin.Context, j job) {
	if err := h.tryJob(c, j); err != nil {
		fail(c, err)
	}
}

func (h *handlers) tryJob(c *gin.Context, j job) error {
	dependsOn(c.Writer.Header(), "Accept, Accept-Language")
	// Before the body is read: a client that waits for 100 Continue can save it.
	if _, ok := negotiate(c.GetHeader("Accept"), j.offers(nil, false)); !ok {
		return refuse(notAcceptable)
	}
	up, err := h.admit(c, j.name, h.formFields(c, j.request))
	if err != nil {
		return err
	}
	defer up.release()
	var plan request.Plan
	var accepted string
	err = h.parse(c, up.fields, func() (err error) {
		plan, accepted, err = h.planFor(c, &j, up)
		return err
	})
	if err != nil {
		return err
	}
	a, err := h.pool.Do(c.Request.Context(), up.Input, plan)
	if err != nil {
		return err
	}
	return h.send(c, up.Name, a, accepted)
}

// planFor reads what is asked for, and says as what media type the answer goes out.
func (h *handlers) planFor(c *gin.Context, j *job, up *upload) (request.Plan, string, error) {
	var err error
	if j.read != nil {
		err = j.read(up)
	} else {
		err = h.bind(c, j.request, up.fields)
	}
	if err != nil {
		return nil, "", err
	}
	accepted, ok := negotiate(c.GetHeader("Accept"), j.offers(up.fields, isContainer(up.Data)))
	if !ok {
		return nil, "", refuse(notAcceptable)
	}
	plan, err := j.plan(up, accepted)
	return plan, accepted, err
}

// longText is from how many bytes on the fields of a form are read on a slot of the pool.
const longText = 2 << 10

// parse reads fields, on a slot of the pool where they are long.
func (h *handlers) parse(c *gin.Context, fields map[string]fieldValue, read func() error) error {
	size := 0
	for _, f := range fields {
		size += len(f.text)
	}
	if size < longText {
		return read()
	}
	return h.pool.Parse(c.Request.Context(), read)
}

// admit reads the body of a request, unless it would be turned away anyway.
func (h *handlers) admit(c *gin.Context, name request.Job, fields fieldSizes) (*upload, error) {
	if err := h.pool.Admit(name); err != nil {
		return nil, err
	}
	if name == request.JobContinue {
		return h.receiveJSON(c)
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

// scoreOffers are the media types of a score, that in which it came first.
func scoreOffers(packed bool) []string {
	offers := []string{typeMusicXML, typeContainer}
	if packed {
		slices.Reverse(offers)
	}
	return offers
}

// planned passes on a plan of one kind as any plan.
func planned[P request.Plan](plan P, err error) (request.Plan, error) {
	if err != nil {
		return nil, err
	}
	return plan, nil
}

// send answers with what came of a job, as one media type.
func (h *handlers) send(c *gin.Context, name string, a *answer.Answer, accepted string) error {
	switch accepted {
	case typeJSON:
		h.writeJSON(c, a.Report)
	case typeMIDI:
		music, err := a.MIDI()
		if err != nil {
			return err
		}
		h.writeFile(c, attached{typeMIDI, attachment(name, "", typeMIDI), music})
	case typeMixed:
		files, err := attachedTo(name, a)
		if err != nil {
			return err
		}
		return h.writeMixed(c, a.Report, files)
	default:
		score := a.Score()
		if score == nil {
			return refuse(notAcceptable, "There is no score to answer with, since nothing was found; ask for JSON.")
		}
		data, err := inForm(score.Data, accepted)
		if err != nil {
			return err
		}
		h.writeFile(c, attached{accepted, attachment(name, score.Infix(), accepted), data})
	}
	return nil
}

// mediaTypes are those of the files of answers by their extension.
var mediaTypes = map[string]string{
	".musicxml": typeMusicXML, ".mxl": typeContainer, ".mid": typeMIDI,
	".csv": typeCSV, ".json": typeJSON, ".rntxt": typeText,
}

// attachedTo are the files of an answer. A mended score can be listened to as well; it
// may have pitches that no key of MIDI plays, or no voice.
func attachedTo(name string, a *answer.Answer) ([]attached, error) {
	var files []attached
	hasMIDI := false
	for i := range a.Files {
		f := &a.Files[i]
		mediaType := mediaTypes[f.Extension()]
		files = append(files, attached{mediaType, attachment(name, f.Infix(), mediaType), f.Data})
		hasMIDI = hasMIDI || f.IsMIDI()
	}
	if a.IsMending() && !hasMIDI {
		if music, err := a.MIDI(); err == nil {
			files = append(files, attached{typeMIDI, attachment(name, "", typeMIDI), music})
		}
	}
	return files, nil
}
