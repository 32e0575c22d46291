package api

import (
	"bytes"
	"encoding/json"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"strings"
	"testing"

	"partwright/worker/pool"
	"partwright/worker/report"
)

// revision posts a score with edits and returns the report and the changed score.
func (s *service) revision(t *testing.T, score []byte, fields map[string]string) (*report.Report, string) {
	t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	part, err := w.CreateFormFile("score", "worksheet.musicxml")
	if err != nil {
		t.Fatal(err)
	}
	_, _ = part.Write(score)
	for name, value := range fields {
		if err := w.WriteField(name, value); err != nil {
			t.Fatal(err)
		}
	}
	_ = w.Close()
	r := post("/v1/revisions", body.String(), "Accept", typeMixed)
	r.Header.Set("Content-Type", w.FormDataContentType())
	answered := s.do(r)
	if answered.Code != http.StatusOK {
		t.Fatalf("%d %s", answered.Code, answered.Body)
	}
	_, params, _ := mime.ParseMediaType(answered.Header().Get("Content-Type"))
	parts := multipart.NewReader(answered.Body, params["boundary"])
	var texts []string
	for {
		part, err := parts.NextPart()
		if err == io.EOF { //nolint:errorlint // a wrapped one would be an error
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(part)
		if err != nil {
			t.Fatal(err)
		}
		texts = append(texts, string(text))
	}
	var said report.Report
	if err := json.Unmarshal([]byte(texts[0]), &said); err != nil || len(texts) != 2 {
		t.Fatalf("%d parts, %v", len(texts), err)
	}
	var value any
	_ = json.Unmarshal([]byte(texts[0]), &value)
	if err := compileReportSchema(t, s.server.handlers.contract.reportSchema).Validate(value); err != nil {
		t.Errorf("the report is not as the schema has it: %v", err)
	}
	return &said, texts[1]
}

// A way to mend that a check proposes, sent back as an edit, takes the finding out; the
// first edit made back gives the score that came in, byte for byte.
func TestRevisionMakesAFixAndTakesItBack(t *testing.T) {
	s := newService(t, enginePool(t, nil, pool.Config{}), Config{})
	score := demo(t, "worksheet.musicxml")
	before, identified := s.revision(t, score, map[string]string{"ids": "true", "notes": "true", "fixes": "1"})
	at := -1
	for i, f := range before.Findings {
		if f.Rule == "parallel-fifths" && len(f.Fixes) > 0 {
			at = i
			break
		}
	}
	if at < 0 {
		t.Fatal("no parallel fifths with a way to mend them")
	}
	for _, n := range before.Findings[at].Notes {
		if n.ID == "" || n.MeasureID == "" || !strings.Contains(identified, `id="`+n.ID+`"`) || !strings.Contains(identified, `id="`+n.MeasureID+`"`) {
			t.Errorf("note %q of measure %q is not in the document", n.ID, n.MeasureID)
		}
	}
	var edits, back []map[string]string
	for _, e := range before.Findings[at].Fixes[0].Edits {
		edits = append(edits, map[string]string{"note": e.Note.ID, "pitch": e.To})
		back = append(back, map[string]string{"note": e.Note.ID, "pitch": e.Note.Pitch})
	}
	text, _ := json.Marshal(edits)
	after, changed := s.revision(t, []byte(identified), map[string]string{"edits": string(text), "ids": "true", "notes": "true"})
	for _, f := range after.Findings {
		if f.Rule == "parallel-fifths" && f.Onset == before.Findings[at].Onset {
			t.Errorf("after the edit there is still: %s", f.Message)
		}
	}
	if sounds(after)[edits[0]["note"]] != edits[0]["pitch"] {
		t.Errorf("note %s sounds %s, want %s", edits[0]["note"], sounds(after)[edits[0]["note"]], edits[0]["pitch"])
	}
	text, _ = json.Marshal(back)
	if _, again := s.revision(t, []byte(changed), map[string]string{"edits": string(text)}); again != string(score) {
		t.Error("the edit taken back is not the score that came in")
	}
}

// sounds is the pitch of every written note by its id.
func sounds(r *report.Report) map[string]string {
	all := map[string]string{}
	for _, v := range r.VoiceNotes {
		for _, n := range v.Notes {
			for _, id := range n.IDs {
				all[id] = n.Pitch
			}
		}
	}
	return all
}

func TestRevisionRefuses(t *testing.T) {
	s := newService(t, enginePool(t, nil, pool.Config{}), Config{})
	for name, test := range map[string]struct {
		edits, says string
		status      int
	}{
		"a note that is not there": {`[{"note":"pw-n9-9-9","pitch":"C4"}]`, "No note of the score has the id", http.StatusBadRequest},
		"no pitch":                 {`[{"note":"pw-n1-1-1","pitch":"H4"}]`, "edit 1", http.StatusBadRequest},
		"no list":                  {`{"note":"x"}`, "not a list of edits", http.StatusBadRequest},
		"a word too many":          {`[{"note":"x","pitch":"C4","tie":1}]`, "not a list of edits", http.StatusBadRequest},
		"two lists":                {`[] []`, "goes on", http.StatusBadRequest},
	} {
		t.Run(name, func(t *testing.T) {
			s.t = t
			var body bytes.Buffer
			w := multipart.NewWriter(&body)
			_ = w.WriteField("edits", test.edits)
			part, _ := w.CreateFormFile("score", "worksheet.musicxml")
			_, _ = part.Write(demo(t, "worksheet.musicxml"))
			_ = w.Close()
			r := post("/v1/revisions", body.String())
			r.Header.Set("Content-Type", w.FormDataContentType())
			if got := s.do(r); got.Code != test.status || !strings.Contains(got.Body.String(), test.says) {
				t.Errorf("%d %s", got.Code, got.Body)
			}
		})
	}
}
