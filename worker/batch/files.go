package batch

import (
	"encoding/json"
	"fmt"

	"partwright/worker/files"
	"partwright/worker/report"
	"partwright/worker/store"
)

// Answer is a result that is no problem, unpacked for all that is made of it.
type Answer struct {
	// Analysis and Mending are empty and nil where they were not asked for.
	Analysis Analysis
	Mending  *Mending
	report   []byte
	marked   []byte
}

// AnswerOf unpacks a result that was asked for in full.
func AnswerOf(r *store.Result) (a *Answer, err error) {
	a = &Answer{}
	if a.report, err = r.Report.Unpack(); err != nil {
		return nil, err
	}
	if a.marked, err = r.Marked.Unpack(); err != nil {
		return nil, err
	}
	if a.Mending, err = MendingOf(r); err != nil {
		return nil, err
	}
	return a, a.Analysis.read(r)
}

// Summary counts the findings.
func (a *Answer) Summary() (*report.Summary, error) {
	var report struct {
		Summary report.Summary `json:"summary"`
	}
	if err := json.Unmarshal(a.report, &report); err != nil {
		return nil, fmt.Errorf("reading a stored report: %w", err)
	}
	return &report.Summary, nil
}

// Files are the files of an answer: findings, and what was asked for of marked score,
// voices, analysis and mended score.
func (a *Answer) Files() ([]files.File, error) {
	findings, err := files.IndentedFile(files.FindingsSuffix, a.report)
	if err != nil {
		return nil, err
	}
	found := []files.File{findings}
	if a.marked != nil {
		found = append(found, files.MarkedFile(a.marked))
	}
	tables, err := a.Analysis.files()
	if err != nil {
		return nil, err
	}
	mended, err := a.Mending.Files()
	return append(append(found, tables...), mended...), err
}

// read adds the tables of a result: counts are added to those that are there.
func (a *Analysis) read(r *store.Result) error {
	text, err := r.Analysis.Unpack()
	if text == nil || err != nil {
		return err
	}
	if err := json.Unmarshal(text, a); err != nil {
		return fmt.Errorf("reading a stored analysis: %w", err)
	}
	return nil
}

func (a *Analysis) files() (found []files.File, err error) {
	if a.Voices != "" {
		found = append(found, files.File{Suffix: files.VoicesSuffix, Data: []byte(a.Voices)})
	}
	if a.Report == nil {
		return found, nil
	}
	report, err := files.IndentedFile(files.AnalysisSuffix, a.Report)
	return append(found,
		files.File{Suffix: files.RomanTextSuffix, Data: []byte(a.RomanText)},
		report,
		files.File{Suffix: files.HarmoniesSuffix, Data: []byte(a.Harmonies)}), err
}
