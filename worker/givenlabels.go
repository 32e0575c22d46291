package worker

import (
	"fmt"

	"partwright/theory"
	"partwright/theory/harmony"
)

// givenLabels returns the labels of a score: those of the file beside it, else
// those that it carries itself.
func givenLabels(in *Input, t *theory.Texture) []harmony.Annotation {
	if in.Labels != nil {
		return in.Labels.text.Annotations(t)
	}
	return harmony.ScoreAnnotations(t)
}

// labelNotices say what of the labels was not used.
func labelNotices(l *Labels, t *theory.Texture) []NoticeReport {
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
