package worker

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"partwright/theory/harmony"
	"partwright/worker/report"
	"partwright/worker/request"
	"partwright/worker/settings"
)

// readings lists onset, key and numeral of every harmony.
func readings(a *harmony.Analysis) string {
	var b strings.Builder
	for i := range a.Harmonies {
		fmt.Fprintf(&b, "%v %s, ", a.Harmonies[i].Onset, a.Harmonies[i].Reading)
	}
	return b.String()
}

// harmonyOf is the harmony that a check goes by.
func harmonyOf(t *testing.T, in Input, use harmony.LabelUse) *harmony.Analysis {
	t.Helper()
	in.Read = &Reading{}
	done[*report.Report](t, in, &request.Check{}, "given", use.String())
	return in.Read.harmony
}

// An analysis that is written as RomanText and comes back beside its score is the
// same, replaced or steered, and nothing disagrees with it.
func TestAnalysisComesBackAsLabels(t *testing.T) {
	paths, err := filepath.Glob(filepath.Join("..", "testdata", "class", "*.musicxml"))
	if err != nil || len(paths) == 0 {
		t.Fatalf("no scores: %v", err)
	}
	chorales, _ := filepath.Glob(filepath.Join("..", "..", "shared", "data", "chorales-open", "*.mxl"))
	for i := 0; i < len(chorales); i += 20 {
		paths = append(paths, chorales[i])
	}
	for _, path := range paths {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		first := harmonyOf(t, Input{Name: path, Data: data}, harmony.Steer)
		text, err := report.RomanText("", first)
		if err != nil {
			t.Fatal(err)
		}
		labels, err := settings.ReadLabels("x.rntxt", text)
		if err != nil {
			t.Fatal(err)
		}
		for _, use := range []harmony.LabelUse{harmony.Steer, harmony.Replace} {
			second := harmonyOf(t, Input{Name: path, Data: data, Labels: labels}, use)
			if got, want := readings(second), readings(first); got != want {
				t.Errorf("%s: %s gives\n%s, want\n%s", filepath.Base(path), use, got, want)
			}
			if n := len(second.Contested); n > 0 {
				t.Errorf("%s: %d labels disagree with themselves", filepath.Base(path), n)
			}
		}
	}
}

// Labels in the score give way to those beside it.
func TestLabelsBesideComeFirst(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("..", "testdata", "class", "model.musicxml"))
	if err != nil {
		t.Fatal(err)
	}
	symbol := `<harmony><root><root-step>C</root-step></root><kind>minor</kind></harmony>`
	score := strings.Replace(string(data), "<note", symbol+"<note", 1)
	beside, err := settings.ReadLabels("model.rntxt", []byte("m1 G: iii\nm4 I\n"))
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		labels *settings.Labels
		want   string
	}{{nil, "Cm"}, {beside, "Bm"}} {
		a := harmonyOf(t, Input{Name: "x", Data: []byte(score), Labels: tt.labels}, harmony.Replace)
		if got, _, _ := strings.Cut(a.Harmonies[0].Symbol(), "/"); got != tt.want {
			t.Errorf("the first chord is %s, want %s", got, tt.want)
		}
	}
}

func TestUnreadableLabels(t *testing.T) {
	for text, says := range map[string]string{
		"":                                       "holds no numeral",
		"Dear parents":                           "holds no numeral",
		strings.Repeat("x", settings.MaxBytes+1): "larger than",
	} {
		_, err := settings.ReadLabels("x.txt", []byte(text))
		var wrong *settings.Error
		if !errors.As(err, &wrong) || wrong.What != settings.LabelsFile || !strings.Contains(err.Error(), says) {
			t.Errorf("%.20q: %v, want one that says %q", text, err, says)
			continue
		}
		if f := report.NewFailure("x.xml", err); f.Code != "unreadable-labels" || !strings.Contains(f.Problem, "x.txt") {
			t.Errorf("%.20q fails as %+v", text, f)
		}
	}
}
