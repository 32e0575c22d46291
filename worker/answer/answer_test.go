package answer_test

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"partwright/theory/theorytest"
	"partwright/worker/answer"
	"partwright/worker/report"
)

// container begins as a zip file does (APPNOTE 4.3.7, the local file header).
var container = []byte("PK\x03\x04 and so on")

func suffixes(files []answer.File) (all []string) {
	for _, f := range files {
		all = append(all, f.Suffix)
	}
	return all
}

// Names of scores say what they are, which of several, and their container: .mxl and
// .musicxml are those that MusicXML 4.0 registers.
func TestNamesOfFiles(t *testing.T) {
	for _, test := range []struct {
		want, infix string
		add         func(*answer.Answer)
		score, midi bool
	}{
		{".marked.musicxml", ".marked", func(a *answer.Answer) { a.AddScore(answer.Marked, 0, []byte("<x/>")) }, true, false},
		{".marked.mxl", ".marked", func(a *answer.Answer) { a.AddScore(answer.Marked, 0, container) }, true, false},
		{".clean.mxl", ".clean", func(a *answer.Answer) { a.AddScore(answer.Clean, 0, container) }, true, false},
		{".mended.musicxml", ".mended", func(a *answer.Answer) { a.AddScore(answer.Mended, 0, nil) }, true, false},
		{".mended-2.mxl", ".mended-2", func(a *answer.Answer) { a.AddScore(answer.Mended, 1, container) }, true, false},
		{".both.musicxml", ".both", func(a *answer.Answer) { a.AddScore(answer.Both, 0, nil) }, true, false},
		{".voiced-20.musicxml", ".voiced-20", func(a *answer.Answer) { a.AddScore(answer.Voiced, 19, nil) }, true, false},
		{".exercise.musicxml", ".exercise", func(a *answer.Answer) { a.AddScore(answer.Exercise, 0, nil) }, true, false},
		{".compared.musicxml", ".compared", func(a *answer.Answer) { a.AddScore(answer.Compared, 0, nil) }, true, false},
		{".level-1.musicxml", ".level-1", func(a *answer.Answer) { a.AddScore(answer.Level, 0, nil) }, true, false},
		{".mid", "", func(a *answer.Answer) { a.AddMIDI(0, nil) }, false, true},
		{".voiced-2.mid", ".voiced-2", func(a *answer.Answer) { a.AddMIDI(1, nil) }, false, true},
		{".voices.csv", ".voices", func(a *answer.Answer) { a.Add(answer.VoicesSuffix, nil) }, false, false},
		{".rntxt", "", func(a *answer.Answer) { a.Add(answer.RomanTextSuffix, nil) }, false, false},
	} {
		var a answer.Answer
		test.add(&a)
		f := a.Files[0]
		if f.Suffix != test.want || f.Infix() != test.infix || f.IsScore() != test.score || f.IsMIDI() != test.midi {
			t.Errorf("%s: infix %q, a score: %v, music: %v; want %s", f.Suffix, f.Infix(), f.IsScore(), f.IsMIDI(), test.want)
		}
		if !f.IsMIDI() && !answer.IsFileName("hymn"+f.Suffix) {
			t.Errorf("hymn%s is the name of no file of ours", f.Suffix)
		}
	}
}

func TestNamesOfOurs(t *testing.T) {
	for name, want := range map[string]bool{
		"a.findings.json": true, "a.mending.json": true, "a.voicing.json": true, "a.analysis.json": true,
		"a.harmonies.csv": true, "a.rntxt": true, "A.MARKED.MXL": true, "a.mended-3.musicxml": true,
		"harmony-statistics.csv": true, "harmony-statistics.json": true, ".marked.mxl": true,
		"a.musicxml": false, "a.mxl": false, "marked.musicxml": false, "a.marked.xml": false, "a.level.musicxml": false,
		"a.mended-x.mxl": false, "my-harmony-statistics.csv": false, "statistics.csv": false, "a.marked.mxl.bak": false, "a.json": false, "": false,
	} {
		if got := answer.IsFileName(name); got != want {
			t.Errorf("%q: %v, want %v", name, got, want)
		}
	}
}

// Where one score is asked for, a sheet that holds all versions goes before each, and
// the exercise before its answer, in whatever order they were added.
func TestScoreThatAnswers(t *testing.T) {
	for _, test := range []struct {
		has  []answer.Kind
		want answer.Kind
	}{
		{[]answer.Kind{answer.Mended, answer.Both}, answer.Both},
		{[]answer.Kind{answer.Voiced, answer.Compared, answer.Exercise, answer.Level}, answer.Exercise},
		{[]answer.Kind{answer.Level, answer.Voiced, answer.Compared}, answer.Compared},
		{[]answer.Kind{answer.Marked, answer.Mended}, answer.Marked},
		{[]answer.Kind{answer.Voiced}, answer.Voiced},
		{[]answer.Kind{answer.Clean}, answer.Clean},
		{nil, ""},
	} {
		a := answer.Answer{}
		a.Add(answer.VoicesSuffix, nil)
		a.AddMIDI(0, nil)
		for _, kind := range test.has {
			a.AddScore(kind, 1, []byte("another")) // never the first
			a.AddScore(kind, 0, []byte(kind))
		}
		switch got := a.Score(); {
		case got == nil:
			if test.want != "" {
				t.Errorf("of %v none answers", test.has)
			}
		case string(got.Data) != string(test.want):
			t.Errorf("of %v %s answers, want %s", test.has, got.Suffix, test.want)
		}
	}
}

// answers are of every kind of report, with files of every kind.
func answers() map[string]*answer.Answer {
	check := &answer.Answer{
		Report:     &report.Report{File: "hymn.mxl", Findings: []report.Finding{{Rule: "parallel-fifths", Message: "T < B & 5"}}},
		Statistics: &report.HarmonyStatistics{},
	}
	if err := json.Unmarshal([]byte(`[["numeral","major I","",4],["cadence","PAC","",2]]`), check.Statistics); err != nil {
		panic(err) // a mistake in this test
	}
	check.AddScore(answer.Marked, 0, container)
	check.Add(answer.VoicesSuffix, []byte("voice,pitch\nS,C5\n"))
	check.Add(answer.RomanTextSuffix, []byte("m1 C: I\n"))
	mending := &answer.Answer{Report: &report.Mending{File: "hymn.mxl", Before: 2, Edits: []report.MendedNote{{To: "B3", Measure: "1"}}}}
	for i := range 3 {
		mending.AddScore(answer.Mended, i, append(container, byte(i)))
	}
	mending.AddScore(answer.Both, 0, []byte("<both/>"))
	voicing := &answer.Answer{Report: &report.Voicing{Style: "SATB", Numerals: []string{"C: I", "C: V"}}}
	voicing.AddScore(answer.Voiced, 0, []byte("<voiced/>"))
	voicing.AddMIDI(0, []byte("MThd\x00\xff"))
	voicing.AddScore(answer.Exercise, 0, nil)
	voicing.AddScore(answer.Compared, 0, []byte("<compared/>"))
	voicing.AddScore(answer.Level, 0, []byte("<level/>"))
	clean := &answer.Answer{}
	clean.AddScore(answer.Clean, 0, []byte("<clean/>"))
	return map[string]*answer.Answer{
		"check": check, "mending": mending, "voicing": voicing, "clean": clean,
		"continuation": {Report: &report.Continuation{Engine: "test", Style: "SATB"}}, "nothing": {},
	}
}

// emptyReport is a place for a report of the kind of another.
func emptyReport(of any) any {
	switch of.(type) {
	case *report.Report:
		return &report.Report{}
	case *report.Mending:
		return &report.Mending{}
	case *report.Voicing:
		return &report.Voicing{}
	case *report.Continuation:
		return &report.Continuation{}
	}
	return nil
}

// What is kept of an answer is the answer: report, counts and files, byte for byte and
// in their order.
func TestBundles(t *testing.T) {
	for name, a := range answers() {
		t.Run(name, func(t *testing.T) {
			text, err := a.Bundle()
			if err != nil {
				t.Fatal(err)
			}
			if !answer.IsBundle(text) && (a.Report != nil || len(a.Files) > 0) {
				t.Error("a bundle is not known as one")
			}
			again, err := answer.Unbundle(text, emptyReport(a.Report))
			if err != nil {
				t.Fatal(err)
			}
			var line, lineAgain []byte
			if a.Report != nil {
				if line, err = a.Line(); err != nil {
					t.Fatal(err)
				}
				if lineAgain, err = again.Line(); err != nil {
					t.Fatal(err)
				}
			}
			if diff := cmp.Diff(string(line), string(lineAgain)); diff != "" {
				t.Errorf("report, kept -, read +:\n%s", diff)
			}
			same := func(a, b answer.File) bool { return a.Suffix == b.Suffix && bytes.Equal(a.Data, b.Data) }
			if !slices.EqualFunc(a.Files, again.Files, same) {
				t.Errorf("files %v, kept were %v", suffixes(again.Files), suffixes(a.Files))
			}
			if counted(t, a.Statistics) != counted(t, again.Statistics) {
				t.Errorf("counts %s, kept were %s", counted(t, again.Statistics), counted(t, a.Statistics))
			}
		})
	}
}

func counted(t *testing.T, s *report.HarmonyStatistics) string {
	t.Helper()
	if s == nil {
		return "none"
	}
	table, err := s.CSV()
	if err != nil {
		t.Fatal(err)
	}
	return string(table)
}

// What was kept before there were bundles is not taken for one.
func TestWhatIsNoBundle(t *testing.T) {
	for _, text := range []string{"", "{}", `{"romantext":"m1 C: I"}`, strings.Repeat("ustar", 10), strings.Repeat("x", 600)} {
		if answer.IsBundle([]byte(text)) {
			t.Errorf("%.20q is taken for a bundle", text)
		}
	}
	whole, err := answers()["mending"].Bundle()
	if err != nil {
		t.Fatal(err)
	}
	for _, bad := range [][]byte{[]byte(strings.Repeat("x", 600)), whole[:600], bytes.Replace(whole, []byte(`{"file"`), []byte(`["file"`), 1)} {
		if _, err := answer.Unbundle(bad, &report.Mending{}); err == nil || !strings.Contains(err.Error(), "stored answer") {
			t.Errorf("%.20q: %v", bad, err)
		}
	}
}

// All files are the report, named by its kind and set out to be read, and then the
// others.
func TestAllFiles(t *testing.T) {
	for name, want := range map[string][]string{
		"check":        {".findings.json", ".marked.mxl", ".voices.csv", ".rntxt"},
		"mending":      {".mending.json", ".mended.mxl", ".mended-2.mxl", ".mended-3.mxl", ".both.musicxml"},
		"voicing":      {".voicing.json", ".voiced.musicxml", ".mid", ".exercise.musicxml", ".compared.musicxml", ".level-1.musicxml"},
		"clean":        {".clean.musicxml"},
		"continuation": nil,
		"nothing":      nil,
	} {
		a := answers()[name]
		all, err := a.All()
		if err != nil {
			t.Fatal(err)
		}
		if got := suffixes(all); !slices.Equal(got, want) {
			t.Errorf("%s: files %v, want %v", name, got, want)
		}
		if again, err := a.All(); err != nil || len(again) != len(all) {
			t.Errorf("%s: asked again, %d files, %v", name, len(again), err)
		}
		if len(want) == 0 || !strings.HasSuffix(want[0], ".json") {
			continue
		}
		line, err := a.Line()
		if err != nil {
			t.Fatal(err)
		}
		if bytes.ContainsAny(line, "\n") || bytes.Count(all[0].Data, []byte("\n")) < 3 || !bytes.HasSuffix(all[0].Data, []byte("}\n")) {
			t.Errorf("%s: the line is %s, the file is %s", name, line, all[0].Data)
		}
		if bytes.Contains(line, []byte(`\u003c`)) {
			t.Errorf("%s: %s is escaped for HTML", name, line)
		}
	}
}

func TestRenamed(t *testing.T) {
	for name, want := range map[string]string{"check": `"file":"other.mxl"`, "mending": `"file":"other.mxl"`} {
		a := answers()[name]
		a.Rename("other.mxl")
		if line, err := a.Line(); err != nil || !strings.Contains(string(line), want) {
			t.Errorf("%s: %s, %v", name, line, err)
		}
	}
}

// Music is a file that is there, else it is made of the score that answers.
func TestMusicToListenTo(t *testing.T) {
	var a answer.Answer
	if _, err := a.MIDI(); err == nil {
		t.Error("there is music of nothing")
	}
	a.Texture = theorytest.Chords("C3 G3 E4 C5")
	// A Standard MIDI File begins with MThd (SMF 1.0, header chunks).
	if music, err := a.MIDI(); err != nil || !bytes.HasPrefix(music, []byte("MThd")) {
		t.Errorf("%.10q, %v", music, err)
	}
	a.AddMIDI(0, []byte("first"))
	a.AddMIDI(1, []byte("second"))
	if music, err := a.MIDI(); err != nil || string(music) != "first" {
		t.Errorf("%q, %v", music, err)
	}
}

// FuzzUnbundle reads anything: what can be read is kept again as the same.
func FuzzUnbundle(f *testing.F) {
	for _, a := range answers() {
		text, err := a.Bundle()
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Add([]byte(`{"report":{}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		a, err := answer.Unbundle(data, &report.Mending{})
		if err != nil {
			return
		}
		text, err := a.Bundle()
		if err != nil {
			return // a name that tar cannot hold
		}
		again, err := answer.Unbundle(text, &report.Mending{})
		if err != nil {
			t.Fatalf("what was kept again is not read: %v", err)
		}
		if diff := cmp.Diff(a.Files, again.Files); diff != "" {
			t.Errorf("read -, kept and read +:\n%s", diff)
		}
		if diff := cmp.Diff(a.Report, again.Report); diff != "" {
			t.Errorf("read -, kept and read +:\n%s", diff)
		}
	})
}
