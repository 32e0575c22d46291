package request

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"

	"partwright/theory"
)

// Bounds on the edits of one revision.
const (
	MaxEdits     = 1000
	maxEditsText = 128 << 10
)

// Revise asks for a score with other pitches for some of its notes, and for its check.
type Revise struct {
	Check
	// Edits is JSON: [{"note": ID, "pitch": "F#4"}, …]; "" is none.
	Edits Source
}

// withoutMarks are the options of a check that change the marked score or its table: a
// revision returns the score itself.
var withoutMarks = []string{"marks", "upgrade", "annotate", "voices"}

// Fields implements [Request].
func (r *Revise) Fields() []Field {
	fields := slices.DeleteFunc(r.Check.Fields(), func(f Field) bool { return slices.Contains(withoutMarks, f.Name) })
	return append(fields, file(&r.Edits, maxEditsText, "edits", "").flag(""))
}

// Revision is what the engine does to a score before it checks it.
type Revision struct{ Edits []NoteEdit }

// NoteEdit gives a note a new sounding pitch. Note is its id; notes that are tied to it
// go with it.
type NoteEdit struct {
	Note  string
	Pitch theory.Pitch
}

// Plan says what the engine is to do; an error is an [*Error].
func (r *Revise) Plan() (*CheckPlan, error) {
	p, err := r.Check.Plan()
	if err != nil {
		return nil, err
	}
	own := *r
	p.asked.request, p.Options = &own, describe(&own)
	p.Revision = &Revision{}
	if p.Revision.Edits, err = readEdits(r.Edits.Text); err != nil {
		return nil, &Error{"edits", err}
	}
	return p, nil
}

// readEdits reads JSON that a stranger wrote.
func readEdits(text string) ([]NoteEdit, error) {
	if text == "" {
		return nil, nil
	}
	var said []struct {
		Note  string `json:"note"`
		Pitch string `json:"pitch"`
	}
	decoder := json.NewDecoder(bytes.NewReader([]byte(text)))
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(&said); err != nil {
		return nil, fmt.Errorf("at byte %d it is not a list of edits; write [{\"note\": \"pw-n1-1-1\", \"pitch\": \"F#4\"}]", decoder.InputOffset())
	}
	if _, err := decoder.Token(); !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("it goes on after its list, at byte %d", decoder.InputOffset())
	}
	if len(said) > MaxEdits {
		return nil, fmt.Errorf("there are %d edits; at most %d are made at once", len(said), MaxEdits)
	}
	edits := make([]NoteEdit, 0, len(said))
	for i, e := range said {
		if e.Note == "" {
			return nil, fmt.Errorf("edit %d names no note", i+1)
		}
		pitch, err := theory.ParsePitch(e.Pitch)
		if err != nil {
			return nil, fmt.Errorf("edit %d: %w", i+1, err)
		}
		edits = append(edits, NoteEdit{e.Note, pitch})
	}
	return edits, nil
}
