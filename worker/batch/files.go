package batch

import (
	"bytes"
	"encoding/json"
	"fmt"

	"partwright/worker"
	"partwright/worker/store"
)

// Files are the files of an answer: findings, and what was asked for of marked score,
// voices, analysis and mended score. A problem has none.
func Files(r *store.Result) ([]worker.File, error) {
	if r.Problem != nil {
		return nil, nil
	}
	line, err := r.Report.Unpack()
	if err != nil {
		return nil, err
	}
	findings, err := worker.FindingsFile(line)
	if err != nil {
		return nil, err
	}
	files := []worker.File{findings}
	marked, err := r.Marked.Unpack()
	if err != nil {
		return nil, err
	}
	if marked != nil {
		files = append(files, worker.MarkedFile(marked))
	}
	analysis, err := AnalysisOf(r)
	if err != nil {
		return nil, err
	}
	tables, err := analysis.files()
	if err != nil {
		return nil, err
	}
	mending, err := MendingOf(r)
	if err != nil {
		return nil, err
	}
	mended, err := mending.Files()
	return append(append(files, tables...), mended...), err
}

// AnalysisOf reads the tables of a result; without any they are empty.
func AnalysisOf(r *store.Result) (*Analysis, error) {
	a := &Analysis{}
	return a, a.read(r)
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
		files = append(files, worker.File{Ending: ".voices.csv", Data: []byte(a.Voices)})
	}
	if a.Report == nil {
		return files, nil
	}
	var report bytes.Buffer
	err = json.Indent(&report, a.Report, "", "  ")
	report.WriteByte('\n')
	return append(files,
		worker.File{Ending: ".rntxt", Data: []byte(a.RomanText)},
		worker.File{Ending: ".analysis.json", Data: report.Bytes()},
		worker.File{Ending: ".harmonies.csv", Data: []byte(a.Harmonies)}), err
}
