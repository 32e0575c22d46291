package api

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"

	"partwright/theory"
	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/files"
	"partwright/worker/pool"
	"partwright/worker/report"
	"partwright/worker/stage"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// newBatchEngine is a service of batches over the real engine.
func newBatchEngine(t *testing.T, c store.Config) *service {
	t.Helper()
	p := enginePool(t, nil, pool.Config{})
	return newService(t, p, Config{Batches: newBatches(t, storetest.Open(t, c), p)})
}

// sent is a file that comes with a batch.
type sent struct{ name, text string }

func zipped(files []sent) string {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, f := range files {
		if w, err := z.Create(f.name); err == nil {
			_, _ = w.Write([]byte(f.text))
		}
	}
	_ = z.Close() // into memory
	return out.String()
}

func tarred(files []sent) string {
	var out bytes.Buffer
	g := gzip.NewWriter(&out)
	w := tar.NewWriter(g)
	for _, f := range files {
		_ = w.WriteHeader(&tar.Header{Name: f.name, Mode: 0o600, Size: int64(len(f.text)), Typeflag: tar.TypeReg})
		_, _ = w.Write([]byte(f.text))
	}
	_, _ = w.Close(), g.Close() // into memory
	return out.String()
}

// ordered are the options of a batch by name; those with text of several lines are
// files, which only a form can have.
type ordered map[string]string

func (o ordered) files() bool {
	return slices.ContainsFunc(slices.Collect(maps.Values(o)), func(value string) bool { return strings.Contains(value, "\n") })
}

func (o ordered) query() string {
	query := url.Values{}
	for name, value := range o {
		query.Set(name, value)
	}
	return "?" + query.Encode()
}

func (o ordered) fields() (fields []field) {
	for name, value := range o {
		fields = append(fields, field{name, "", value})
	}
	return fields
}

// waysIn are all ways to give scores to the service; each returns the batch, or the
// answer that refused it.
var waysIn = map[string]func(s *service, o ordered, files []sent) *httptest.ResponseRecorder{
	"zip": func(s *service, o ordered, files []sent) *httptest.ResponseRecorder {
		return s.do(post("/v1/batches"+o.query(), zipped(files), "Content-Type", "application/zip"))
	},
	"tar.gz": func(s *service, o ordered, files []sent) *httptest.ResponseRecorder {
		return s.do(post("/v1/batches"+o.query(), tarred(files), "Content-Type", "application/gzip"))
	},
	"form of files": func(s *service, o ordered, found []sent) *httptest.ResponseRecorder {
		fields := o.fields()
		for _, f := range found {
			if o["labels"] != "" || !files.IsLabels(f.name) {
				fields = append(fields, field{"score", f.name, f.text})
			}
		}
		return s.do(form(s.t, "/v1/batches", fields...))
	},
	"form of an archive": func(s *service, o ordered, files []sent) *httptest.ResponseRecorder {
		return s.do(form(s.t, "/v1/batches", append(o.fields(), field{"score", "all.zip", zipped(files)})...))
	},
	"open, one by one": func(s *service, o ordered, found []sent) *httptest.ResponseRecorder {
		made := s.do(form(s.t, "/v1/batches", append(o.fields(), field{"open", "", "true"})...))
		if made.Code != http.StatusAccepted {
			return made
		}
		id := decode[Batch](s.t.(*testing.T), made).ID
		for i, f := range found {
			if files.IsLabels(f.name) {
				continue
			}
			fields := []field{{"score", f.name, f.text}}
			for _, l := range found {
				if o["labels"] != "" && l.name == strings.TrimSuffix(f.name, ".musicxml")+".rntxt" {
					fields = append(fields, field{"labels", l.name, l.text})
				}
			}
			r := form(s.t, "/v1/batches/"+id+"/scores", fields...)
			r.Header.Set("Idempotency-Key", fmt.Sprintf(`"%s-%d"`, id, i))
			if w := s.do(r); w.Code != http.StatusAccepted {
				return w
			}
		}
		if w := s.do(httptest.NewRequest(http.MethodPost, "/v1/batches/"+id+"/close", nil)); w.Code != http.StatusOK {
			return w
		}
		return made
	},
}

// came is what came of the first score of a batch.
type came struct {
	report struct {
		RuleSet string `json:"rule_set"`
		Score   struct {
			HarmonyStyle string `json:"harmony_style"`
		}
		Findings []struct {
			Rule, Severity, Measure, Message string
			Fixes                            []any
		}
		First    []struct{ Number int }
		Pupil    bool
		Analysis *struct{}
		Mark     *struct{ Rubric string }
	}
	marked  string
	mending struct {
		Before, After int
		Edits         []struct {
			Measure string
			Note    struct{ Voice string }
		}
		Alternatives []any
		Untouched    string
	}
	mended string
	// voicing is what is said of the voicing, voiced its score.
	voicing report.Voicing
	voiced  string
	// files are those in the archive of all answers.
	files []string
}

func (c *came) finds(rule, severity string) bool {
	for _, f := range c.report.Findings {
		if f.Rule == rule && (severity == "" || f.Severity == severity) {
			return true
		}
	}
	return false
}

func (s *service) cameOf(id string) *came {
	s.t.Helper()
	t := s.t.(*testing.T)
	s.finished(id)
	c := &came{}
	at := "/v1/batches/" + id + "/scores/1"
	view := decode[struct{ Report json.RawMessage }](t, s.do(get(at)))
	if err := json.Unmarshal(view.Report, &c.report); err != nil {
		t.Fatalf("%v: %s", err, view.Report)
	}
	if w := s.do(get(at + "/marked")); w.Code == http.StatusOK {
		c.marked = w.Body.String()
	}
	if w := s.do(get(at + "/mending")); w.Code == http.StatusOK {
		if err := json.Unmarshal(w.Body.Bytes(), &c.mending); err != nil {
			t.Fatal(err)
		}
		c.mended = s.do(get(at+"/mending", "Accept", typeMusicXML)).Body.String()
	}
	if w := s.do(get(at + "/voicing")); w.Code == http.StatusOK {
		c.voicing = decode[report.Voicing](t, w)
		c.voiced = s.do(get(at+"/voicing", "Accept", typeMusicXML)).Body.String()
	}
	for _, f := range s.archived(id, "answers.zip") {
		c.files = append(c.files, f.Name)
	}
	return c
}

// archived are the files of a download.
func (s *service) archived(id, file string) []*zip.File {
	s.t.Helper()
	packed := s.do(get("/v1/batches/" + id + "/" + file)).Body.Bytes()
	z, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	if err != nil {
		s.t.Fatal(err)
	}
	return z.File
}

// foreignLabels are an analysis of the model answer with V6 written where it has IV.
const foreignLabels = "m1 G: I b2 V6 b3 I b4 vi\nm2 V6 b2 V7 b3 I\nm3 ii b2 ii65 b3 V\nm4 I\n"

// voices is the numeral of the chord with the number k, counted from 0, as it is voiced.
func (c *came) voices(k int) string { return c.voicing.Alternatives[0].Chords[k].Numeral }

// sung is the note of the top voice in chord k, top its height in semitones.
func (c *came) sung(k int) string { return c.voicing.Alternatives[0].Chords[k].Pitches[0] }

func (c *came) top(k int) int { return theory.MustPitch(c.sung(k)).Semitones() }

// voiceToo asks for voicings beside the check.
var voiceToo = ordered{"voice": "true"}

// optionCases say for every option of a batch what is different with it. What is to
// be found in the hand-in says testdata/README.md.
var optionCases = []struct {
	option string
	beside ordered
	value  string
	score  string
	shows  func(*came) bool
}{
	{"rule_set", nil, "free", "hand-in", func(c *came) bool { return c.report.RuleSet == "free" }},
	{"texture", nil, "piano", "hand-in", func(c *came) bool { return c.report.RuleSet == "free" }},
	{"task", nil, contentOf("../testdata/class/model.musicxml"), "hand-in", func(c *came) bool { return c.finds("given-line-changed", "fault") }},
	{"own_rule_set", nil, "name: first year\nrules:\n  parallel-fifths: caution\n", "hand-in", func(c *came) bool { return c.finds("parallel-fifths", "caution") }},
	{"accepted", nil, "1: [parallel-fifths]\n2: [parallel-octaves]\n", "hand-in", func(c *came) bool { return c.finds("parallel-fifths", "remark") }},
	{"rubric", nil, "hundred", "hand-in", func(c *came) bool { return c.report.Mark != nil }},
	{"own_rubric", nil, "name: second quiz\npoints: 40\nfaults: 2\n", "hand-in", func(c *came) bool { return c.report.Mark != nil && c.report.Mark.Rubric == "second quiz" }},
	{"language", nil, "de", "hand-in", func(c *came) bool { return strings.Contains(c.report.Findings[0].Message, "Quintparallelen") }},
	{"marks", nil, "true", "hand-in", func(c *came) bool { return strings.Contains(c.marked, "#282CC4") }},
	{"upgrade", ordered{"marks": "true"}, "true", "old", func(c *came) bool { return strings.Contains(c.marked, `<score-partwise version="4.0"`) }},
	{"fixes", nil, "2", "hand-in", func(c *came) bool { return len(c.report.Findings[0].Fixes) > 0 }},
	{"view", nil, "pupil", "hand-in", func(c *came) bool {
		return c.report.Pupil && len(c.report.First) == 3 && len(c.report.Findings[c.report.First[0].Number-1].Fixes) == 1
	}},
	{"analysis", nil, "true", "hand-in", func(c *came) bool { return c.report.Analysis != nil }},
	{"voices", nil, "true", "hand-in", func(c *came) bool { return slices.Contains(c.files, "hand-in.voices.csv") }},
	{"labels", nil, "beside", "model", func(c *came) bool { return c.finds("label-disagrees", "") }},
	{"given", ordered{"labels": "beside"}, "ignore", "model", func(c *came) bool { return !c.finds("label-disagrees", "") }},
	{"harmony_style", nil, "free", "model", func(c *came) bool { return c.report.Score.HarmonyStyle == "free" }},
	{"annotate", ordered{"marks": "true"}, "numerals", "model", func(c *came) bool { return strings.Contains(c.marked, "<numeral") }},
	{"mend", nil, "true", "hand-in", func(c *came) bool {
		return c.mending.Before > 2 && c.mending.After == 0 && strings.Contains(c.mended, "score-partwise")
	}},
	{"severity", ordered{"mend": "true"}, "remark", "worksheet", func(c *came) bool { return c.mending.Before > 11 }},
	{"keep", ordered{"mend": "true"}, "S,A,T,X", "hand-in", func(c *came) bool {
		return c.mending.Before > 0 && !slices.ContainsFunc(c.mending.Edits, func(e struct {
			Measure string
			Note    struct{ Voice string }
		},
		) bool {
			return e.Note.Voice != "B"
		})
	}},
	{"keep_measures", ordered{"mend": "true"}, "1,2,3,4", "hand-in", func(c *came) bool { return c.mending.Before > 0 && len(c.mending.Edits) == 0 }},
	{"only", ordered{"mend": "true"}, "parallel-fifths@1,voice-crossing", "hand-in", func(c *came) bool { return c.mending.Before == 1 && c.mending.After == 0 }},
	{"all", ordered{"mend": "true", "severity": "remark"}, "true", "worksheet", func(c *came) bool { return c.mending.Untouched == "" }},
	{"alternatives", ordered{"mend": "true"}, "2", "hand-in", func(c *came) bool { return len(c.mending.Alternatives) == 1 }},
	{"voice", nil, "true", "chords", func(c *came) bool { return c.voicing.Chords == 8 && slices.Contains(c.files, "chords.voiced.musicxml") }},
	{"voice_style", voiceToo, "three-voices", "chords", func(c *came) bool { return len(c.voicing.Voices) == 3 }},
	{"voice_contour", voiceToo, "rising", "chords", func(c *came) bool { return c.top(0) < c.top(7) }},
	{"voice_harmony", ordered{"voice": "true", "voice_gives": "soprano"}, "primary", "hand-in", func(c *came) bool {
		return !slices.ContainsFunc(c.voicing.Alternatives[0].Chords, func(chord report.VoicedChord) bool { return strings.ContainsAny(chord.Numeral, "iov/") })
	}},
	{"voice_start", voiceToo, "5", "chords", func(c *came) bool { return c.sung(0)[0] == 'G' }},
	{"voice_end", voiceToo, "3,5", "chords", func(c *came) bool { return c.sung(7)[0] != 'C' }},
	{"voice_position", voiceToo, "open", "chords", func(c *came) bool { return c.voicing.Alternatives[0].Chords[7].Pitches[2] == "G3" }},
	{"voice_costs", voiceToo, "soprano-stays: 0\n", "chords", func(c *came) bool { return c.sung(0) == c.sung(1) && c.sung(1) == c.sung(2) }},
	{"voice_bass", voiceToo, "free", "chords", func(c *came) bool { return c.voices(2) == "IV6" }},
	{"voice_gives", voiceToo, "bass", "chords", func(c *came) bool { return c.voices(6) == "viio" }},
	{"voice_key", voiceToo, "a", "chords", func(c *came) bool { return c.voicing.Numerals[0] == "a: III" }},
	{"voice_ending", voiceToo, "deceptive", "chords", func(c *came) bool { return c.voices(7) == "vi" }},
	{"voice_six_four", voiceToo, "true", "chords", func(c *came) bool { return c.voicing.Chords == 9 }},
	{"voice_alternatives", voiceToo, "3", "chords", func(c *came) bool { return len(c.voicing.Alternatives) == 3 }},
	{"voice_density", voiceToo, "0.8", "chords", func(c *came) bool { return len(c.voicing.Alternatives[0].Decorations) > 0 }},
	{"voice_seed", ordered{"voice": "true", "voice_density": "0.5"}, "9", "chords", func(c *came) bool {
		return slices.ContainsFunc(c.voicing.Alternatives[0].Decorations, func(d report.Decoration) bool { return d.Kind == "suspension" })
	}},
	{"voice_layout", voiceToo, "open", "chords", func(c *came) bool { return strings.Count(c.voiced, "<score-part ") == 4 }},
	{"voice_title", voiceToo, "Evening", "chords", func(c *came) bool { return strings.Contains(c.voiced, "Evening") }},
	{"voice_exercise", voiceToo, "bass", "chords", func(c *came) bool { return slices.Contains(c.files, "chords.exercise.musicxml") }},
	{"voice_annotate", voiceToo, "none", "chords", func(c *came) bool { return len(c.voiced) > 0 && !strings.Contains(c.voiced, "<numeral") }},
	{"voice_compare", voiceToo, "true", "chords", func(c *came) bool { return slices.Contains(c.files, "chords.compared.musicxml") }},
	{"voice_reasons", voiceToo, "true", "chords", func(c *came) bool { return strings.Contains(c.voiced, "common tone kept") }},
	{"voice_levels", voiceToo, "2", "chords", func(c *came) bool { return slices.Contains(c.files, "chords.level-2.musicxml") }},
	{"both", ordered{"mend": "true"}, "true", "hand-in", func(c *came) bool { return strings.Contains(c.mended, "As written") }},
}

// contentOf is what a file holds.
func contentOf(path string) string {
	data, err := os.ReadFile(path) // #nosec G304 -- a file of the demo class
	if err != nil {
		panic(err)
	}
	return string(data)
}

// Whatever the contract offers reaches the engine, however the scores came.
func TestEveryOptionOfABatchIsPassedOn(t *testing.T) {
	s := newBatchEngine(t, store.Config{Dir: t.TempDir()})
	scores := map[string][]sent{
		"hand-in": {{"hand-in.musicxml", string(demo(t, "hand-in.musicxml"))}},
		"model":   {{"model.rntxt", foreignLabels}, {"model.musicxml", string(demo(t, "model.musicxml"))}},
		"old":     {{"old.musicxml", strings.ReplaceAll(string(demo(t, "hand-in.musicxml")), "4.0", "3.1")}},
	}
	scores["worksheet"] = []sent{{"worksheet.musicxml", string(demo(t, "worksheet.musicxml"))}}
	task, err := os.ReadFile("../testdata/tasks/block-chords.musicxml")
	if err != nil {
		t.Fatal(err)
	}
	scores["chords"] = []sent{{"chords.musicxml", string(task)}}
	for name := range scores {
		// A second score, so that an archive is one.
		scores[name] = append(scores[name], sent{"model2.musicxml", string(demo(t, "model.musicxml"))})
	}
	tested := map[string]bool{"open": true}
	for _, test := range optionCases {
		tested[test.option] = true
		with := maps.Clone(test.beside)
		if with == nil {
			with = ordered{}
		}
		without := maps.Clone(with)
		with[test.option] = test.value
		for name, send := range waysIn {
			if testing.Short() && name != "form of files" {
				continue
			}
			if with.files() && !strings.HasPrefix(name, "form") && !strings.HasPrefix(name, "open") {
				continue
			}
			t.Run(test.option+" by "+name, func(t *testing.T) {
				in := s.in(t)
				orders := []ordered{with}
				if name == "form of files" { // once is enough: without it, nothing is shown
					orders = append(orders, without)
				}
				for _, o := range orders {
					w := send(in, o, scores[test.score])
					if w.Code != http.StatusAccepted {
						t.Fatalf("%v: %d %s", o, w.Code, w.Body)
					}
					c := in.cameOf(decode[Batch](t, w).ID)
					if got, want := test.shows(c), o[test.option] != ""; got != want {
						t.Errorf("%v: it shows: %t; %+v", o, got, c.report)
					}
				}
			})
		}
	}
	for _, name := range optionsOfBatches(t) {
		if !tested[name] {
			t.Errorf("no case tests the option %s", name)
		}
	}
}

// optionsOfBatches are those that the contract has, in the query and in the form.
func optionsOfBatches(t *testing.T) (names []string) {
	t.Helper()
	post := contractOf(t).document.Paths.Find("/v1/batches").Post
	for _, p := range post.Parameters {
		if p.Value.In == openapi3.ParameterInQuery {
			names = append(names, p.Value.Name)
		}
	}
	fields := post.RequestBody.Value.Content["multipart/form-data"].Schema.Value.Properties
	for name := range fields {
		if name != "score" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	for _, name := range names {
		if fields[name] == nil {
			t.Errorf("a form has no field %s", name)
		}
	}
	return names
}

func TestOptionsThatCannotBeMet(t *testing.T) {
	s := newBatchEngine(t, store.Config{Dir: t.TempDir()})
	files := []sent{{"a.musicxml", tinyScore}}
	for _, test := range []struct {
		options ordered
		want    *kind
		names   string
	}{
		{ordered{"rule_set": "nowhere"}, unknownRuleSet, ""},
		{ordered{"rubric": "nothing"}, unknownRubric, ""},
		{ordered{"language": "xx"}, unknownLanguage, ""},
		{ordered{"own_rule_set": "rules:\n  wrong-notes: fault\n"}, unreadableRuleSet, "own_rule_set"},
		{ordered{"own_rule_set": ""}, unusableOption, "own_rule_set"},
		{ordered{"own_rubric": "points: many\n"}, unreadableRubric, "own_rubric"},
		{ordered{"accepted": "1: [wrong-notes]\n"}, unreadableRuleSet, "accepted"},
		{ordered{"rule_set": "free", "own_rule_set": "name: mine\n"}, invalidRequest, "rule set"},
		{ordered{"rubric": "hundred", "own_rubric": "name: mine\n"}, invalidRequest, "rubric"},
		{ordered{"annotate": "numerals"}, unusableOption, "annotate"},
		{ordered{"annotate": "numbers"}, invalidRequest, "annotate"},
		{ordered{"upgrade": "true"}, unusableOption, "upgrade"},
		{ordered{"given": "perhaps"}, invalidRequest, "given"},
		{ordered{"labels": "below"}, invalidRequest, "labels"},
		{ordered{"fixes": "99"}, invalidRequest, "fixes"},
		{ordered{"only": "parallel-fifths"}, unusableOption, "only"},
		{ordered{"voice": "true", "voice_costs": "leapp: 1\n"}, unreadableCosts, "did you mean leap?"},
		{ordered{"voice": "true", "voice_start": "8"}, invalidRequest, "voice_start"},
		{ordered{"mend": "false", "keep": "S"}, unusableOption, "keep"},
		{ordered{"mend": "true", "only": "wrong-notes"}, unusableOption, "only"},
		{ordered{"mend": "true", "alternatives": "9"}, invalidRequest, "alternatives"},
		{ordered{"mend": "true", "severity": "grave"}, invalidRequest, "severity"},
	} {
		for _, way := range []string{"form of files", "open, one by one"} {
			w := waysIn[way](s, test.options, files)
			if p := s.problem(w); p.Code != test.want.Code || !strings.Contains(p.Detail, test.names) {
				t.Errorf("%v by %s: %d %s: %s", test.options, way, p.Status, p.Code, p.Detail)
			}
		}
	}
	if list := decode[BatchList](t, s.do(get("/v1/batches"))); len(list.Batches) != 0 {
		t.Errorf("%d batches were made all the same", len(list.Batches))
	}
}

// The same score is answered anew where an option, or what lies beside it, differs.
func TestAnswersAreReusedForTheSameOrderOnly(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newBatchEngine(t, c)
		model := sent{"model.musicxml", string(demo(t, "model.musicxml"))}
		labels := sent{"model.rntxt", foreignLabels}
		seen := map[string]bool{}
		for _, test := range []struct {
			options ordered
			files   []sent
			reused  bool
		}{
			{ordered{}, []sent{model}, false},
			{ordered{}, []sent{model}, true},
			{ordered{"labels": "beside"}, []sent{model}, true},
			{ordered{"labels": "beside"}, []sent{model, labels}, false},
			{ordered{"labels": "beside"}, []sent{labels, model}, true},
			{ordered{"labels": "beside"}, []sent{model, {"model.rntxt", "m1 G: I\n"}}, false},
			{ordered{"mend": "true"}, []sent{model}, false},
			{ordered{"mend": "true", "both": "true"}, []sent{model}, false},
			{ordered{"mend": "true"}, []sent{{"another.musicxml", model.text}}, true},
			{ordered{"accepted": "1: [direct-fifths]\n"}, []sent{model}, false},
			{ordered{"own_rubric": "name: quiz\npoints: 10\n"}, []sent{model}, false},
			{ordered{"own_rubric": "name: quiz\npoints: 20\n"}, []sent{model}, false},
		} {
			id := decode[Batch](t, waysIn["form of files"](s, test.options, test.files)).ID
			s.finished(id)
			w := s.do(get("/v1/batches/" + id + "/scores/1"))
			if got := decode[struct{ Reused bool }](t, w); got.Reused != test.reused {
				t.Errorf("%v %d files: reused: %t", test.options, len(test.files), got.Reused)
			}
			seen[id] = true
			if test.options["mend"] == "" {
				continue
			}
			mending := decode[struct{ File string }](t, s.do(get("/v1/batches/"+id+"/scores/1/mending")))
			if mending.File != test.files[len(test.files)-1].name {
				t.Errorf("the mending is of %s", mending.File)
			}
		}
		if len(seen) != 12 {
			t.Errorf("%d batches", len(seen))
		}
	})
}

func TestMendedScoresAreDownloaded(t *testing.T) {
	s := newBatchEngine(t, store.Config{Dir: t.TempDir()})
	files := []sent{{"class/hand-in.musicxml", string(demo(t, "hand-in.musicxml"))}, {"broken.musicxml", "<score-partwise>"}}
	id := decode[Batch](t, waysIn["zip"](s, ordered{"mend": "true", "alternatives": "2", "both": "true", "analysis": "true"}, files)).ID
	s.finished(id)
	names := func(file string) (names []string) {
		for _, f := range s.archived(id, file) {
			names = append(names, f.Name)
		}
		slices.Sort(names)
		return names
	}
	want := []string{"class/hand-in.both.musicxml", "class/hand-in.mended-2.musicxml", "class/hand-in.mended.musicxml", "class/hand-in.mending.json"}
	if got := names("mended.zip"); !slices.Equal(got, want) {
		t.Errorf("in the archive are %v", got)
	}
	for _, more := range []string{"class/hand-in.findings.json", "class/hand-in.harmonies.csv", "harmony-statistics.csv", "harmony-statistics.json"} {
		if got := names("answers.zip"); !slices.Contains(got, more) || len(got) != len(want)+6 {
			t.Errorf("all answers are %v", got)
		}
	}
	at := "/v1/batches/" + id + "/scores/1/mending"
	types, _ := parts(t, s.do(get(at, "Accept", typeMixed)))
	if !slices.Equal(types, []string{typeJSON, typeMusicXML, typeMusicXML, typeMusicXML}) {
		t.Errorf("all in one are %v", types)
	}
	if w := s.do(get(at, "Accept", typeMIDI)); w.Code != http.StatusNotAcceptable {
		t.Errorf("audio: %d", w.Code)
	}
	if w := s.do(get("/v1/batches/" + id + "/scores/2/mending")); w.Code != http.StatusNotFound {
		t.Errorf("the broken score: %d", w.Code)
	}
}

// That mending takes too long is said where the mended score would be.
func TestMendingThatTookTooLong(t *testing.T) {
	p := &fakePool{mend: func(worker.Input) (*answer.Answer, error) { return nil, stage.ErrDeadline }}
	s := newService(t, p, Config{Batches: newBatches(t, storetest.Open(t, store.Config{Dir: t.TempDir()}), p)})
	id := decode[Batch](t, s.do(post("/v1/batches?mend=true", tinyScore))).ID
	if b := s.finished(id); b.Scores.Done != 1 {
		t.Errorf("%+v: it was checked all the same", b.Scores)
	}
	if p := s.problem(s.do(get("/v1/batches/" + id + "/scores/1/mending"))); p.Code != timeLimit.Code {
		t.Errorf("%s: %s", p.Code, p.Detail)
	}
	if files := s.archived(id, "mended.zip"); len(files) != 0 {
		t.Errorf("%d files", len(files))
	}
}
