package api

import (
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"

	"partwright/worker/classroom"
	"partwright/worker/classroom/classtest"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// A hand-in that is sent again under its key is one attempt; the same key with other work is
// refused; what an organization may keep bounds what is handed in.
func TestHandingInCountsOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newClass(t, c)
		scores, err := classtest.HandIns(s.assignment)
		if err != nil {
			t.Fatal(err)
		}
		send := func(reference, name, key string) *httptest.ResponseRecorder {
			r := with(s.pupils, post(s.address+"/references/"+reference+"/hand-ins", string(scores[name])))
			if key != "" {
				r.Header.Set("Idempotency-Key", key)
			}
			return s.do(r)
		}
		for i, step := range []struct {
			name, key       string
			status, attempt int
		}{
			{"p04", `"one"`, http.StatusCreated, 1}, {"p04", `"one"`, http.StatusCreated, 1}, {"p09", `"one"`, http.StatusUnprocessableEntity, 0},
			{"p09", `"two"`, http.StatusCreated, 2}, {"p04", `"one"`, http.StatusCreated, 1}, {"p04", "", http.StatusCreated, 3},
		} {
			w := send("p04", step.name, step.key)
			if w.Code != step.status || step.attempt > 0 && decode[classroom.Seen](t, w).Attempt != step.attempt {
				t.Errorf("step %d: %d %s", i, w.Code, w.Body)
			}
		}
		err = s.store.Write(t.Context(), func(tx store.Tx) error {
			_, err := store.ChangeOrganization(t.Context(), tx, s.organization, func(o *store.Organization) error { o.Scores = 4; return nil })
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		if w := send("p05", "p05", ""); w.Code != http.StatusCreated {
			t.Errorf("within the quota: %d %s", w.Code, w.Body)
		}
		if w := send("p06", "p06", ""); s.problem(w).Code != "quota-reached" {
			t.Errorf("beyond the quota: %d %s", w.Code, w.Body)
		}
	})
}

// Marks come in as a table; a copy has none of the work; a link lets one pupil hand in.
func TestTablesCopiesAndLinks(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newClass(t, c)
		scores, err := classtest.HandIns(s.assignment)
		if err != nil {
			t.Fatal(err)
		}
		for _, reference := range []string{"p04", "p05"} {
			if w := s.do(with(s.pupils, post(s.address+"/references/"+reference+"/hand-ins", string(scores[reference])))); w.Code != http.StatusCreated {
				t.Fatal(w.Body)
			}
		}
		table := func(text string) *httptest.ResponseRecorder {
			r := httptest.NewRequest(http.MethodPost, s.address+"/marks", strings.NewReader(text))
			r.Header.Set("Content-Type", typeCSV)
			return s.do(with(s.teacher, r))
		}
		w := table("studentSourcedId,score,comment\np04,19.5,as proposed\np05,12,see me\np06,,\n")
		if w.Code != http.StatusOK || decode[MarksSet](t, w).Set != 1 {
			t.Errorf("a table of marks: %d %s", w.Code, w.Body)
		}
		for _, bad := range []string{"", "name,score\nx,1\n", "reference,score\np04,0.3\n", "reference,score\np99,3\n"} {
			if w := table(bad); w.Code != http.StatusBadRequest {
				t.Errorf("%q: %d %s", bad, w.Code, w.Body)
			}
		}
		r := with(s.teacher, get(s.address+"/report"))
		r.Header.Set("Accept", "text/csv")
		if w := s.do(r); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), ",p05,partially graded,,") {
			t.Errorf("the results: %d %s", w.Code, w.Body)
		}
		r = with(s.teacher, get(s.address+"/report"))
		r.Header.Set("Accept", "text/html")
		if w := s.do(r); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "<svg") || !strings.Contains(w.Header().Get("Content-Security-Policy"), "style-src") {
			t.Errorf("the page: %d", w.Code)
		}
		if w := s.teaches(http.MethodGet, s.address+"/marked.zip", ""); w.Code != http.StatusOK || !strings.HasPrefix(w.Body.String(), "PK") {
			t.Errorf("the archive: %d", w.Code)
		}
		if marks := decode[OutcomeList](t, s.teaches(http.MethodGet, s.address+"/marks", "")).Outcomes; len(marks) != 2 || marks[1].Mark.String() != "12" || marks[1].Proposed.String() != "19.5" {
			t.Errorf("the marks: %+v", marks)
		}
		w = s.teaches(http.MethodPost, s.address+"/copies", "")
		if copied := decode[classroom.Assignment](t, w); w.Code != http.StatusCreated || copied.ID == s.assignment.ID || copied.Title != s.assignment.Title {
			t.Errorf("a copy: %d %s", w.Code, w.Body)
		}
		if marks := decode[OutcomeList](t, s.teaches(http.MethodGet, w.Header().Get("Location")+"/marks", "")).Outcomes; len(marks) != 0 {
			t.Errorf("the copy has %+v", marks)
		}
		w = s.teaches(http.MethodPost, s.address+"/copies", `{"title":"Second quiz, evening class","closes":"2027-11-20T16:00:00Z","groups":{"g1":["p01","p02"]}}`)
		if next := decode[classroom.Assignment](t, w); w.Code != http.StatusCreated || next.Title != "Second quiz, evening class" || next.Closes.Year() != 2027 || !next.Opens.IsZero() || len(next.Groups["g1"]) != 2 || next.Points != s.assignment.Points {
			t.Errorf("a copy with times of its own: %d %s", w.Code, w.Body)
		}
		if models := decode[ModelList](t, s.teaches(http.MethodGet, w.Header().Get("Location")+"/models", "")).Models; len(models) != len(s.assignment.Models) || models[0].Score != s.assignment.Models[0].Text {
			t.Errorf("the copy has %d model answers", len(models))
		}
		for _, bad := range []string{`{"title":""}`, `{"opens":"2027-11-20T16:00:00Z","closes":"2027-11-20T15:00:00Z"}`, `{"points":3}`} {
			if w := s.teaches(http.MethodPost, s.address+"/copies", bad); w.Code != http.StatusBadRequest {
				t.Errorf("%s: %d", bad, w.Code)
			}
		}

		w = s.teaches(http.MethodPost, s.address+"/references/p05/links", "")
		link := decode[HandInLink](t, w)
		b := s.browser(schoolHost, "https://"+schoolHost)
		if w := b.signIn("link", link.Link); w.Code != http.StatusOK || decode[Session](t, w).SignedIn.Subject != "p05" {
			t.Fatalf("a pupil signs in: %d %s", w.Code, w.Body)
		}
		if w := b.send(post(s.address+"/references/p05/hand-ins", string(scores["p09"]))); w.Code != http.StatusCreated {
			t.Errorf("a pupil hands in: %d %s", w.Code, w.Body)
		}
		if w := b.send(get(s.address + "/references/p04/hand-ins")); w.Code != http.StatusNotFound {
			t.Errorf("a pupil sees another's: %d", w.Code)
		}
		if w := s.browser(schoolHost, "https://"+schoolHost).signIn("link", link.Link); w.Code != http.StatusUnauthorized {
			t.Errorf("the link once more: %d", w.Code)
		}
	})
}

// Exercises that are scores: what the exercise of another gives is a task of its own.
func TestAssignmentFromAScore(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newClass(t, c)
		w := s.teaches(http.MethodPost, "/v1/assignments", `{"title":"A given bass","score":`+strconv.Quote(s.assignment.Exercise.Text)+`,"gives":"bass","groups":{"g1":["p01","p02"]}}`)
		if a := decode[classroom.Assignment](t, w); w.Code != http.StatusCreated || len(a.Groups["g1"]) != 2 || a.Task != "" {
			t.Errorf("%d %.400s", w.Code, w.Body)
		}
		if w := s.teaches(http.MethodPost, "/v1/assignments", `{"title":"x","task":"C: I V I","score":"x"}`); w.Code != http.StatusBadRequest {
			t.Errorf("both: %d", w.Code)
		}
		if w := s.teaches(http.MethodPost, "/v1/assignments", `{"title":"x","score":"no score"}`); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("no score: %d %s", w.Code, w.Body)
		}
	})
}
