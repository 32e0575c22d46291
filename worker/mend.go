package worker

import (
	"context"
	"fmt"

	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
	"partwright/theory/voicing"
	"partwright/worker/report"
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
	// Only lists the findings that are to go, each a rule ("parallel-fifths") or a
	// rule in a measure by its printed label ("parallel-fifths@3"); none is all.
	Only []string
	// Alternatives is how many mendings are wanted, 1 to [MaxMendings]; 0 is 1.
	Alternatives int
	// Both asks for a sheet with both versions, or with all where there are
	// several mendings.
	Both bool
	// Alike is for many scores that are mended alike: what Keep, KeepMeasures and
	// Only name and a score does not have is passed over, and so is a sheet on which
	// its versions cannot stand.
	Alike bool
}

// Validate tells what no score could be mended by: a [*RequestError].
func (r *MendRequest) Validate() error {
	for _, name := range r.Only {
		if _, err := ruleNamed(name); err != nil {
			return err
		}
	}
	if r.Alternatives < 0 || r.Alternatives > MaxMendings {
		return &RequestError{fmt.Sprintf("%d mendings were asked for; 1 to %d can be had", r.Alternatives, MaxMendings)}
	}
	return nil
}

// MaxMendings bounds the mendings that one request may ask for.
const MaxMendings = 5

// MendResult is the answer to a [MendRequest].
type MendResult struct {
	Report *report.Mending
	// Mended is the score with the new pitches, in the container it came in,
	// Texture its music.
	Mended  []byte
	Texture *theory.Texture
	// Others are the alternatives after the first, in the order of the report.
	Others [][]byte
	// Both holds the original above the mended versions; nil unless asked for.
	Both []byte
}

// Mend reads a score, takes its faults out with the smallest changes, and
// returns what was changed with the mended score. A score that cannot be read is
// a [*musicxml.InputError], an unknown voice or measure a [*RequestError].
func (e *Engine) Mend(ctx context.Context, in Input, r MendRequest) (*MendResult, error) {
	doc, err := musicxml.Read(in.Name, in.Data, e.Limits)
	if err == nil {
		err = r.Validate()
	}
	if err != nil {
		return nil, err
	}
	texture := separation.FindVoices(doc.Score)
	options := voicing.MendOptions{RuleSet: r.RuleSet, Severity: r.Severity, Stop: stopWith(ctx)}
	if options.Keep, err = voicesNamed(texture, r.Keep, r.Alike); err != nil {
		return nil, err
	}
	if options.KeepMeasures, err = measuresLabeled(doc.Score, r.KeepMeasures, r.Alike); err != nil {
		return nil, err
	}
	analysis := harmony.Analyze(texture)
	if options.Only, err = chosenFindings(texture, analysis, &r); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	ways := voicing.MendingAlternatives(texture, analysis, options, max(r.Alternatives, 1))
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	result := &MendResult{Report: e.mendingReport(in, r, doc, texture, ways), Texture: ways[0].Texture}
	for i, m := range ways {
		mended, err := repitched(doc, texture, m)
		if err != nil {
			return nil, err
		}
		if i == 0 {
			result.Mended = mended
		} else {
			result.Others = append(result.Others, mended)
		}
	}
	if r.Both {
		if result.Both, err = allVersions(doc.Score.Title, texture, ways); err != nil && !r.Alike {
			return nil, &RequestError{fmt.Sprintf("both versions cannot stand on one sheet: %v; ask for the mended score alone", err)}
		}
	}
	return result, nil
}

// repitched is the document with the notes of a mending.
func repitched(doc *musicxml.Document, t *theory.Texture, m *voicing.Mending) ([]byte, error) {
	pitches := map[theory.NoteID]theory.Pitch{}
	for _, edit := range m.Edits {
		for _, id := range t.Voices[edit.Note.Voice].Notes[edit.Note.Note].IDs {
			pitches[id] = edit.To
		}
	}
	mended, err := doc.Repitch(pitches)
	if err != nil {
		return nil, fmt.Errorf("writing the mended notes: %w", err)
	}
	return mended, nil
}

// allVersions sets the original above the mended voices, with what changed over the
// notes concerned.
func allVersions(title string, original *theory.Texture, ways []*voicing.Mending) ([]byte, error) {
	titles, textures := []string{"As written"}, []*theory.Texture{original}
	for i, m := range ways {
		name := "Mended"
		if len(ways) > 1 {
			name = fmt.Sprintf("Mended %d", i+1)
		}
		titles, textures = append(titles, name), append(textures, m.Texture)
	}
	page := sheet.Sheet{Title: title, Texture: original, Staves: sheet.Beneath(titles, textures, sheet.Closed)}
	each := len(page.Staves) / len(textures)
	for i, m := range ways {
		over := &page.Staves[(i+1)*each].Above
		for _, edit := range m.Edits {
			was := &original.Voices[edit.Note.Voice].Notes[edit.Note.Note]
			*over = append(*over, sheet.Label{
				Onset: was.Onset, Text: fmt.Sprintf("%s: %v, was %v", original.Voices[edit.Note.Voice].Name, edit.To, was.Pitch),
			})
		}
	}
	return sheet.Write(&page)
}

func (e *Engine) mendingReport(in Input, r MendRequest, doc *musicxml.Document, t *theory.Texture, ways []*voicing.Mending) *report.Mending {
	best := mendingWay(doc, t, ways[0])
	report := &report.Mending{
		File: in.Name, Engine: e.Version, RuleSet: r.RuleSet.Title(), Before: ways[0].Before,
		After: best.After, Semitones: best.Semitones, Edits: best.Edits, Left: best.Left, Alternatives: []report.MendingWay{},
	}
	for _, m := range ways[1:] {
		report.Alternatives = append(report.Alternatives, mendingWay(doc, t, m))
	}
	return report
}

func mendingWay(doc *musicxml.Document, t *theory.Texture, m *voicing.Mending) report.MendingWay {
	result := &Result{Document: doc, Texture: t}
	answer := report.MendingWay{After: len(m.Left), Semitones: m.Distance, Edits: []report.MendedNote{}, Left: []report.Left{}}
	for _, edit := range m.Edits {
		n := &t.Voices[edit.Note.Voice].Notes[edit.Note.Note]
		measure, beat := placeOf(doc.Score, n.Onset)
		answer.Edits = append(answer.Edits, report.MendedNote{Note: noteReport(edit.Note, result), To: edit.To.String(), Measure: measure, Beat: beat})
	}
	for i := range m.Left {
		measure, beat := placeOf(doc.Score, m.Left[i].Onset)
		answer.Left = append(answer.Left, report.Left{Rule: string(m.Left[i].Rule), Measure: measure, Beat: beat})
	}
	return answer
}

func placeOf(s *theory.Score, onset theory.Fraction) (label string, beat float64) {
	m := s.MeasureAt(onset)
	return m.Label, m.Time.BeatAt(onset.Sub(m.Onset)).Float()
}
