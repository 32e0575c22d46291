package worker

import (
	"flag"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/voicing"
)

var everyFault = flag.Bool("every-fault", false, "mend every injected fault of the measuring data, not a sample")

// TestInjectedFaultsAreMended mends chorales into which one fault was put, in the
// measures around it, down to the severity of the fault. The fault must be gone
// and no other fault may have come.
func TestInjectedFaultsAreMended(t *testing.T) {
	folder := measuringData(t, "mutants")
	files, _ := filepath.Glob(filepath.Join(folder, "*.truth.json"))
	mended, changed := 0, map[int]int{}
	for i, file := range files {
		if !*everyFault && i%8 != 0 {
			continue
		}
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
		result := voicing.Mend(texture, analysis, voicing.MendOptions{
			Severity: before[at].Severity, KeepMeasures: farFrom(texture, onset),
		})
		for i := range result.Left {
			if isFault(&result.Left[i]) {
				t.Errorf("%s: %s at %s is still there", m.File, m.Kind, m.Onset)
			}
		}
		if len(result.Left) > result.Before {
			t.Errorf("%s: %d findings, %d before", m.File, len(result.Left), result.Before)
		}
		mended++
		changed[len(result.Edits)]++
	}
	t.Logf("%d scores mended; by number of notes changed: %v", mended, changed)
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
	return theory.FindVoices(doc.Score)
}

// farFrom lists the measures that are not next to an onset.
func farFrom(t *theory.Texture, onset theory.Fraction) []int {
	here := t.Score.MeasureAt(onset).Index
	var out []int
	for i := range t.Score.Measures {
		if i < here-1 || i > here+1 {
			out = append(out, i)
		}
	}
	return out
}
