package classroom

import (
	"context"
	"fmt"

	"partwright/worker"
	"partwright/worker/report"
	"partwright/worker/request"
)

// Revision is a score with other pitches for some of its notes, as whoever writes it needs
// it: nothing is told of what the rules find.
type Revision struct {
	// Read says what the score is, Notes are those of every voice from the top.
	Read  report.Score        `json:"score"`
	Notes []report.VoiceNotes `json:"voice_notes"`
	// Document is the score without marks, in the form in which it came.
	Document []byte `json:"-"`
}

// Revise changes pitches of a score. Edits is JSON as [request.Revise] has it, with the ids
// that the notes have in the document with ids; "" changes nothing. A score that cannot be
// read is a [*musicxml.InputError], a note that is not there a [*worker.RequestError].
func Revise(ctx context.Context, engine Doer, score []byte, edits string, ids bool) (*Revision, error) {
	said := request.Values{"notes": {Text: "true"}, "ids": {Text: fmt.Sprint(ids)}}
	if edits != "" {
		said["edits"] = request.Source{Text: edits}
	}
	var revise request.Revise
	if err := request.Bind(&revise, said); err != nil {
		return nil, err
	}
	plan, err := revise.Plan()
	if err != nil {
		return nil, err
	}
	a, err := engine.Do(ctx, worker.Input{Name: "hand-in", Data: score}, plan)
	if err != nil {
		return nil, err
	}
	r, err := reportIn(a)
	if err != nil {
		return nil, err
	}
	return &Revision{Read: r.Score, Notes: r.VoiceNotes, Document: a.Score().Data}, nil
}
