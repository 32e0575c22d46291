package worker

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// mutant is a chorale into which one fault was put on purpose.
type mutant struct {
	File, Base, Kind, Onset string
	Voices                  []string
	Changed                 []struct{ Voice, Onset string }
	Collateral              []struct {
		Kind, Onset string
		Voices      []string
	}
}

// needHarmony are the kinds of fault that only a reading of the harmony shows;
// for the others the scores are not read, which takes the longest.
var needHarmony = map[string]bool{"leading-tone-doubled": true, "seventh-unresolved": true}

// Faults put into the chorales one at a time, each with its place and with what
// it brings along: each is found where it is.
func TestInjectedFaultsAreFound(t *testing.T) {
	folder, open := measuringData(t, "mutants"), measuringData(t, "chorales-open")
	files, _ := filepath.Glob(filepath.Join(folder, "*.truth.json"))
	if len(files) == 0 {
		t.Fatal("no faults to look for")
	}
	byKind := map[string][2]int{}
	bases := map[string]map[string]bool{} // by name, with a mark where the harmony was read
	for _, file := range files {
		m := readMutant(t, file)
		if partwriting.RuleByID(partwriting.RuleID(m.Kind)) == nil {
			byKind[m.Kind+" (no such rule)"] = [2]int{}
			continue
		}
		base := fmt.Sprint(m.Base, needHarmony[m.Kind])
		if bases[base] == nil {
			bases[base] = findingsAt(t, filepath.Join(open, m.Base+".mxl"), needHarmony[m.Kind])
		}
		got := findingsAt(t, filepath.Join(folder, m.File), needHarmony[m.Kind])
		want := fmt.Sprintf("%s %s %s", m.Kind, strings.Join(m.Voices, ""), m.Onset)
		tally := byKind[m.Kind]
		tally[1]++
		if got[want] {
			tally[0]++
		} else {
			t.Errorf("%s: not found: %s", m.File, want)
		}
		byKind[m.Kind] = tally
		expected := map[string]bool{want: true}
		for _, c := range m.Collateral {
			expected[fmt.Sprintf("%s %s %s", c.Kind, strings.Join(c.Voices, ""), c.Onset)] = true
		}
		new := toSet(difference(got, bases[base]))
		for _, key := range difference(new, expected) {
			t.Logf("%s (%s): also new: %s", m.File, want, key)
		}
		for _, key := range difference(expected, got) {
			t.Logf("%s (%s): collateral not found: %s", m.File, want, key)
		}
		for _, key := range difference(bases[base], got) {
			t.Logf("%s (%s): gone: %s", m.File, want, key)
		}
	}
	t.Logf("found by kind: %v", byKind)
}

func readMutant(t *testing.T, file string) mutant {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var m mutant
	if err := json.Unmarshal(text, &m); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	return m
}

// findingsAt returns the findings on a score as rule, voices and onset.
func findingsAt(t *testing.T, path string, withHarmony bool) map[string]bool {
	t.Helper()
	texture := voicesOf(t, path)
	var analysis *harmony.Analysis
	if withHarmony {
		analysis = harmony.Analyze(texture)
	}
	found := map[string]bool{}
	for _, f := range partwriting.Check(texture, analysis, nil) {
		found[fmt.Sprintf("%s %s %s", f.Rule, voiceLetters(texture, &f), f.Onset)] = true
	}
	return found
}

func toSet(list []string) map[string]bool {
	set := map[string]bool{}
	for _, s := range list {
		set[s] = true
	}
	return set
}

func findingPlace(f *partwriting.Finding) string { return fmt.Sprint(f.Rule, f.Voices, f.Onset) }

func severities(findings []partwriting.Finding) map[string]partwriting.Severity {
	m := map[string]partwriting.Severity{}
	for i := range findings {
		m[findingPlace(&findings[i])] = findings[i].Severity
	}
	return m
}
