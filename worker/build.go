package worker

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"strings"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/worker/report"
)

// report turns what was found into the answer.
func (e *Engine) report(c *checked) *report.Report {
	answer := &report.Report{
		File:     c.input.Name,
		Engine:   e.Version,
		RuleSet:  c.passage.Set.Title(),
		Texture:  textureReport(c),
		HandIn:   handInReport(c),
		Score:    scoreReport(c.plan.Catalog, c.document, c.texture, c.harmony),
		Identity: identityReport(c), Provenance: provenanceReport(c),
		Notices:  noticeReports(c.document.Notices),
		Findings: make([]report.Finding, 0, len(c.findings)),
		Summary:  report.Summarize(c.findings),
	}
	if c.plan.Given != harmony.Ignore {
		answer.Notices = append(answer.Notices, labelNotices(c.input.Labels, c.texture)...)
		if c.sung && c.input.Labels == nil {
			answer.Notices = append(answer.Notices, report.Notice{Code: "lyrics-are-figures", Message: c.plan.Catalog.Phrase(partwriting.SungFigures) + "."})
		}
	}
	answer.Language = c.plan.Catalog.Language
	if !partwriting.Compared(c.texture) {
		answer.Notices = append(answer.Notices, report.Notice{
			Code:    "voices-not-compared",
			Message: "so many voices over so long a time are not compared with one another: crossing, spacing and lines are checked, parallels are not",
		})
	}
	for _, name := range partwriting.UnknownAccepted(c.document.Score) {
		answer.Notices = append(answer.Notices, report.Notice{
			Code:    "accepted-rule-unknown",
			Message: fmt.Sprintf("a text accepts %.64q, which is no rule; partwright rules lists them", name),
		})
	}
	if len(c.findings) == partwriting.MaxFindings {
		answer.Notices = append(answer.Notices, report.Notice{
			Code:    "findings-cut-short",
			Message: fmt.Sprintf("only the first %d findings are reported: a rule set with fewer rules, or one voice a part, leaves room for the rest", partwriting.MaxFindings),
		})
	}
	if c.looked < c.faulty {
		answer.Notices = append(answer.Notices, report.Notice{
			Code:    "fixes-cut-short",
			Message: fmt.Sprintf("ways to mend were looked for in %d of %d faults and cautions; check fewer measures at once to have more", c.looked, c.faulty),
		})
	}
	if c.plan.Rubric != nil && answer.HandIn.Complete {
		answer.Grade = gradeReport(c)
	}
	if answer.HandIn.Complete {
		for _, praise := range c.passage.Praise(c.findings) {
			answer.WellDone = append(answer.WellDone, c.plan.Catalog.Praises[praise])
		}
	}
	answer.Pupil = c.plan.Pupil
	if c.plan.Analysis {
		answer.Analysis = report.NewAnalysis(c.texture, c.harmony)
	}
	if c.plan.Notes {
		answer.VoiceNotes = report.NewVoiceNotes(c.texture, c.ids)
	}
	for i := range answer.Notices {
		answer.Notices[i].Message = c.plan.Catalog.Notice(answer.Notices[i].Code, answer.Notices[i].Message)
	}
	for i := range c.findings {
		answer.Findings = append(answer.Findings, c.findingReport(i+1))
	}
	for _, i := range c.first {
		answer.First = append(answer.First, c.firstReport(i))
	}
	return answer
}

// textureReport says what the score was taken for and why it is held to its rule set.
func textureReport(c *checked) *report.Texture {
	kind, named := c.passage.Kind()
	catalog := c.plan.Catalog
	why := partwriting.TextureRead
	if named {
		why = partwriting.TextureNamed
	}
	set := partwriting.SetSuits
	if c.plan.RuleSet != nil {
		set = partwriting.SetNamed
	}
	return &report.Texture{
		Kind: kind.String(), Named: named,
		Why: catalog.Phrase(why, "texture", catalog.Word(partwriting.Word("texture-"+kind.String()))) + "; " +
			catalog.Phrase(set, "set", c.passage.Set.Title()) + ".",
	}
}

func scoreReport(catalog *partwriting.Catalog, d *musicxml.Document, t *theory.Texture, a *harmony.Analysis) report.Score {
	c := d.Counts
	s := report.Score{
		Title: d.Score.Title, Composer: d.Score.Composer, Rights: d.Score.Rights, Key: mainKey(a),
		Parts: c.Parts, Measures: c.Measures, Notes: c.Notes, Grace: c.Grace,
		XMLVoices: c.Layers, Quarters: c.Quarters.String(),
		High: report.Height{Number: c.High, Pitched: c.Pitched}, Low: report.Height{Number: c.Low, Pitched: c.Pitched},
		Layout: t.Layout.String(), Found: catalog.Clause(t.Found), HarmonyStyle: a.Style.String(), HarmonyFound: catalog.Clause(a.StyleFound),
		Voices: make([]report.Voice, 0, len(t.Voices)), SetAside: make([]report.SetAside, 0, len(t.SetAside)),
	}
	if len(d.Score.Measures) > 0 {
		first := &d.Score.Measures[0]
		s.Signature = int(first.Key.Fifths)
		if !first.Time.IsSenzaMisura() {
			s.Time = first.Time.String()
		}
	}
	for i := range t.Voices {
		s.Voices = append(s.Voices, voiceReport(catalog, d.Score, &t.Voices[i]))
	}
	for _, a := range t.SetAside {
		s.SetAside = append(s.SetAside, report.SetAside{Part: d.Score.Parts[a.Part].ID, Notes: len(a.Notes), Reason: catalog.Clause(a.Reason)})
	}
	return s
}

// mainKey is the key that holds longest, of several the last.
func mainKey(a *harmony.Analysis) string {
	length := map[theory.Key]theory.Fraction{}
	var main theory.Key
	for i := range a.Keys {
		k := &a.Keys[i]
		length[k.Key] = length[k.Key].Add(k.End.Sub(k.Onset))
		if !length[k.Key].Less(length[main]) {
			main = k.Key
		}
	}
	if len(a.Keys) == 0 {
		return ""
	}
	return main.String()
}

func identityReport(c *checked) *report.Identity {
	sounds := theory.FingerprintOf(c.document.Score)
	return &report.Identity{SHA256: fmt.Sprintf("%x", sha256.Sum256(c.input.Data)), Music: sounds.Music, Shape: sounds.Shape}
}

func voiceReport(catalog *partwriting.Catalog, s *theory.Score, v *theory.Voice) report.Voice {
	r := report.Voice{Name: v.Name, Part: s.Parts[v.Part].ID, Staff: v.Staff, Found: catalog.Clause(v.Found), Notes: len(v.Notes)}
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

func (c *checked) findingReport(number int) report.Finding {
	f, catalog := &c.findings[number-1], c.plan.Catalog
	measure := &c.document.Score.Measures[f.Measure]
	offset := f.Onset.Sub(measure.Onset)
	beat := measure.Time.BeatAt(offset)
	rule := partwriting.RuleByID(f.Rule)
	out := report.Finding{
		Number: number, Follows: f.Follows, Rule: string(f.Rule), Family: f.Family.String(), Severity: f.Severity.String(),
		Measure: measure.Label, MeasureIndex: measure.Index,
		Beat: beat.Float(), BeatExact: beat.String(), Offset: offset.String(), Onset: f.Onset.String(),
		Voices: make([]string, 0, len(f.Voices)), Notes: c.noteReports(f.Notes), Related: c.noteReports(f.Related),
		Message: catalog.Message(f, c.texture), Why: catalog.Why(f.Rule), Source: rule.Source.String(),
		Accept: fmt.Sprintf("%q: [%s]", measure.Label, f.Rule),
		Fixes:  make([]report.Fix, 0, len(f.Fixes)),
	}
	if h := c.harmony.AtOnset(f.Onset); h != nil {
		out.Key, out.Numeral = h.Key.String(), h.Numeral.Text(h.Key.Mode)
	}
	for _, v := range f.Voices {
		out.Voices = append(out.Voices, c.texture.Voices[v].Name)
	}
	for _, fix := range f.Fixes {
		edits := make([]report.Edit, 0, len(fix.Edits))
		for _, e := range fix.Edits {
			edits = append(edits, report.Edit{Note: c.noteReport(e.Note), To: e.To.String()})
		}
		out.Fixes = append(out.Fixes, report.Fix{Edits: edits})
	}
	return out
}

// mostFirst is how many findings are said to be mended first: as many as a pupil keeps
// in mind.
const mostFirst = 3

func (c *checked) firstReport(i int) report.First {
	f, catalog := &c.findings[i], c.plan.Catalog
	first := report.First{Number: i + 1, Place: catalog.Place(f, c.texture), Message: catalog.Message(f, c.texture), Mend: catalog.Mend(f.Rule)}
	if len(f.Fixes) > 0 {
		var changes []string
		for _, e := range f.Fixes[0].Edits {
			changes = append(changes, catalog.Change(c.texture, e))
		}
		first.Mend = strings.Join(changes, ", ")
	}
	return first
}

func (c *checked) noteReports(refs []partwriting.NoteRef) []report.Note {
	out := make([]report.Note, 0, len(refs))
	for _, ref := range refs {
		out = append(out, c.noteReport(ref))
	}
	return out
}

func (c *checked) noteReport(ref partwriting.NoteRef) report.Note {
	n := c.Reading.noteReport(ref)
	if c.ids != nil {
		id := c.texture.Voices[ref.Voice].Notes[ref.Note].IDs[0]
		n.ID, n.MeasureID = c.ids.Note(id), c.ids.Measure(id)
	}
	return n
}

func (r *Reading) noteReport(ref partwriting.NoteRef) report.Note {
	voice := &r.texture.Voices[ref.Voice]
	note := &voice.Notes[ref.Note]
	at := r.document.Locate(note.IDs[0])
	return report.Note{
		Voice: voice.Name, Onset: note.Onset.String(), Pitch: note.Pitch.String(),
		Part: at.Part, Staff: at.Staff, Layer: at.Layer, Line: at.Line, Column: at.Column,
	}
}

// gradeReport is what the rubric makes of the findings.
func gradeReport(c *checked) *report.Grade {
	rubric, catalog := c.plan.Rubric, c.plan.Catalog
	grade := rubric.Grade(c.passage, c.findings)
	out := &report.Grade{
		Rubric: grade.Rubric, Source: rubric.Source.String(), Note: catalog.GradeNote,
		Earned: number(grade.Earned), Available: number(grade.Available),
		Lines: make([]report.GradeLine, 0, len(grade.Lines)), Phrases: make([]report.GradePhrase, 0, len(grade.Phrases)),
	}
	for _, l := range grade.Lines {
		out.Lines = append(out.Lines, report.GradeLine{Rule: string(l.Rule), Count: l.Count, Lost: number(l.Lost), Capped: l.Capped})
	}
	for _, p := range grade.Phrases {
		out.Phrases = append(out.Phrases, report.GradePhrase{
			Measure: c.document.Score.Measures[p.Measure].Label, MeasureIndex: p.Measure,
			Available: number(p.Available), Lost: number(p.Lost), Capped: p.Capped,
		})
	}
	for _, praise := range grade.Praise {
		out.Praise = append(out.Praise, catalog.Praises[praise])
	}
	return out
}

func number(p partwriting.Points) json.Number { return json.Number(p.String()) }

// sentenceOf is a notice with its place in one text.
func sentenceOf(n *musicxml.Notice) string {
	var at []string
	for _, place := range []struct{ name, label string }{{"part", n.Part}, {"measure", n.Label}} {
		if place.label != "" {
			at = append(at, place.name+" "+place.label)
		}
	}
	if n.Line > 0 {
		at = append(at, fmt.Sprintf("line %d", n.Line))
	}
	if len(at) == 0 {
		return n.Message
	}
	return fmt.Sprintf("%s (%s)", n.Message, strings.Join(at, ", "))
}
