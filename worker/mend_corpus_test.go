package worker

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
	"partwright/theory/voicing"
)

// TestInjectedFaultsAreMended mends in each chorale the one fault that was put
// into it. The fault must be gone and no other of its severity may have come; in
// nineteen scores of twenty no more than one note more than was made wrong may
// change.
func TestInjectedFaultsAreMended(t *testing.T) {
	folder := measuringData(t, "mutants")
	files, _ := filepath.Glob(filepath.Join(folder, "*.truth.json"))
	mended, small, more := 0, 0, map[int]int{}
	for _, file := range files {
		m := readMutant(t, file)
		texture := textureOf(t, filepath.Join(folder, m.File))
		onset, err := theory.ParseFraction(m.Onset)
		if err != nil {
			t.Fatal(err)
		}
		analysis := harmony.Analyze(texture)
		isFault := func(f *partwriting.Finding) bool { return string(f.Rule) == m.Kind && f.Onset == onset }
		before := partwriting.Check(texture, analysis, nil)
		at := slices.IndexFunc(before, func(f partwriting.Finding) bool { return isFault(&f) })
		if at < 0 {
			t.Errorf("%s: %s at %s is not found", m.File, m.Kind, m.Onset)
			continue
		}
		result := voicing.MendingAlternatives(texture, analysis, voicing.MendOptions{Severity: before[at].Severity, Only: before[at : at+1]}, 1)[0]
		if result.Before != 1 || len(result.Left) > 0 {
			t.Errorf("%s: of %s at %s %d are left", m.File, m.Kind, m.Onset, len(result.Left))
		}
		if extra := faultsBeyond(t, result, analysis, before, before[at].Severity); extra != "" {
			t.Errorf("%s: mending %s at %s brings %s", m.File, m.Kind, m.Onset, extra)
		}
		mended++
		more[len(result.Edits)-len(m.Changed)]++
		if len(result.Edits) <= len(m.Changed)+1 {
			small++
		}
	}
	if small*20 < mended*19 {
		t.Errorf("only %d of %d mendings change at most one note more than was made wrong", small, mended)
	}
	t.Logf("%d scores mended, %d of them with at most one note more than was made wrong; notes changed beyond those: %v", mended, small, more)
}

// faultsBeyond names a finding of at least a severity that was not there before.
// One that only takes notes together which were found before, as all that a voice
// sings out of range in a phrase, is not new.
func faultsBeyond(t *testing.T, m *voicing.Mending, a *harmony.Analysis, before []partwriting.Finding, least partwriting.Severity) string {
	t.Helper()
	type place struct {
		rule partwriting.RuleID
		note partwriting.NoteRef
	}
	known := map[place]bool{}
	for i := range before {
		for _, n := range slices.Concat(before[i].Notes, before[i].Related) {
			known[place{before[i].Rule, n}] = true
		}
	}
	var labels []harmony.Label
	for i := range a.Harmonies {
		h := &a.Harmonies[i]
		labels = append(labels, harmony.Label{Onset: h.Onset, Reading: h.Reading, Confidence: h.Confidence})
	}
	for _, f := range partwriting.Check(m.Texture, harmony.Assume(m.Texture, labels), nil) {
		isNew := func(n partwriting.NoteRef) bool { return !known[place{f.Rule, n}] }
		if f.Severity >= least && slices.ContainsFunc(f.Notes, isNew) {
			return fmt.Sprintf("%s at %v", f.Rule, f.Onset)
		}
	}
	return ""
}

func textureOf(t *testing.T, path string) *theory.Texture {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := musicxml.Read(filepath.Base(path), data, musicxml.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	return separation.FindVoices(doc.Score)
}
