package worker

import (
	"context"
	"fmt"

	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/voicing"
	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/request"
)

// mend reads a score, takes its faults out with the smallest changes, and returns
// what was changed with the mended score. An unknown voice or measure is a
// [*RequestError].
func (e *Engine) mend(ctx context.Context, in Input, plan *request.MendPlan) (*answer.Answer, error) {
	r, err := e.read(ctx, &in, harmonyWish{use: plan.Given, style: plan.Style})
	if err != nil {
		return nil, err
	}
	soon, cancel := early(ctx)
	defer cancel()
	rules := plan.For(r.texture)
	options := voicing.MendOptions{RuleSet: rules, Severity: plan.Severity, Most: plan.Most, Stop: stopWith(soon)}
	if options.Keep, err = voicesNamed(r.texture, plan.Keep, plan.Alike); err != nil {
		return nil, err
	}
	if options.KeepMeasures, err = measuresLabeled(r.document.Score, plan.KeepMeasures, plan.Alike); err != nil {
		return nil, err
	}
	if options.Only, err = chosenFindings(r, plan, rules); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	ways := voicing.MendingAlternatives(r.texture, r.harmony, options, plan.Alternatives)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	said := e.mendingReport(in.Name, plan, r, ways)
	if soon.Err() != nil && said.After > 0 {
		said.Advice = fmt.Sprintf("The time was up before everything was tried: %d of %d findings are left. Mend fewer measures at once.", said.After, said.Before)
	}
	a := &answer.Answer{Report: said, Texture: ways[0].Texture}
	for i, m := range ways {
		mended, err := repitched(r.document, r.texture, m)
		if err != nil {
			return nil, err
		}
		a.AddScore(answer.Mended, i, mended)
	}
	if !plan.Both {
		return a, nil
	}
	both, err := allVersions(r.document.Score.Title, plan.Catalog, r.texture, ways)
	switch {
	case err == nil:
		a.AddScore(answer.Both, 0, both)
	case !plan.Alike:
		return nil, &RequestError{Problem: fmt.Sprintf("both versions cannot stand on one sheet: %v; ask for the mended score alone", err)}
	}
	return a, nil
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
func allVersions(title string, catalog *partwriting.Catalog, original *theory.Texture, ways []*voicing.Mending) ([]byte, error) {
	titles, textures := []string{catalog.Phrase(partwriting.AsWritten)}, []*theory.Texture{original}
	for i, m := range ways {
		name := catalog.Phrase(partwriting.MendedVersion)
		if len(ways) > 1 {
			name = catalog.Phrase(partwriting.MendedVersionN, "number", i+1)
		}
		titles, textures = append(titles, name), append(textures, m.Texture)
	}
	page := sheet.Sheet{Work: original.Score.Work, Title: title, Texture: original, Staves: sheet.Beneath(titles, textures, sheet.Closed)}
	each := len(page.Staves) / len(textures)
	for i, m := range ways {
		over := &page.Staves[(i+1)*each].Above
		for _, edit := range m.Edits {
			was := &original.Voices[edit.Note.Voice].Notes[edit.Note.Note]
			*over = append(*over, sheet.Label{
				Onset: was.Onset, Text: catalog.Phrase(partwriting.ChangedNote, "voice", original.Voices[edit.Note.Voice].Name, "to", edit.To, "from", was.Pitch),
			})
		}
	}
	return sheet.Write(&page)
}

func (e *Engine) mendingReport(file string, plan *request.MendPlan, r *Reading, ways []*voicing.Mending) *report.Mending {
	best := r.mendingWay(ways[0], plan.Catalog)
	all := &report.Mending{
		File: file, Engine: e.Version, RuleSet: plan.For(r.texture).Title(), Before: ways[0].Before,
		After: best.After, Semitones: best.Semitones, Edits: best.Edits, Left: best.Left, New: best.New, Alternatives: []report.MendingWay{},
		Notices: noticeReports(r.document.Notices), Untouched: ways[0].Untouched.String(), Advice: advice(ways[0]),
	}
	for _, m := range ways[1:] {
		all.Alternatives = append(all.Alternatives, r.mendingWay(m, plan.Catalog))
	}
	return all
}

func (r *Reading) mendingWay(m *voicing.Mending, catalog *partwriting.Catalog) report.MendingWay {
	way := report.MendingWay{
		After: len(m.Left) + len(m.New), Semitones: m.Distance, Edits: []report.MendedNote{},
		Left: r.leftReports(m.Left, m.Texture, catalog), New: r.leftReports(m.New, m.Texture, catalog),
	}
	for _, edit := range m.Edits {
		n := &r.texture.Voices[edit.Note.Voice].Notes[edit.Note.Note]
		measure, beat := placeOf(r.document.Score, n.Onset)
		way.Edits = append(way.Edits, report.MendedNote{Note: r.noteReport(edit.Note), To: edit.To.String(), Measure: measure, Beat: beat.Float(), BeatExact: beat.String()})
	}
	return way
}

func (r *Reading) leftReports(findings []partwriting.Finding, t *theory.Texture, catalog *partwriting.Catalog) []report.Left {
	out := []report.Left{}
	for i := range findings {
		f := &findings[i]
		measure, beat := placeOf(r.document.Score, f.Onset)
		out = append(out, report.Left{Rule: string(f.Rule), Measure: measure, Beat: beat.Float(), BeatExact: beat.String(), Message: catalog.Message(f, t)})
	}
	return out
}

// advice says what to do with a score in which nothing was tried, "" for any other.
func advice(m *voicing.Mending) string {
	switch m.Untouched {
	case voicing.TooMany:
		return fmt.Sprintf("The score has %d findings of this severity, too many to mend unasked. Choose which are to go, such as %s, or ask for all.", m.Before, m.Left[0].Rule)
	case voicing.BlockChords:
		return "These are block chords, not voices: mending them would change the chords. Have them voiced as a progression instead."
	case voicing.Tried:
	}
	return ""
}

func placeOf(s *theory.Score, onset theory.Fraction) (label string, beat theory.Fraction) {
	m := s.MeasureAt(onset)
	return m.Label, m.Time.BeatAt(onset.Sub(m.Onset))
}
