package worker

import (
	"context"
	"fmt"

	"partwright/theory"
	"partwright/worker/request"
	"partwright/worker/stage"
)

// revised is a score with the edits of a revision made in its document. An id that no
// note has is a [*RequestError], and so is a note that cannot be given a pitch.
func (e *Engine) revised(ctx context.Context, in Input, revision *request.Revision) (Input, error) {
	out := Input{Name: in.Name, Data: in.Data, Labels: in.Labels}
	if len(revision.Edits) == 0 {
		return out, nil
	}
	r := &Reading{}
	steps := append(e.voices(&in, r), step{stage.Write, func() error {
		pitches, err := editedPitches(r, revision.Edits)
		if err != nil {
			return err
		}
		if out.Data, err = r.document.Repitch(pitches); err != nil {
			return &RequestError{Problem: err.Error()}
		}
		return nil
	}})
	return out, e.stages(ctx, steps)
}

// editedPitches are the pitches of the notes that edits name, with those tied to them.
// Of several edits of one note the last counts.
func editedPitches(r *Reading, edits []request.NoteEdit) (map[theory.NoteID]theory.Pitch, error) {
	ids, tied := r.document.IDs(), map[theory.NoteID][]theory.NoteID{}
	for v := range r.texture.Voices {
		for i := range r.texture.Voices[v].Notes {
			together := r.texture.Voices[v].Notes[i].IDs
			for _, id := range together {
				tied[id] = together
			}
		}
	}
	pitches := map[theory.NoteID]theory.Pitch{}
	for _, edit := range edits {
		note, ok := ids.Find(edit.Note)
		if !ok {
			return nil, &RequestError{Problem: fmt.Sprintf("no note of the score has the id %.64q; ask for ids and name one of them", edit.Note)}
		}
		pitches[note] = edit.Pitch
		for _, id := range tied[note] {
			pitches[id] = edit.Pitch
		}
	}
	return pitches, nil
}

// unmarked is the document without marks, with ids if they were asked for.
func (c *checked) unmarked() ([]byte, error) {
	if c.ids != nil {
		return c.document.Identify()
	}
	return c.document.Clean()
}
