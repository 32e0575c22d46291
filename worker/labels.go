package worker

import (
	"fmt"

	"partwright/theory"
	"partwright/theory/harmony"
)

// LabelsFile is what a [SettingsError] about labels says that the file should hold.
const LabelsFile = "labels"

// Labels is an analysis in RomanText that came beside a score.
type Labels struct {
	// File is the name it came under.
	File string
	// Source is what it held.
	Source []byte
	text   *harmony.RomanText
}

// ReadLabels reads an analysis in RomanText (Tymoczko, Gotham, Cuthbert and Ariza
// 2019) of at most [MaxSettingsFile] bytes. A file without a single numeral is a
// [*SettingsError]; single lines that cannot be understood become notices of the
// score's report.
func ReadLabels(file string, data []byte) (*Labels, error) {
	fail := func(message string) error {
		return &SettingsError{File: file, What: LabelsFile, Lines: []SettingsProblem{{Message: message}}}
	}
	if len(data) > MaxSettingsFile {
		return nil, fail(fmt.Sprintf("larger than %d bytes", MaxSettingsFile))
	}
	text, err := harmony.ReadRomanText(string(data))
	if err != nil {
		return nil, fail(err.Error())
	}
	return &Labels{file, data, text}, nil
}

// givenLabels returns the labels of a score: those of the file beside it, else
// those that it carries itself.
func givenLabels(in *Input, t *theory.Texture) []harmony.Annotation {
	if in.Labels != nil {
		return in.Labels.text.Annotations(t)
	}
	return harmony.ScoreAnnotations(t)
}

// notices say what of the labels was not used.
func (l *Labels) notices(t *theory.Texture) []NoticeReport {
	if l == nil {
		return nil
	}
	var out []NoticeReport
	for _, p := range l.text.Problems {
		if len(out) == maxLabelNotices {
			break
		}
		out = append(out, NoticeReport{Code: "label-not-read", Message: fmt.Sprintf("%s, line %d: %s.", l.File, p.Line, p.Message)})
	}
	if outside := len(l.text.Entries) - len(l.text.Place(t)); outside > 0 {
		out = append(out, NoticeReport{
			Code:    "labels-outside-score",
			Message: fmt.Sprintf("%d of %d labels in %s are for measures or beats that the score does not have.", outside, len(l.text.Entries), l.File),
		})
	}
	return out
}

// maxLabelNotices bounds how many lines of a file are named.
const maxLabelNotices = 20
