package worker

import (
	"fmt"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/worker/report"
	"partwright/worker/settings"
)

// givenLabels returns the labels of a score: those of the file beside it, else
// those that it carries itself.
func givenLabels(in *Input, t *theory.Texture) []harmony.Annotation {
	if in.Labels != nil {
		return in.Labels.Text.Annotations(t)
	}
	return harmony.ScoreAnnotations(t)
}

// labelNotices say what of the labels was not used.
func labelNotices(l *settings.Labels, t *theory.Texture) []report.Notice {
	if l == nil {
		return nil
	}
	var out []report.Notice
	for _, p := range l.Text.Problems {
		if len(out) == maxLabelNotices {
			break
		}
		out = append(out, report.Notice{Code: "label-not-read", Message: fmt.Sprintf("%s, line %d: %s.", l.File, p.Line, p.Message)})
	}
	if outside := len(l.Text.Entries) - len(l.Text.Place(t)); outside > 0 {
		out = append(out, report.Notice{
			Code:    "labels-outside-score",
			Message: fmt.Sprintf("%d of %d labels in %s are for measures or beats that the score does not have.", outside, len(l.Text.Entries), l.File),
		})
	}
	return out
}

// maxLabelNotices bounds how many lines of a file are named.
const maxLabelNotices = 20
