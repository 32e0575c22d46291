package worker

import (
	"fmt"

	"partwright/theory"
	"partwright/theory/harmony"
)

// MaxLabels is the largest file of labels that is read, in bytes.
const MaxLabels = 1 << 20

// Labels is an analysis in RomanText that came beside a score.
type Labels struct {
	// File is the name it came under.
	File string
	text *harmony.RomanText
}

// LabelsError says why a file holds no labels.
type LabelsError struct{ File, Problem string }

// Error implements error.
func (e *LabelsError) Error() string {
	return e.File + ": " + e.Problem + "; an analysis in RomanText has lines such as: m1 C: I b3 V6"
}

// ReadLabels reads an analysis in RomanText (Tymoczko, Gotham, Cuthbert and Ariza
// 2019). A file without a single numeral is a [*LabelsError]; single lines that
// cannot be understood become notices of the score's report.
func ReadLabels(file string, data []byte) (*Labels, error) {
	if len(data) > MaxLabels {
		return nil, &LabelsError{file, fmt.Sprintf("larger than %d bytes", MaxLabels)}
	}
	text, err := harmony.ReadRomanText(string(data))
	if err != nil {
		return nil, &LabelsError{file, err.Error()}
	}
	return &Labels{file, text}, nil
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
