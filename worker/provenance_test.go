package worker

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"partwright/theory/partwriting"
	"partwright/worker/report"
	"partwright/worker/request"
	"partwright/worker/settings"
)

// ownSet is a rule set of somebody's own.
const ownSet = "name: first year\nbased-on: strict-chorale\nrules:\n  voice-overlap: off\n"

func handInFile(t *testing.T) Input {
	t.Helper()
	data, err := os.ReadFile("../testdata/class/hand-in.musicxml")
	if err != nil {
		t.Fatal(err)
	}
	return Input{Name: "hand-in.musicxml", Data: data}
}

// planOf plans a check.
func planOf(t *testing.T, said request.Values) *request.CheckPlan {
	t.Helper()
	var c request.Check
	if err := request.Bind(&c, said); err != nil {
		t.Fatal(err)
	}
	plan, err := c.Plan()
	if err != nil {
		t.Fatal(err)
	}
	return plan
}

func reportOf(t *testing.T, in Input, plan *request.CheckPlan) *report.Report {
	t.Helper()
	a, err := (&Engine{Version: "v1"}).Do(t.Context(), in, plan)
	if err != nil {
		t.Fatal(err)
	}
	return a.Report.(*report.Report)
}

// A report says what was asked for beyond the defaults; of a rule set of one's own it has
// the hash, by which a teacher can tell which file it was.
func TestReportsSayWhatTheyWereMadeBy(t *testing.T) {
	in := handInFile(t)
	said := request.Values{
		"own_rule_set": {Name: "first-year.yaml", Text: ownSet}, "analysis": {Text: "true"}, "fixes": {Text: "2"}, "language": {Text: "de"},
	}
	r := reportOf(t, in, planOf(t, said))
	want := fmt.Sprintf(`{"own_rule_set":"sha256:%x","language":"de","analysis":true,"fixes":2}`, sha256.Sum256([]byte(ownSet)))
	if got := string(r.Provenance.Options); got != want {
		t.Errorf("the options are %s, want %s", got, want)
	}
	plain := reportOf(t, in, planOf(t, nil))
	if got := string(plain.Provenance.Options); got != "{}" {
		t.Errorf("nothing was asked for: %s", got)
	}
	if got := plain.Provenance.Parts.Differing(&r.Provenance.Parts); !slices.Equal(got, []string{"rules", "words"}) {
		t.Errorf("rule set and language differ, said is %v", got)
	}
	text, err := json.Marshal(r)
	if err != nil || bytes.Contains(text, []byte("voice-overlap: off")) || bytes.Contains(text, []byte("first-year.yaml")) {
		t.Errorf("the report holds the rule set itself, %v", err)
	}
}

// An earlier report stands for an answer while nothing differs that it depends on.
func TestWhatKeepsAnEarlierReportFromStanding(t *testing.T) {
	in := handInFile(t)
	labels, err := settings.ReadLabels("hand-in.rntxt", []byte("m1 G: I\n"))
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.MarshalIndent(reportOf(t, in, planOf(t, nil)), "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	for want, change := range map[string]func(*report.Report, *Input, *request.Values){
		"":        func(*report.Report, *Input, *request.Values) {},
		"version": func(r *report.Report, _ *Input, _ *request.Values) { r.Provenance = nil },
		"score":   func(_ *report.Report, in *Input, _ *request.Values) { in.Data = append(slices.Clone(in.Data), '\n') },
		"options": func(_ *report.Report, _ *Input, v *request.Values) { *v = request.Values{"fixes": {Text: "1"}} },
		"labels":  func(_ *report.Report, in *Input, _ *request.Values) { in.Labels = labels },
		"reading": func(r *report.Report, _ *Input, _ *request.Values) { r.Provenance.Parts.Reading = "0" },
		"harmony": func(r *report.Report, _ *Input, _ *request.Values) { r.Provenance.Parts.Harmony = "0" },
		"rules":   func(r *report.Report, _ *Input, _ *request.Values) { r.Provenance.Parts.Rules = "0" },
		"words, report": func(r *report.Report, _ *Input, _ *request.Values) {
			r.Provenance.Parts.Words, r.Provenance.Parts.Report = "0", "0"
		},
	} {
		earlier, now, said := &report.Report{}, in, request.Values(nil)
		if err := json.Unmarshal(text, earlier); err != nil {
			t.Fatal(err)
		}
		change(earlier, &now, &said)
		if got := Differs(earlier, &now, planOf(t, said)); got != want {
			t.Errorf("%q differs, want %q", got, want)
		}
	}
}

// changed is the package of rules with one text in place of another.
func changed(t *testing.T, from, to string) fs.FS {
	t.Helper()
	files, found := fstest.MapFS{}, false
	err := fs.WalkDir(partwriting.Code, ".", func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		text, err := partwriting.Code.ReadFile(path)
		if !strings.HasSuffix(path, "_test.go") {
			found = found || bytes.Contains(text, []byte(from))
		}
		files[path] = &fstest.MapFile{Data: bytes.ReplaceAll(text, []byte(from), []byte(to))}
		return err
	})
	if err != nil || !found {
		t.Fatalf("%q is not in the package, %v", from, err)
	}
	return files
}

// What a version has changed in a rule concerns the sets in which the rule is on.
func TestChangedRulesConcernTheirSets(t *testing.T) {
	sets := map[string]*partwriting.RuleSet{}
	for _, set := range partwriting.RuleSets() {
		sets[set.Name] = set
	}
	for _, test := range []struct{ what, from, to, strict, species string }{
		{"a rule of species alone", "func (p *Passage) speciesDissonances() []Finding {", "func (p *Passage) speciesDissonances() []Finding {\n\t_ = 1", "", "rules"},
		{"a rule of chorales alone", "func (p *Passage) finalChord() []Finding {", "func (p *Passage) finalChord() []Finding {\n\t_ = 1", "rules", ""},
		{"what all rules are applied by", "findings = withoutSymptoms(findings)", "_ = findings", "report", "report"},
		{"the words of one language", "parallel fifths between", "fifths in parallel between", "words", "words"},
	} {
		before, err := takePrints(partwriting.Code)
		if err != nil {
			t.Fatal(err)
		}
		after, err := takePrints(changed(t, test.from, test.to))
		if err != nil {
			t.Fatal(err)
		}
		for set, want := range map[string]string{"strict-chorale": test.strict, "species-first": test.species} {
			one, other := before.of(sets[set], "en"), after.of(sets[set], "en")
			if got := strings.Join(one.Differing(&other), " "); got != want {
				t.Errorf("%s: in the set %s %q differs, want %q", test.what, set, got, want)
			}
		}
	}
}

// Every package that the engine is made of is a part of some report, or it is said here
// why not.
func TestEveryPackageOfTheEngineHasAFingerprint(t *testing.T) {
	of := map[string]string{
		"theory/harmony": "harmony", "theory/harmony/beatnet": "harmony", "theory/partwriting": "rules, words and report",
		"theory": "reading", "theory/texture": "reading", "theory/separation": "reading", "musicxml": "reading", "musicxml/markup": "reading",
		"musicxml/charset": "reading", "musicxml/container": "reading", "musicxml/archive": "reading", "musicxml/chordlabel": "reading",
		"worker": "report", "worker/report": "report", "worker/settings": "report", "worker/request": "report", "worker/answer": "report",

		"theory/voicing": "none: checks do not voice", "theory/harmony/tune": "none: checks choose no chords", "musicxml/sheet": "none: checks write no sheets",
		"worker/spelling": "none: it is for messages about mistyped names", "worker/stage": "none: it breaks jobs off",
		"worker/fingerprint": "none: it says what differs",
	}
	out, err := exec.Command("go", "list", "-deps", ".").Output()
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for path := range strings.Lines(string(out)) {
		name, own := strings.CutPrefix(strings.TrimSpace(path), "partwright/")
		if !own {
			continue
		}
		if n++; of[name] == "" {
			t.Errorf("%s is a part of no report: add its Code to takePrints, or say here why not", name)
		}
	}
	if n != len(of) {
		t.Errorf("%d packages, %d are told of", n, len(of))
	}
	for _, r := range partwriting.Rules() {
		if written().rules[string(r.ID)] == "" {
			t.Errorf("the rule %s has no fingerprint", r.ID)
		}
	}
}
