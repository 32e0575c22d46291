package batch

import (
	"bytes"
	"encoding/gob"
	"encoding/json"
	"slices"
	"testing"

	"partwright/worker/answer"
	"partwright/worker/report"
	"partwright/worker/store"
)

// packed is a text as it is kept.
func packed(t *testing.T, value any) store.Blob {
	t.Helper()
	text, err := json.Marshal(value)
	if err != nil {
		t.Fatal(err)
	}
	return store.Pack(text)
}

// mendingOfBefore is a mending as versions before bundles kept it: a gob of a struct with
// these fields. What is nil was not asked for.
func mendingOfBefore(t *testing.T, said *report.Mending, problem *report.Failure, scores ...[]byte) store.Blob {
	t.Helper()
	type Mending struct {
		Report  []byte
		Mended  []byte
		Others  [][]byte
		Both    []byte
		Problem []byte
	}
	var m Mending
	var err error
	if problem != nil {
		m.Problem, err = json.Marshal(problem)
	} else {
		m.Mended, m.Others, m.Both = scores[0], scores[1:len(scores)-1], scores[len(scores)-1]
		m.Report, err = json.Marshal(said)
	}
	var b bytes.Buffer
	if err == nil {
		err = gob.NewEncoder(&b).Encode(&m)
	}
	if err != nil {
		t.Fatal(err)
	}
	return store.Pack(b.Bytes())
}

var container = []byte("PK\x03\x04 a zip file")

// Answers that earlier versions kept have the same files under the same names.
func TestAnswersOfEarlierVersionsAreRead(t *testing.T) {
	type tables struct {
		RomanText  string          `json:"romantext,omitempty"`
		Report     json.RawMessage `json:"report,omitempty"`
		Harmonies  string          `json:"harmonies,omitempty"`
		Statistics json.RawMessage `json:"statistics,omitempty"`
		Voices     string          `json:"voices,omitempty"`
	}
	harmony := tables{
		RomanText: "m1 C: I\n", Report: json.RawMessage(`{"harmonies":[]}`), Harmonies: "file,measure\nhymn.mxl,1\n",
		Statistics: json.RawMessage(`[["numeral","major I","",4]]`),
	}
	whole := harmony
	whole.Voices = "voice,pitch\nS,C5\n"
	check := packed(t, &report.Report{File: "hymn.mxl", Summary: report.Summary{Faults: 2, ByRule: map[string]int{"spacing": 2}}})
	said := &report.Mending{File: "hymn.mxl", Before: 2}
	for _, test := range []struct {
		why    string
		result store.Result
		want   []string
	}{
		{"a check alone", store.Result{Report: check}, []string{".findings.json"}},
		{"a marked score", store.Result{Report: check, Marked: store.Pack([]byte("<marked/>"))}, []string{".findings.json", ".marked.musicxml"}},
		{"the voices alone", store.Result{Report: check, Analysis: packed(t, tables{Voices: whole.Voices})}, []string{".findings.json", ".voices.csv"}},
		{"the harmony alone", store.Result{Report: check, Analysis: packed(t, harmony)},
			[]string{".findings.json", ".rntxt", ".analysis.json", ".harmonies.csv"}},
		{"a mending", store.Result{Report: check, Mending: mendingOfBefore(t, said, nil, []byte("<mended/>"), nil)},
			[]string{".findings.json", ".mending.json", ".mended.musicxml"}},
		{"a mending that failed", store.Result{Report: check, Mending: mendingOfBefore(t, nil, &report.Failure{File: "hymn.mxl", Code: "timeout"})},
			[]string{".findings.json"}},
		{"all", store.Result{
			Report: check, Marked: store.Pack(container), Analysis: packed(t, whole),
			Mending: mendingOfBefore(t, said, nil, container, []byte("<second/>"), []byte("<third/>"), []byte("<both/>")),
		}, []string{
			".findings.json", ".marked.mxl", ".voices.csv", ".rntxt", ".analysis.json", ".harmonies.csv",
			".mending.json", ".mended.mxl", ".mended-2.musicxml", ".mended-3.musicxml", ".both.musicxml",
		}},
	} {
		t.Run(test.why, func(t *testing.T) {
			kept, err := KeptOf(&test.result)
			if err != nil {
				t.Fatal(err)
			}
			files, err := kept.Files()
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, f := range files {
				got = append(got, f.Suffix)
				if want, ok := map[string]string{
					".marked.mxl": string(container), ".voices.csv": whole.Voices, ".rntxt": whole.RomanText,
					".analysis.json": "{\n  \"harmonies\": []\n}\n", ".harmonies.csv": whole.Harmonies,
					".mended.mxl": string(container), ".mended-2.musicxml": "<second/>", ".both.musicxml": "<both/>",
				}[f.Suffix]; ok && string(f.Data) != want {
					t.Errorf("%s holds %q, want %q", f.Suffix, f.Data, want)
				}
			}
			if !slices.Equal(got, test.want) {
				t.Errorf("files %v, want %v", got, test.want)
			}
			if s := kept.Summary(); s.Faults != 2 || s.ByRule["spacing"] != 2 {
				t.Errorf("the findings are counted as %+v", s)
			}
			if (kept.Check.Statistics != nil) != slices.Contains(test.want, ".rntxt") {
				t.Errorf("the counts of the harmony are %v", kept.Check.Statistics)
			}
		})
	}
	m, err := MendingOf(&store.Result{Mending: mendingOfBefore(t, nil, &report.Failure{File: "hymn.mxl", Code: "timeout"})})
	if err != nil || m.Answer != nil || m.Problem.Code != "timeout" {
		t.Errorf("why it was not mended: %+v, %v", m, err)
	}
}

// What an earlier version kept is reused under another name, and kept as this version
// does.
func TestEarlierAnswersAreReused(t *testing.T) {
	earlier := &store.Result{
		Name: "hymn.mxl", Report: packed(t, &report.Report{File: "hymn.mxl"}),
		Mending: mendingOfBefore(t, &report.Mending{File: "hymn.mxl", Before: 2}, nil, []byte("<mended/>"), []byte("<second/>"), nil),
	}
	var into store.NewResult
	if err := reuse(earlier, "psalm.mxl", &into); err != nil || !into.Reused {
		t.Fatal(into.Reused, err)
	}
	kept, err := KeptOf(&store.Result{Report: into.Report, Mending: into.Mending})
	if err != nil {
		t.Fatal(err)
	}
	mended := kept.Mending.Answer
	if m := mended.Report.(*report.Mending); m.File != "psalm.mxl" || m.Before != 2 || len(mended.Files) != 2 || string(mended.Files[1].Data) != "<second/>" {
		t.Errorf("the mending is %+v with %d scores", m, len(mended.Files))
	}
	if r := kept.Check.Report.(*report.Report); r.File != "psalm.mxl" {
		t.Errorf("the report is of %s", r.File)
	}
	if text, err := into.Mending.Unpack(); err != nil || !answer.IsBundle(text) {
		t.Errorf("it is kept as before: %v", err)
	}
}

// What is kept of a check comes back with its parts in their columns.
func TestChecksAreKept(t *testing.T) {
	a := &answer.Answer{Report: &report.Report{File: "hymn.mxl"}, Statistics: &report.HarmonyStatistics{}}
	a.AddScore(answer.Marked, 0, container)
	a.Add(answer.VoicesSuffix, []byte("voices"))
	a.Add(answer.RomanTextSuffix, []byte("numerals"))
	var into store.NewResult
	if err := keep(a, &into); err != nil {
		t.Fatal(err)
	}
	kept, err := KeptOf(&store.Result{Report: into.Report, Marked: into.Marked, Analysis: into.Analysis})
	if err != nil {
		t.Fatal(err)
	}
	want, _ := a.All()
	got, err := kept.Files()
	if err != nil || kept.Check.Statistics == nil {
		t.Errorf("counts %v, %v", kept.Check.Statistics, err)
	}
	if !slices.EqualFunc(got, want, func(a, b answer.File) bool { return a.Suffix == b.Suffix && bytes.Equal(a.Data, b.Data) }) {
		t.Errorf("files %v, kept were %v", got, want)
	}
	if marked, err := into.Marked.Unpack(); err != nil || !bytes.Equal(marked, container) {
		t.Errorf("the marked score by itself is %q, %v", marked, err)
	}
}

// What is kept and damaged is an error, and no empty answer.
func TestDamagedAnswersAreErrors(t *testing.T) {
	bad := store.Pack([]byte("neither one nor the other"))
	for name, r := range map[string]store.Result{
		"report": {Report: bad}, "analysis": {Analysis: bad}, "mending": {Mending: bad}, "voicing": {Voicing: bad},
		"problem": {Mending: store.Pack([]byte("{"))},
	} {
		if _, err := KeptOf(&r); err == nil {
			t.Errorf("a damaged %s is read", name)
		}
	}
}
