package worker

import (
	"context"
	"fmt"

	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/voicing"
)

// MendRequest says what is to be mended in a score.
type MendRequest struct {
	// RuleSet is nil for the default set; Severity the least severity that must
	// go, a fault if zero.
	RuleSet  *partwriting.RuleSet
	Severity partwriting.Severity
	// Keep names voices that are given, such as "S" and "B".
	Keep []string
	// KeepMeasures lists printed labels of measures that stay as they are.
	KeepMeasures []string
	// Both asks for a sheet with both versions.
	Both bool
}

// MendResult is the answer to a [MendRequest].
type MendResult struct {
	Report *MendingReport
	// Mended is the score with the new pitches, in the container it came in,
	// Texture its music.
	Mended  []byte
	Texture *theory.Texture
	// Both holds the original above the mended version; nil unless asked for.
	Both []byte
}

// MendingReport is the JSON answer.
type MendingReport struct {
	File    string `json:"file"`
	Engine  string `json:"engine"`
	RuleSet string `json:"rule_set"`
	// Before and After count the findings of the original and the mended score
	// at the chosen severity or above, by the harmony read in the original.
	Before int `json:"before"`
	After  int `json:"after"`
	// Semitones is the distance moved by all edits together.
	Semitones int          `json:"semitones"`
	Edits     []MendedNote `json:"edits"`
	// Left are the rules of what could not be removed, with their places.
	Left []LeftReport `json:"left"`
}

// MendedNote is one changed note.
type MendedNote struct {
	Note NoteReport `json:"note"`
	To   string     `json:"to"`
	// Measure is the printed label, Beat counts from 1.
	Measure string  `json:"measure"`
	Beat    float64 `json:"beat"`
}

// LeftReport is a finding that is still there.
type LeftReport struct {
	Rule    string  `json:"rule"`
	Measure string  `json:"measure"`
	Beat    float64 `json:"beat"`
}

// Mend reads a score, takes its faults out with the smallest changes, and
// returns what was changed with the mended score. A score that cannot be read is
// a [*musicxml.InputError], an unknown voice or measure a [*RequestError].
func (e *Engine) Mend(ctx context.Context, in Input, r MendRequest) (*MendResult, error) {
	doc, err := musicxml.Read(in.Name, in.Data, e.Limits)
	if err != nil {
		return nil, err
	}
	texture := theory.FindVoices(doc.Score)
	options := voicing.MendOptions{RuleSet: r.RuleSet, Severity: r.Severity}
	if options.Keep, err = voicesNamed(texture, r.Keep); err != nil {
		return nil, err
	}
	if options.KeepMeasures, err = measuresLabeled(doc.Score, r.KeepMeasures); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	m := voicing.Mend(texture, harmony.Analyze(texture), options)
	pitches := map[theory.NoteID]theory.Pitch{}
	for _, edit := range m.Edits {
		for _, id := range texture.Voices[edit.Note.Voice].Notes[edit.Note.Note].IDs {
			pitches[id] = edit.To
		}
	}
	mended, err := doc.Repitch(pitches)
	if err != nil {
		return nil, fmt.Errorf("writing the mended notes: %w", err)
	}
	result := &MendResult{Report: e.mendingReport(in, r, doc, texture, m), Mended: mended, Texture: m.Texture}
	if r.Both {
		if result.Both, err = bothVersions(doc.Score.Title, texture, m); err != nil {
			return nil, &RequestError{fmt.Sprintf("both versions cannot stand on one sheet: %v; ask for the mended score alone", err)}
		}
	}
	return result, nil
}

// bothVersions sets the original above the mended voices, with what changed over
// the notes concerned.
func bothVersions(title string, original *theory.Texture, m *voicing.Mending) ([]byte, error) {
	page := sheet.Sheet{Title: title, Texture: original, Staves: sheet.Beneath(
		[]string{"As written", "Mended"}, []*theory.Texture{original, m.Texture}, sheet.Closed)}
	over := &page.Staves[2].Above
	for _, edit := range m.Edits {
		was := &original.Voices[edit.Note.Voice].Notes[edit.Note.Note]
		*over = append(*over, sheet.Label{
			Onset: was.Onset, Text: fmt.Sprintf("%s: %v, was %v", original.Voices[edit.Note.Voice].Name, edit.To, was.Pitch),
		})
	}
	return sheet.Write(&page)
}

func voicesNamed(t *theory.Texture, names []string) ([]int, error) {
	var out []int
	for _, name := range names {
		found := false
		for v := range t.Voices {
			if t.Voices[v].Name == name {
				out, found = append(out, v), true
			}
		}
		if !found {
			return nil, &RequestError{fmt.Sprintf("there is no voice %q in this score", name)}
		}
	}
	return out, nil
}

func measuresLabeled(s *theory.Score, labels []string) ([]int, error) {
	var out []int
	for _, label := range labels {
		found := false
		for i := range s.Measures {
			if s.Measures[i].Label == label {
				out, found = append(out, i), true
			}
		}
		if !found {
			return nil, &RequestError{fmt.Sprintf("there is no measure %q in this score", label)}
		}
	}
	return out, nil
}

func (e *Engine) mendingReport(in Input, r MendRequest, doc *musicxml.Document, t *theory.Texture, m *voicing.Mending) *MendingReport {
	result := &Result{Document: doc, Texture: t}
	report := &MendingReport{
		File: in.Name, Engine: e.Version, RuleSet: r.RuleSet.Title(), Semitones: m.Distance,
		Before: m.Before, After: len(m.Left), Edits: []MendedNote{}, Left: []LeftReport{},
	}
	for _, edit := range m.Edits {
		n := &t.Voices[edit.Note.Voice].Notes[edit.Note.Note]
		measure, beat := placeOf(doc.Score, n.Onset)
		report.Edits = append(report.Edits, MendedNote{Note: noteReport(edit.Note, result), To: edit.To.String(), Measure: measure, Beat: beat})
	}
	for i := range m.Left {
		measure, beat := placeOf(doc.Score, m.Left[i].Onset)
		report.Left = append(report.Left, LeftReport{Rule: string(m.Left[i].Rule), Measure: measure, Beat: beat})
	}
	return report
}

func placeOf(s *theory.Score, onset theory.Fraction) (label string, beat float64) {
	m := s.MeasureAt(onset)
	return m.Label, m.Time.BeatAt(onset.Sub(m.Onset)).Float()
}
