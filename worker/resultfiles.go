package worker

// Files are the files of a checked score: findings, the marked score if there is one,
// and, where they are asked for, the voices and the analysis.
func (r *Result) Files(voices, analysis bool) ([]File, error) {
	type form struct {
		ending string
		make   func() ([]byte, error)
	}
	forms := []form{{FindingsEnding, func() ([]byte, error) { return FindingsJSON(r.Report) }}}
	if voices {
		forms = append(forms, form{VoicesEnding, func() ([]byte, error) { return VoicesCSV(r.Texture) }})
	}
	if analysis {
		forms = append(forms,
			form{RomanTextEnding, func() ([]byte, error) { return RomanText(r.Report.Score.Title, r.Harmony) }},
			form{AnalysisEnding, func() ([]byte, error) { return AnalysisJSON(r.Texture, r.Harmony) }},
			form{HarmoniesEnding, func() ([]byte, error) { return HarmoniesCSV(r.Report.File, r.Texture, r.Harmony) }})
	}
	var files []File
	if r.Marked != nil {
		files = append(files, MarkedFile(r.Marked))
	}
	for _, f := range forms {
		data, err := f.make()
		if err != nil {
			return nil, err
		}
		files = append(files, File{f.ending, data})
	}
	return files, nil
}
