package api

import (
	"bytes"
	"encoding/json"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"os"
	"slices"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
	"partwright/worker"
	"partwright/worker/pool"
	"partwright/worker/report"
	"partwright/worker/request"
)

func engineService(t testing.TB) *service {
	t.Helper()
	return newService(t, enginePool(t, nil, pool.Config{}), Config{})
}

func postText(path, body string, header ...string) *http.Request {
	return post(path, body, append([]string{"Content-Type", typeText}, header...)...)
}

// parts reads an answer in several parts.
func parts(t testing.TB, w *httptest.ResponseRecorder) (types []string, bodies [][]byte) {
	t.Helper()
	_, params, err := mime.ParseMediaType(w.Header().Get("Content-Type"))
	if err != nil {
		t.Fatal(err)
	}
	for reader := multipart.NewReader(w.Body, params["boundary"]); ; {
		part, err := reader.NextPart()
		if err == io.EOF {
			return types, bodies
		}
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(part)
		if err != nil {
			t.Fatal(err)
		}
		types, bodies = append(types, part.Header.Get("Content-Type")), append(bodies, body)
	}
}

// What is voiced passes the check of any other score: the sheet goes back in.
func TestVoicingAnswersInEveryForm(t *testing.T) {
	s := engineService(t)
	const progression = "C: I vi ii6 V7*2 I"
	w := s.do(postText("/v1/voicings?alternatives=2&title=Evening", progression))
	var answer report.Voicing
	if err := json.Unmarshal(w.Body.Bytes(), &answer); err != nil || w.Code != http.StatusOK {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	if len(answer.Alternatives) != 2 || answer.Alternatives[0].Faults != 0 || len(answer.Alternatives[0].Changes) != 4 {
		t.Errorf("%d alternatives, %+v", len(answer.Alternatives), answer.Alternatives[0])
	}
	for _, tt := range []struct{ accept, begins string }{
		{typeMusicXML, "<?xml"}, {typeContainer, "PK"}, {typeMIDI, "MThd"},
	} {
		w := s.do(postText("/v1/voicings", progression, "Accept", tt.accept))
		if w.Header().Get("Content-Type") != tt.accept || !strings.HasPrefix(w.Body.String(), tt.begins) {
			t.Errorf("%s: %s, begins %.10q", tt.accept, w.Header().Get("Content-Type"), w.Body)
		}
		if tt.accept == typeMIDI {
			continue
		}
		checked := s.do(post("/v1/checks", w.Body.String()))
		var found struct {
			Score   struct{ Voices []any }
			Summary report.Summary
		}
		if err := json.Unmarshal(checked.Body.Bytes(), &found); err != nil || found.Summary.Faults != 0 || len(found.Score.Voices) != 4 {
			t.Errorf("%s: %d faults in what was voiced, %v", tt.accept, found.Summary.Faults, err)
		}
	}
	types, bodies := parts(t, s.do(postText("/v1/voicings?alternatives=2&title=Evening", progression, "Accept", typeMixed)))
	if want := []string{typeJSON, typeMusicXML, typeMIDI, typeMusicXML, typeMIDI}; !slices.Equal(types, want) {
		t.Fatalf("parts %v, want %v", types, want)
	}
	if !bytes.Contains(bodies[1], []byte("Evening")) || bytes.Equal(bodies[1], bodies[3]) {
		t.Error("the sheets lack their title, or are one and the same")
	}
}

// Fields of a form say the same as the query, and win.
func TestVoicingOptionsOfAForm(t *testing.T) {
	s := engineService(t)
	voices := func(r *http.Request) []string {
		t.Helper()
		w := s.do(r)
		var report report.Voicing
		if err := json.Unmarshal(w.Body.Bytes(), &report); err != nil || w.Code != http.StatusOK {
			t.Fatalf("%d %s", w.Code, w.Body)
		}
		return report.Voices
	}
	progression := field{"progression", "", "C: I IV V I"}
	if got := voices(form(t, "/v1/voicings?style=five-voices", progression)); len(got) != 5 {
		t.Errorf("the query asks for five voices: %v", got)
	}
	if got := voices(form(t, "/v1/voicings?style=five-voices", progression, field{"style", "", "three-voices"})); len(got) != 3 {
		t.Errorf("the form asks for three voices: %v", got)
	}
	own := field{"own_rule_set", "mine.yaml", "name: mine\nrules:\n  range: off\n"}
	if got := voices(form(t, "/v1/voicings", progression, own)); len(got) != 4 {
		t.Errorf("with a rule set of one's own: %v", got)
	}
}

func TestVoicingsThatAreRefused(t *testing.T) {
	s := engineService(t)
	progression := field{"progression", "", "C: I IV V I"}
	for _, tt := range []struct {
		name    string
		request *http.Request
		kind    *kind
		detail  string
	}{
		{"no numeral", postText("/v1/voicings", "C: I\nIX"), unreadableProgression, "IX"},
		{"no text", postText("/v1/voicings", ""), unreadableProgression, "no chord"},
		{"a score where a progression is voiced", post("/v1/voicings", "{}", "Content-Type", typeJSON), unsupportedMediaType, ""},
		{"no such style", postText("/v1/voicings?style=opera", "C: I"), invalidRequest, "style"},
		{"no such style in a form", form(t, "/v1/voicings", progression, field{"style", "", "opera"}), invalidRequest, "style"},
		{"too many alternatives", postText("/v1/voicings?alternatives=21", "C: I"), invalidRequest, "alternatives"},
		{"alternatives that are no number", form(t, "/v1/voicings", progression, field{"alternatives", "", "all"}), invalidRequest, "alternatives"},
		{"a density past florid", postText("/v1/voicings?density=1.5", "C: I"), invalidRequest, "density"},
		{"a title with a line break", postText("/v1/voicings?title=a%0Ab", "C: I"), invalidRequest, "title"},
		{"an unknown field", form(t, "/v1/voicings", progression, field{"tempo", "", "72"}), invalidRequest, "tempo"},
		{"a form without chords", form(t, "/v1/voicings", field{"style", "", "chorale"}), missingScore, "progression"},
		{"a named rule set and one's own", form(t, "/v1/voicings?rule_set=free", progression, field{"own_rule_set", "", "name: mine\n"}), invalidRequest, "only one"},
		{"a rule set that is none", form(t, "/v1/voicings", progression, field{"own_rule_set", "", "rules: [1]\n"}), unreadableRuleSet, ""},
		{"an unknown rule set", postText("/v1/voicings?rule_set=none", "C: I"), unknownRuleSet, ""},
		{"an answer that there is none of", postText("/v1/voicings", "C: I", "Accept", "image/png"), notAcceptable, ""},
		{"more chords than are voiced", postText("/v1/voicings", "C: "+strings.Repeat("I ", worker.MaxProgression+1)), invalidRequest, "501 chords"},
		{"more text than is read", postText("/v1/voicings", "C: "+strings.Repeat(" ", request.MaxProgressionText)), invalidRequest, "bytes"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := s.problem(s.do(tt.request))
			if p.Type != tt.kind.uri() || !strings.Contains(p.Detail, tt.detail) {
				t.Errorf("got %s (%s), want %s with %q", p.Type, p.Detail, tt.kind.uri(), tt.detail)
			}
		})
	}
	if p := s.problem(s.do(postText("/v1/voicings", "C: I\nIX"))); p.Line != 2 {
		t.Errorf("the numeral stands in line 2, the problem says %d", p.Line)
	}
}

func TestMendingTakesFaultsOut(t *testing.T) {
	s := engineService(t)
	score := string(demo(t, "hand-in.musicxml"))
	types, bodies := parts(t, s.do(post("/v1/mendings?keep=B", score, "Accept", typeMixed)))
	if want := []string{typeJSON, typeMusicXML, typeMIDI}; !slices.Equal(types, want) {
		t.Fatalf("parts %v, want %v", types, want)
	}
	var report report.Mending
	if err := json.Unmarshal(bodies[0], &report); err != nil {
		t.Fatal(err)
	}
	if report.Before == 0 || report.After != 0 || len(report.Edits) == 0 {
		t.Errorf("%d before, %d after, %d edits", report.Before, report.After, len(report.Edits))
	}
	for _, e := range report.Edits {
		if e.Note.Voice == "B" {
			t.Errorf("the bass was given and moves at measure %s", e.Measure)
		}
	}
	doc, err := musicxml.Read("mended.musicxml", bodies[1], musicxml.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range partwriting.Check(separation.FindVoices(doc.Score), nil, nil) {
		if f.Severity == partwriting.Fault && report.After == 0 {
			t.Errorf("%s at %v is still there", f.Rule, f.Onset)
		}
	}
	for _, accept := range []string{typeJSON, typeContainer, typeMIDI} {
		if w := s.do(post("/v1/mendings", score, "Accept", accept)); w.Header().Get("Content-Type") != accept {
			t.Errorf("%s: %d %s", accept, w.Code, w.Header().Get("Content-Type"))
		}
	}
	for path, kind := range map[string]*kind{
		"/v1/mendings?keep=X": invalidRequest, "/v1/mendings?keep_measures=99": invalidRequest,
		"/v1/mendings?only=wrong-notes": invalidRequest, "/v1/mendings?alternatives=6": invalidRequest,
		"/v1/mendings?severity=error": invalidRequest, "/v1/mendings?rule_set=none": unknownRuleSet,
	} {
		if p := s.problem(s.do(post(path, score))); p.Type != kind.uri() {
			t.Errorf("%s: %s (%s)", path, p.Type, p.Detail)
		}
	}
	if p := s.problem(s.do(post("/v1/mendings", "<score-partwise>"))); p.Type != unreadableScore.uri() {
		t.Errorf("half a score: %s", p.Type)
	}
}

// A score with many findings comes back as it was sent, unless all of them are to go.
func TestMendingsLeaveScoresWithManyFindingsAlone(t *testing.T) {
	s := engineService(t)
	score := string(demo(t, "worksheet.musicxml"))
	for path, want := range map[string]string{"/v1/mendings?severity=remark": "too-many", "/v1/mendings?severity=remark&all=true": ""} {
		var said report.Mending
		w := s.do(post(path, score, "Accept", typeJSON))
		if err := json.Unmarshal(w.Body.Bytes(), &said); err != nil {
			t.Fatal(err)
		}
		untouched := want != ""
		if said.Untouched != want || untouched != (said.Advice != "") || untouched != (len(said.Edits) == 0) || untouched && len(said.Left) != said.Before {
			t.Errorf("%s: untouched %q, advice %q, %d edits, %d of %d left", path, said.Untouched, said.Advice, len(said.Edits), len(said.Left), said.Before)
		}
	}
}

// Chosen findings go in several ways: a score for each, and all on one sheet.
func TestMendingsInSeveralWays(t *testing.T) {
	s := engineService(t)
	file := field{"score", "hand-in.musicxml", string(demo(t, "hand-in.musicxml"))}
	request := form(t, "/v1/mendings?both=true", file, field{"only", "", "parallel-fifths@1"}, field{"alternatives", "", "3"})
	request.Header.Set("Accept", typeMixed)
	types, bodies := parts(t, s.do(request))
	if want := []string{typeJSON, typeMusicXML, typeMusicXML, typeMusicXML, typeMusicXML, typeMIDI}; !slices.Equal(types, want) {
		t.Fatalf("parts %v, want %v", types, want)
	}
	var report report.Mending
	if err := json.Unmarshal(bodies[0], &report); err != nil {
		t.Fatal(err)
	}
	if report.Before != 1 || report.After != 0 || len(report.Alternatives) != 2 || len(report.Alternatives[1].Edits) != 1 {
		t.Errorf("%+v", report)
	}
	if bytes.Equal(bodies[1], bodies[2]) || !bytes.Contains(bodies[4], []byte("Mended 3")) {
		t.Error("two ways are one, or the sheet with all versions lacks the third")
	}
}

func TestContinuationsAreGrouped(t *testing.T) {
	s := engineService(t)
	ask := func(body string) *httptest.ResponseRecorder {
		return s.do(post("/v1/continuations", body, "Content-Type", typeJSON))
	}
	w := ask(`{"chords": "C: I V", "from": ["E5", "G4", "C4", "C3"], "then": "I vi", "best": 1}`)
	var report report.Continuation
	if err := json.Unmarshal(w.Body.Bytes(), &report); err != nil || w.Code != http.StatusOK {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	// Hutchinson, fig. 26.7.2: G is kept, E and C step down.
	if got := report.Groups[0]; got.Way != "keep-common" || !slices.Equal(got.Options[0].Pitches, []string{"D5", "G4", "B3", "G3"}) {
		t.Errorf("first %s %v", got.Way, got.Options[0].Pitches)
	}
	for body, want := range map[string]string{
		`{"chords": "C: I V"`:                                                  "byte",
		`{"chords": "C: I V", "from": ["E5", "G4"]} {}`:                        "goes on",
		`{"from": ["E5", "G4", "C4", "C3"]}`:                                   "chords",
		`{"chords": "C: I V", "from": ["E5", "G4", "C4", "H3"]}`:               "/from/3",
		`{"chords": "C: I V", "from": ["E5", "G4", "C4", "C3"], "colour": 1}`:  "colour",
		`{"chords": "C: I V", "from": ["E5", "G4", "C4", "C3"], "best": 1e99}`: "/best",
		`{"chords": "C: I V", "from": ["E5", "G4", "C4", "C3"], "best": "3"}`:  "/best",
		`{"chords": "C: I V", "from": ["F5", "G4", "C4", "C3"]}`:               "are not the notes",
		`[]`: "",
	} {
		if p := s.problem(ask(body)); p.Type != invalidRequest.uri() || !strings.Contains(p.Detail, want) {
			t.Errorf("%s: %s (%s), want %q", body, p.Type, p.Detail, want)
		}
	}
	if p := s.problem(ask(`{"chords": "C: I IX", "from": ["E5", "G4", "C4", "C3"]}`)); p.Type != unreadableProgression.uri() {
		t.Errorf("no numeral: %s", p.Type)
	}
	if p := s.problem(s.do(post("/v1/continuations", "{}", "Content-Type", typeMusicXML))); p.Type != unsupportedMediaType.uri() {
		t.Errorf("a score: %s", p.Type)
	}
}

// A phrase is voiced change by change: ask, take an option, ask with it held. What is
// promised of the rest comes true, and everything held is voiced as it was held.
func TestPhraseIsChosenChangeByChange(t *testing.T) {
	s := engineService(t)
	ask := func(r *http.Request, into any) {
		t.Helper()
		if w := s.do(r); w.Code != http.StatusOK || json.Unmarshal(w.Body.Bytes(), into) != nil {
			t.Fatalf("%d %s", w.Code, w.Body)
		}
	}
	phrase, chosen := "3/4 a: i{A4,E4,C4,A3} V65*2 i iv6 V", [][]string{{"A4", "E4", "C4", "A3"}}
	for k := 2; k <= 5; k++ {
		var asked report.Continuation
		ask(post("/v1/continuations", `{"chords": "`+phrase+`", "best": 1, "language": "de"}`, "Content-Type", typeJSON), &asked)
		if asked.Chord != k || asked.Chords != 5 || !slices.Equal(asked.From.Pitches, chosen[k-2]) {
			t.Fatalf("%s: asked about chord %d of %d from %v", phrase, asked.Chord, asked.Chords, asked.From.Pitches)
		}
		last := asked.Groups[len(asked.Groups)-1]
		o := last.Options[0]
		if !slices.Contains([]string{"bleibt", "steigt", "fällt", "wendet sich aufwärts", "wendet sich abwärts"}, o.Line) {
			t.Errorf("the top line is said to be %q", o.Line)
		}
		phrase, chosen = o.Hold, append(chosen, o.Pitches)
		var voiced report.Voicing
		ask(postText("/v1/voicings", phrase, "Accept", typeJSON), &voiced)
		for i, c := range voiced.Alternatives[0].Chords {
			want := append([][]string{}, chosen...)
			for _, r := range o.Rest {
				want = append(want, r.Pitches)
			}
			if !slices.Equal(c.Pitches, want[i]) {
				t.Errorf("%s: chord %d is %v, want %v", phrase, i+1, c.Pitches, want[i])
			}
		}
		if got := voiced.Alternatives[0].Cost; got != o.Phrase || voiced.Broken != o.PhraseBroken {
			t.Errorf("%s costs %v and breaks %d rules, %v and %d were promised", phrase, got, voiced.Broken, o.Phrase, o.PhraseBroken)
		}
	}
	if want := "3/4 a: i{A4,E4,C4,A3} V65{"; !strings.HasPrefix(phrase, want) || !strings.Contains(phrase, "}*2 ") {
		t.Errorf("held, the phrase is %s", phrase)
	}
	for body, want := range map[string]string{
		`{"chords": "C: I{E5,G4,C4,C3} V", "from": ["E5", "G4", "C4", "C3"]}`: "given twice",
		`{"chords": "C: I{E5,G4,C4,C3}"}`:                                     "every chord",
		`{"chords": "C: soprano E5 D5"}`:                                      "melody leaves its chords open",
	} {
		if p := s.problem(s.do(post("/v1/continuations", body, "Content-Type", typeJSON))); !strings.Contains(p.Detail, want) {
			t.Errorf("%s: %s, want %q", body, p.Detail, want)
		}
	}
}

// A score in place of the text: as the body, or as a field of a form.
func TestVoicingOfAScore(t *testing.T) {
	s := engineService(t)
	score, err := os.ReadFile("../testdata/tasks/figured-bass.musicxml")
	if err != nil {
		t.Fatal(err)
	}
	file := field{"score", "bass.musicxml", string(score)}
	for what, r := range map[string]*http.Request{
		"a body": post("/v1/voicings?style=keyboard", string(score)),
		"a form": form(t, "/v1/voicings", file, field{"style", "", "keyboard"}, field{"gives", "", "bass"}),
	} {
		var report report.Voicing
		w := s.do(r)
		if err := json.Unmarshal(w.Body.Bytes(), &report); err != nil || report.Chords != 10 || report.Numerals[1] != "d: V6" {
			t.Errorf("%s: %d %.200s", what, w.Code, w.Body)
		}
	}
	both := form(t, "/v1/voicings", file, field{"progression", "", "C: I"})
	if p := s.problem(s.do(both)); p.Type != missingScore.uri() {
		t.Errorf("a score and a progression: %s", p.Type)
	}
	if p := s.problem(s.do(post("/v1/voicings?key=H", string(score)))); p.Type != invalidRequest.uri() {
		t.Errorf("no key: %s", p.Type)
	}
	if p := s.problem(s.do(post("/v1/voicings?given=soprano", "<score-partwise>"))); p.Type != invalidRequest.uri() {
		t.Errorf("a misspelled option: %s", p.Type)
	}
	if p := s.problem(s.do(post("/v1/voicings", "<score-partwise>"))); p.Type != unreadableScore.uri() {
		t.Errorf("half a score: %s", p.Type)
	}
}

// The further sheets that can be asked for are answered by themselves and among
// the parts of a mixed answer.
func TestSheetsOverHTTP(t *testing.T) {
	s := engineService(t)
	const progression = "C: I IV V7 I"
	w := s.do(postText("/v1/voicings?alternatives=2&compare=true", progression, "Accept", typeMusicXML))
	if !strings.Contains(w.Body.String(), "Ways to voice it") || !strings.Contains(w.Header().Get("Content-Disposition"), ".compared.musicxml") {
		t.Errorf("%s: %.300s", w.Header().Get("Content-Disposition"), w.Body)
	}
	w = s.do(postText("/v1/voicings?annotate=symbols&reasons=true", progression, "Accept", typeMusicXML))
	if body := w.Body.String(); !strings.Contains(body, "<root>") || strings.Contains(body, "<numeral>") || !strings.Contains(body, "leading tone") {
		t.Errorf("not symbols and reasons: %d %.200s", w.Code, body)
	}
	if w := s.do(postText("/v1/voicings?annotate=numbers", progression, "Accept", typeMusicXML)); w.Code != http.StatusBadRequest {
		t.Errorf("an unknown annotation: %d", w.Code)
	}
	types, _ := parts(t, s.do(postText("/v1/voicings?levels=3&compare=true", progression, "Accept", typeMixed)))
	if want := []string{typeJSON, typeMusicXML, typeMIDI, typeMusicXML, typeMusicXML, typeMusicXML, typeMusicXML}; !slices.Equal(types, want) {
		t.Errorf("parts %v, want %v", types, want)
	}
	w = s.do(postText("/v1/voicings?exercise=soprano", progression, "Accept", typeMusicXML))
	if got := strings.Count(w.Body.String(), "<pitch>"); got != 4 || !strings.Contains(w.Header().Get("Content-Disposition"), ".exercise.musicxml") {
		t.Errorf("an exercise of four notes: %d notes, %s", got, w.Header().Get("Content-Disposition"))
	}
	w = s.do(postText("/v1/voicings?reasons=true", progression, "Accept", typeMusicXML))
	if !strings.Contains(w.Body.String(), "lt up") {
		t.Errorf("no reasons: %.300s", w.Body)
	}
	form := form(t, "/v1/voicings", field{"progression", "", progression}, field{"exercise", "", "bass"}, field{"reasons", "", "true"})
	form.Header.Set("Accept", typeMixed)
	types, bodies := parts(t, s.do(form))
	if len(types) != 4 || bytes.Count(bodies[3], []byte("<pitch>")) != 4 {
		t.Errorf("parts %v, want an exercise of four notes at the end", types)
	}
	if p := s.problem(s.do(postText("/v1/voicings?exercise=true", progression))); p.Type != invalidRequest.uri() {
		t.Errorf("an exercise that shows nothing: %s", p.Type)
	}
	if p := s.problem(s.do(postText("/v1/voicings?levels=7", progression))); p.Type != invalidRequest.uri() {
		t.Errorf("seven levels: %s", p.Type)
	}
	w = s.do(post("/v1/mendings?both=true", string(demo(t, "hand-in.musicxml")), "Accept", typeMusicXML))
	if !strings.Contains(w.Body.String(), "As written") {
		t.Errorf("both versions: %.300s", w.Body)
	}
}
