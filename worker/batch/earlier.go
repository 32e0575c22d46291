package batch

import (
	"bytes"
	"encoding/gob"
	"encoding/json"
	"fmt"

	"partwright/worker/answer"
	"partwright/worker/report"
)

// Answers of versions before [answer.Answer.Bundle] are read here. Nothing writes them
// any more.

// readEarlierTables reads the JSON object that held the tables of a check.
func readEarlierTables(text []byte) (*answer.Answer, error) {
	var tables struct {
		RomanText  string                    `json:"romantext"`
		Report     json.RawMessage           `json:"report"`
		Harmonies  string                    `json:"harmonies"`
		Statistics *report.HarmonyStatistics `json:"statistics"`
		Voices     string                    `json:"voices"`
	}
	if err := json.Unmarshal(text, &tables); err != nil {
		return nil, fmt.Errorf("reading a stored analysis: %w", err)
	}
	a := &answer.Answer{Statistics: tables.Statistics}
	if tables.Voices != "" {
		a.Add(answer.VoicesSuffix, []byte(tables.Voices))
	}
	if tables.Report == nil {
		return a, nil
	}
	a.Add(answer.RomanTextSuffix, []byte(tables.RomanText))
	if err := a.AddJSON(answer.AnalysisSuffix, tables.Report); err != nil {
		return nil, err
	}
	a.Add(answer.HarmoniesSuffix, []byte(tables.Harmonies))
	return a, nil
}

// readEarlierMending reads the gob that held a mending.
func readEarlierMending(text []byte) (*Further, error) {
	var kept struct {
		Report  []byte
		Mended  []byte
		Others  [][]byte
		Both    []byte
		Problem []byte
	}
	if err := gob.NewDecoder(bytes.NewReader(text)).Decode(&kept); err != nil {
		return nil, fmt.Errorf("reading a stored mending: %w", err)
	}
	if kept.Problem != nil {
		f := &Further{Problem: &report.Failure{}}
		return f, json.Unmarshal(kept.Problem, f.Problem)
	}
	said := &report.Mending{}
	if err := json.Unmarshal(kept.Report, said); err != nil {
		return nil, fmt.Errorf("reading a stored mending: %w", err)
	}
	a := &answer.Answer{Report: said}
	for i, score := range append([][]byte{kept.Mended}, kept.Others...) {
		a.AddScore(answer.Mended, i, score)
	}
	if kept.Both != nil {
		a.AddScore(answer.Both, 0, kept.Both)
	}
	return &Further{Answer: a}, nil
}
