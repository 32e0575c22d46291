package worker

import (
	"encoding/json"
	"fmt"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// report turns what was found into the answer.
func (e *Engine) report(in Input, r *Result, o Options, catalog *partwriting.Catalog) *Report {
	report := &Report{
		File:     in.Name,
		Engine:   e.Version,
		RuleSet:  o.RuleSet.Title(),
		Score:    scoreReport(r.Document, r.Texture),
		Notices:  noticeReports(r.Document.Notices),
		Findings: make([]FindingReport, 0, len(r.Findings)),
		Summary:  summarize(r.Findings),
	}
	if o.Given != harmony.Ignore {
		report.Notices = append(report.Notices, labelNotices(in.Labels, r.Texture)...)
	}
	if !partwriting.Compared(r.Texture) {
		report.Notices = append(report.Notices, NoticeReport{
			Code:    "voices-not-compared",
			Message: "so many voices over so long a time are not compared with one another: crossing, spacing and lines are checked, parallels are not",
		})
	}
	for _, name := range partwriting.UnknownAccepted(r.Document.Score) {
		report.Notices = append(report.Notices, NoticeReport{
			Code:    "accepted-rule-unknown",
			Message: fmt.Sprintf("a text accepts %.64q, which is no rule; partwright rules lists them", name),
		})
	}
	if len(r.Findings) == partwriting.MaxFindings {
		report.Notices = append(report.Notices, NoticeReport{
			Code:    "findings-cut-short",
			Message: fmt.Sprintf("only the first %d findings are told: a rule set with fewer rules, or one voice a part, tells more of the rest", partwriting.MaxFindings),
		})
	}
	if o.Rubric != nil {
		report.Mark = markReport(r, o, catalog)
	}
	if o.Analysis {
		report.Analysis = ReportAnalysis(r.Texture, r.Harmony)
	}
	for i := range r.Findings {
		report.Findings = append(report.Findings, findingReport(i+1, &r.Findings[i], r, catalog))
	}
	return report
}

func scoreReport(d *musicxml.Document, t *theory.Texture) ScoreReport {
	c := d.Counts
	s := ScoreReport{
		Title: d.Score.Title, Parts: c.Parts, Measures: c.Measures, Notes: c.Notes, Grace: c.Grace,
		XMLVoices: c.Layers, Quarters: c.Quarters.String(),
		High: Height{c.High, c.Pitched}, Low: Height{c.Low, c.Pitched},
		Layout: t.Layout.String(), Found: t.Found,
		Voices: make([]VoiceReport, 0, len(t.Voices)), SetAside: make([]SetAsideReport, 0, len(t.SetAside)),
	}
	for i := range t.Voices {
		s.Voices = append(s.Voices, voiceReport(d.Score, &t.Voices[i]))
	}
	for _, a := range t.SetAside {
		s.SetAside = append(s.SetAside, SetAsideReport{Part: d.Score.Parts[a.Part].ID, Notes: len(a.Notes), Reason: a.Reason})
	}
	return s
}

func voiceReport(s *theory.Score, v *theory.Voice) VoiceReport {
	r := VoiceReport{Name: v.Name, Part: s.Parts[v.Part].ID, Staff: v.Staff, Found: v.Found, Notes: len(v.Notes)}
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

func noticeReports(notices []musicxml.Notice) []NoticeReport {
	out := make([]NoticeReport, 0, len(notices))
	for _, n := range notices {
		r := NoticeReport{Code: n.Code, Part: n.Part, Measure: n.Label, Line: n.Line, Message: n.Message}
		if n.Measure >= 0 {
			index := n.Measure
			r.MeasureIndex = &index
		}
		out = append(out, r)
	}
	return out
}

func findingReport(number int, f *partwriting.Finding, r *Result, catalog *partwriting.Catalog) FindingReport {
	measure := &r.Document.Score.Measures[f.Measure]
	offset := f.Onset.Sub(measure.Onset)
	rule := partwriting.RuleByID(f.Rule)
	out := FindingReport{
		Number: number, Rule: string(f.Rule), Family: f.Family.String(), Severity: f.Severity.String(),
		Measure: measure.Label, MeasureIndex: measure.Index,
		Beat: measure.Time.BeatAt(offset).Float(), Offset: offset.String(), Onset: f.Onset.String(),
		Voices: make([]string, 0, len(f.Voices)), Notes: noteReports(f.Notes, r), Related: noteReports(f.Related, r),
		Message: catalog.Message(f, r.Texture), Why: catalog.Why(f.Rule), Source: rule.Source.String(),
		Fixes: make([]FixReport, 0, len(f.Fixes)),
	}
	for _, v := range f.Voices {
		out.Voices = append(out.Voices, r.Texture.Voices[v].Name)
	}
	for _, fix := range f.Fixes {
		edits := make([]EditReport, 0, len(fix.Edits))
		for _, e := range fix.Edits {
			edits = append(edits, EditReport{Note: noteReport(e.Note, r), To: e.To.String()})
		}
		out.Fixes = append(out.Fixes, FixReport{Edits: edits})
	}
	return out
}

func noteReports(refs []partwriting.NoteRef, r *Result) []NoteReport {
	out := make([]NoteReport, 0, len(refs))
	for _, ref := range refs {
		out = append(out, noteReport(ref, r))
	}
	return out
}

func noteReport(ref partwriting.NoteRef, r *Result) NoteReport {
	voice := &r.Texture.Voices[ref.Voice]
	note := &voice.Notes[ref.Note]
	at := r.Document.Locate(note.IDs[0])
	return NoteReport{
		Voice: voice.Name, Onset: note.Onset.String(), Pitch: note.Pitch.String(),
		Part: at.Part, Staff: at.Staff, Layer: at.Layer, Line: at.Line, Column: at.Column,
	}
}

func markReport(r *Result, o Options, catalog *partwriting.Catalog) *MarkReport {
	mark := o.Rubric.Mark(partwriting.NewPassage(r.Texture, r.Harmony, o.RuleSet), r.Findings)
	out := &MarkReport{
		Rubric: mark.Rubric, Source: o.Rubric.Source.String(), Note: catalog.MarkNote,
		Earned: number(mark.Earned), Available: number(mark.Available),
		Lines: make([]MarkLineReport, 0, len(mark.Lines)), Phrases: make([]MarkPhraseReport, 0, len(mark.Phrases)),
	}
	for _, l := range mark.Lines {
		out.Lines = append(out.Lines, MarkLineReport{Rule: string(l.Rule), Count: l.Count, Lost: number(l.Lost), Capped: l.Capped})
	}
	for _, p := range mark.Phrases {
		out.Phrases = append(out.Phrases, MarkPhraseReport{
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
