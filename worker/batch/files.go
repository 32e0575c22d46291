package batch

import (
	"encoding/json"
	"fmt"

	"partwright/worker"
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
func (a *Answer) Summary() (*worker.Summary, error) {
	var report struct {
		Summary worker.Summary `json:"summary"`
	}
	if err := json.Unmarshal(a.report, &report); err != nil {
		return nil, fmt.Errorf("reading a stored report: %w", err)
	}
	return &report.Summary, nil
}

// Files are the files of an answer: findings, and what was asked for of marked score,
// voices, analysis and mended score.
func (a *Answer) Files() ([]worker.File, error) {
	findings, err := worker.IndentedFile(worker.FindingsEnding, a.report)
	if err != nil {
		return nil, err
	}
	files := []worker.File{findings}
	if a.marked != nil {
		files = append(files, worker.MarkedFile(a.marked))
	}
	tables, err := a.Analysis.files()
	if err != nil {
		return nil, err
	}
	mended, err := a.Mending.Files()
	return append(append(files, tables...), mended...), err
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

func (a *Analysis) files() (files []worker.File, err error) {
	if a.Voices != "" {
		files = append(files, worker.File{Ending: worker.VoicesEnding, Data: []byte(a.Voices)})
	}
	if a.Report == nil {
		return files, nil
	}
	report, err := worker.IndentedFile(worker.AnalysisEnding, a.Report)
	return append(files,
		worker.File{Ending: worker.RomanTextEnding, Data: []byte(a.RomanText)},
		report,
		worker.File{Ending: worker.HarmoniesEnding, Data: []byte(a.Harmonies)}), err
}
