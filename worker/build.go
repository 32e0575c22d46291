package worker

import (
	"encoding/json"
	"fmt"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/worker/report"
)

// report turns what was found into the answer.
func (e *Engine) report(in Input, r *Result, o Options, catalog *partwriting.Catalog) *report.Report {
	answer := &report.Report{
		File:     in.Name,
		Engine:   e.Version,
		RuleSet:  o.RuleSet.Title(),
		Score:    scoreReport(r.Document, r.Texture),
		Notices:  noticeReports(r.Document.Notices),
		Findings: make([]report.Finding, 0, len(r.Findings)),
		Summary:  report.Summarize(r.Findings),
	}
	if o.Given != harmony.Ignore {
		answer.Notices = append(answer.Notices, labelNotices(in.Labels, r.Texture)...)
	}
	if !partwriting.Compared(r.Texture) {
		answer.Notices = append(answer.Notices, report.Notice{
			Code:    "voices-not-compared",
			Message: "so many voices over so long a time are not compared with one another: crossing, spacing and lines are checked, parallels are not",
		})
	}
	for _, name := range partwriting.UnknownAccepted(r.Document.Score) {
		answer.Notices = append(answer.Notices, report.Notice{
			Code:    "accepted-rule-unknown",
			Message: fmt.Sprintf("a text accepts %.64q, which is no rule; partwright rules lists them", name),
		})
	}
	if len(r.Findings) == partwriting.MaxFindings {
		answer.Notices = append(answer.Notices, report.Notice{
			Code:    "findings-cut-short",
			Message: fmt.Sprintf("only the first %d findings are told: a rule set with fewer rules, or one voice a part, tells more of the rest", partwriting.MaxFindings),
		})
	}
	if o.Rubric != nil {
		answer.Grade = markReport(r, o, catalog)
	}
	if o.Analysis {
		answer.Analysis = report.NewAnalysis(r.Texture, r.Harmony)
	}
	for i := range r.Findings {
		answer.Findings = append(answer.Findings, findingReport(i+1, &r.Findings[i], r, catalog))
	}
	return answer
}

func scoreReport(d *musicxml.Document, t *theory.Texture) report.Score {
	c := d.Counts
	s := report.Score{
		Title: d.Score.Title, Parts: c.Parts, Measures: c.Measures, Notes: c.Notes, Grace: c.Grace,
		XMLVoices: c.Layers, Quarters: c.Quarters.String(),
		High: report.Height{Number: c.High, Pitched: c.Pitched}, Low: report.Height{Number: c.Low, Pitched: c.Pitched},
		Layout: t.Layout.String(), Found: t.Found,
		Voices: make([]report.Voice, 0, len(t.Voices)), SetAside: make([]report.SetAside, 0, len(t.SetAside)),
	}
	for i := range t.Voices {
		s.Voices = append(s.Voices, voiceReport(d.Score, &t.Voices[i]))
	}
	for _, a := range t.SetAside {
		s.SetAside = append(s.SetAside, report.SetAside{Part: d.Score.Parts[a.Part].ID, Notes: len(a.Notes), Reason: a.Reason})
	}
	return s
}

func voiceReport(s *theory.Score, v *theory.Voice) report.Voice {
	r := report.Voice{Name: v.Name, Part: s.Parts[v.Part].ID, Staff: v.Staff, Found: v.Found, Notes: len(v.Notes)}
	if len(v.Notes) == 0 {
		return r
	}
	low, high := v.Notes[0].Pitch, v.Notes[0].Pitch
	for i := range v.Notes {
		if p := v.Notes[i].Pitch; p.Above(high) {
			high = p
		} else if low.Above(p) {
			low = p
		}
	}
	r.Low, r.High = low.String(), high.String()
	return r
}

func noticeReports(notices []musicxml.Notice) []report.Notice {
	out := make([]report.Notice, 0, len(notices))
	for _, n := range notices {
		r := report.Notice{Code: n.Code, Part: n.Part, Measure: n.Label, Line: n.Line, Message: n.Message}
		if n.Measure >= 0 {
			index := n.Measure
			r.MeasureIndex = &index
		}
		out = append(out, r)
	}
	return out
}

func findingReport(number int, f *partwriting.Finding, r *Result, catalog *partwriting.Catalog) report.Finding {
	measure := &r.Document.Score.Measures[f.Measure]
	offset := f.Onset.Sub(measure.Onset)
	rule := partwriting.RuleByID(f.Rule)
	out := report.Finding{
		Number: number, Rule: string(f.Rule), Family: f.Family.String(), Severity: f.Severity.String(),
		Measure: measure.Label, MeasureIndex: measure.Index,
		Beat: measure.Time.BeatAt(offset).Float(), Offset: offset.String(), Onset: f.Onset.String(),
		Voices: make([]string, 0, len(f.Voices)), Notes: noteReports(f.Notes, r), Related: noteReports(f.Related, r),
		Message: catalog.Message(f, r.Texture), Why: catalog.Why(f.Rule), Source: rule.Source.String(),
		Fixes: make([]report.Fix, 0, len(f.Fixes)),
	}
	for _, v := range f.Voices {
		out.Voices = append(out.Voices, r.Texture.Voices[v].Name)
	}
	for _, fix := range f.Fixes {
		edits := make([]report.Edit, 0, len(fix.Edits))
		for _, e := range fix.Edits {
			edits = append(edits, report.Edit{Note: noteReport(e.Note, r), To: e.To.String()})
		}
		out.Fixes = append(out.Fixes, report.Fix{Edits: edits})
	}
	return out
}

func noteReports(refs []partwriting.NoteRef, r *Result) []report.Note {
	out := make([]report.Note, 0, len(refs))
	for _, ref := range refs {
		out = append(out, noteReport(ref, r))
	}
	return out
}

func noteReport(ref partwriting.NoteRef, r *Result) report.Note {
	voice := &r.Texture.Voices[ref.Voice]
	note := &voice.Notes[ref.Note]
	at := r.Document.Locate(note.IDs[0])
	return report.Note{
		Voice: voice.Name, Onset: note.Onset.String(), Pitch: note.Pitch.String(),
		Part: at.Part, Staff: at.Staff, Layer: at.Layer, Line: at.Line, Column: at.Column,
	}
}

func markReport(r *Result, o Options, catalog *partwriting.Catalog) *report.Grade {
	mark := o.Rubric.Mark(partwriting.NewPassage(r.Texture, r.Harmony, o.RuleSet), r.Findings)
	out := &report.Grade{
		Rubric: mark.Rubric, Source: o.Rubric.Source.String(), Note: catalog.MarkNote,
		Earned: number(mark.Earned), Available: number(mark.Available),
		Lines: make([]report.GradeLine, 0, len(mark.Lines)), Phrases: make([]report.GradePhrase, 0, len(mark.Phrases)),
	}
	for _, l := range mark.Lines {
		out.Lines = append(out.Lines, report.GradeLine{Rule: string(l.Rule), Count: l.Count, Lost: number(l.Lost), Capped: l.Capped})
	}
	for _, p := range mark.Phrases {
		out.Phrases = append(out.Phrases, report.GradePhrase{
			Measure: r.Document.Score.Measures[p.Measure].Label, MeasureIndex: p.Measure,
			Available: number(p.Available), Lost: number(p.Lost), Capped: p.Capped,
		})
	}
	for _, praise := range mark.Praise {
		out.Praise = append(out.Praise, catalog.Praises[praise])
	}
	return out
}

func number(p partwriting.Points) json.Number { return json.Number(p.String()) }
