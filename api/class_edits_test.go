package api

import (
	"encoding/json"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"partwright/worker/account"
	"partwright/worker/classroom"
	"partwright/worker/classroom/classtest"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// A pupil changes a note of an attempt and hands in what comes of it: p12 has C4 in the
// tenor in the sixth chord where D4 makes ii6 of IV (classtest.Solution), and nothing of what
// the rules find is told on the way.
func TestPupilChangesNotesOfAnAttempt(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newClass(t, c)
		scores, err := classtest.HandIns(s.assignment)
		if err != nil {
			t.Fatal(err)
		}
		session, err := s.server.handlers.config.Accounts.Begin(t.Context(), account.NewSession{
			Organization: s.organization, Role: account.Pupil, Subject: "p12", Scopes: []account.Scope{account.HandIns},
		})
		if err != nil {
			t.Fatal(err)
		}
		pupil := s.browser(schoolHost, "https://"+schoolHost)
		pupil.cookies, pupil.token = []*http.Cookie{sessionCookie(session.Text, true)}, tokenOf(session.Text)
		own := s.address + "/references/p12/hand-ins"
		for _, name := range []string{"p12", "p24"} {
			if w := pupil.send(post(own, string(scores[name]))); w.Code != http.StatusCreated {
				t.Fatalf("%d %s", w.Code, w.Body)
			}
		}
		if w := s.do(with(s.pupils, post(s.address+"/references/p13/hand-ins", string(scores["p13"])))); w.Code != http.StatusCreated {
			t.Fatal(w.Body)
		}
		revise := func(address, text, accept string) *httptest.ResponseRecorder {
			r := body(http.MethodPost, address+"/revisions", text)
			r.Header.Set("Accept", accept)
			return pupil.send(r)
		}
		said, document := revisionIn(t, revise(own+"/1", `{"edits":[]}`, "*/*"))
		tenor := slices.IndexFunc(said.Notes, func(v voiceOf) bool { return v.Voice == "T" })
		note := said.Notes[tenor].Notes[5]
		if note.Pitch != "C4" || len(note.IDs) != 1 || !strings.Contains(document, `id="`+note.IDs[0]+`"`) || said.Read.Measures != 4 {
			t.Fatalf("the sixth note of the tenor is %+v, of %+v", note, said.Read)
		}
		edits := `{"edits":[{"note":"` + note.IDs[0] + `","pitch":"D4"}]}`
		if said, document := revisionIn(t, revise(own+"/1", edits, typeMixed)); said.Notes[tenor].Notes[5].Pitch != "D4" || strings.Contains(document, "finding") {
			t.Errorf("changed: %+v", said.Notes[tenor].Notes[5])
		}
		w := revise(own+"/1", edits, typeMusicXML)
		if w.Code != http.StatusOK || strings.Contains(w.Body.String(), note.IDs[0]) {
			t.Fatalf("to hand in: %d", w.Code)
		}
		if w := pupil.send(post(own, w.Body.String())); w.Code != http.StatusCreated || decode[classroom.Seen](t, w).State != classroom.Whole {
			t.Fatalf("handed in: %d %s", w.Code, w.Body)
		}
		marks := map[int]string{}
		for _, o := range decode[classroom.Report](t, s.teaches(http.MethodGet, s.address+"/report", "")).HandIns {
			if o.Proposed != nil {
				marks[o.Attempt] = o.Proposed.String()
			}
		}
		// A demand that is not met costs 3 of 20, and nothing else is wrong with p12.
		if marks[1] == "20" || marks[3] != "20" {
			t.Errorf("the marks are %v", marks)
		}
		for _, step := range []struct {
			address, text, accept string
			status                int
		}{
			{own + "/1", `{"edits":[{"note":"nothing","pitch":"D4"}]}`, typeMixed, http.StatusBadRequest},
			{own + "/1", `{"edits":[{"note":"` + note.IDs[0] + `","pitch":"H4"}]}`, typeMixed, http.StatusBadRequest},
			{own + "/1", `{}`, typeMixed, http.StatusBadRequest},
			{own + "/1", `{"edits":[]}`, typeMIDI, http.StatusNotAcceptable},
			{own + "/9", `{"edits":[]}`, typeMixed, http.StatusNotFound},
			{s.address + "/references/p13/hand-ins/1", `{"edits":[]}`, typeMixed, http.StatusNotFound},
		} {
			if w := revise(step.address, step.text, step.accept); w.Code != step.status {
				t.Errorf("%s %s: %d %s", step.address, step.text, w.Code, w.Body)
			}
		}
		if w := pupil.send(get(s.address + "/models")); w.Code != http.StatusForbidden {
			t.Errorf("a pupil asks for the model answers: %d", w.Code)
		}
	})
}

type voiceOf struct {
	Voice string
	Notes []struct {
		Pitch string
		IDs   []string
	}
}

type revisionOf struct {
	Read  struct{ Measures int } `json:"score"`
	Notes []voiceOf              `json:"voice_notes"`
}

// revisionIn reads an answer in parts.
func revisionIn(t *testing.T, w *httptest.ResponseRecorder) (said revisionOf, document string) {
	t.Helper()
	_, parameters, err := mime.ParseMediaType(w.Header().Get("Content-Type"))
	if err != nil || w.Code != http.StatusOK {
		t.Fatalf("%d %v %s", w.Code, err, w.Body)
	}
	parts := multipart.NewReader(w.Body, parameters["boundary"])
	for i := range 2 {
		part, err := parts.NextPart()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(part)
		if err != nil {
			t.Fatal(err)
		}
		if document = string(text); i == 0 && json.Unmarshal(text, &said) != nil {
			t.Fatalf("%s", text)
		}
		if i == 0 && strings.Contains(document, "finding") {
			t.Errorf("it tells of findings: %s", text)
		}
	}
	return said, document
}
