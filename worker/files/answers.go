package files

import (
	"fmt"

	"partwright/worker"
	"partwright/worker/report"
)

// OfCheck are the files of a checked score: findings, the marked score if there is one,
// and, where they are asked for, the voices and the analysis.
func OfCheck(r *worker.Result, voices, analysis bool) ([]File, error) {
	type form struct {
		suffix string
		make   func() ([]byte, error)
	}
	forms := []form{{FindingsSuffix, func() ([]byte, error) { return report.FindingsJSON(r.Report) }}}
	if voices {
		forms = append(forms, form{VoicesSuffix, func() ([]byte, error) { return report.VoicesCSV(r.Texture) }})
	}
	if analysis {
		forms = append(forms,
			form{RomanTextSuffix, func() ([]byte, error) { return report.RomanText(r.Report.Score.Title, r.Harmony) }},
			form{AnalysisSuffix, func() ([]byte, error) { return report.AnalysisJSON(r.Texture, r.Harmony) }},
			form{HarmoniesSuffix, func() ([]byte, error) { return report.HarmoniesCSV(r.Report.File, r.Texture, r.Harmony) }})
	}
	var out []File
	if r.Marked != nil {
		out = append(out, MarkedFile(r.Marked))
	}
	for _, f := range forms {
		data, err := f.make()
		if err != nil {
			return nil, err
		}
		out = append(out, File{f.suffix, data})
	}
	return out, nil
}

// OfMending are the files of a mended score: what was changed, as a line of JSON,
// all its versions, and the sheet with both if there is one.
func OfMending(report, mended []byte, others [][]byte, both []byte) ([]File, error) {
	changes, err := IndentedFile(mendingSuffix, report)
	if err != nil {
		return nil, err
	}
	files := []File{changes, {".mended" + ScoreExtension(mended), mended}}
	for i, other := range others {
		files = append(files, File{fmt.Sprintf(".mended-%d%s", i+2, ScoreExtension(other)), other})
	}
	if both != nil {
		files = append(files, File{".both.musicxml", both})
	}
	return files, nil
}

// OfStatistics are the counts as files that belong to many scores.
func OfStatistics(s *report.HarmonyStatistics) ([]File, error) {
	table, err := s.CSV()
	if err != nil {
		return nil, err
	}
	text, err := s.JSON()
	return []File{{".csv", table}, {".json", text}}, err
}
