package api

import (
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"partwright/worker/account"
	"partwright/worker/classroom"
	"partwright/worker/classroom/classbook"
	"partwright/worker/classroom/classtest"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// class is an assignment over HTTP with the keys of those who teach and of those who
// hand in.
type class struct {
	*tenants
	organization, teacher, pupils, address string
	assignment                             *classroom.Assignment
}

func newClass(t *testing.T, c store.Config) *class {
	s := &class{tenants: newTenants(t, c, Config{Key: KeyLimits{Burst: 1 << 20, Rate: 1 << 20}})}
	s.organization, s.teacher = s.tenants.organization(store.Quotas{}, account.Classes)
	var err error
	if s.pupils, _, err = account.CreateKey(t.Context(), s.store, account.NewKey{Organization: s.organization, Scopes: []account.Scope{account.HandIns}}); err != nil {
		t.Fatal(err)
	}
	w := s.teaches(http.MethodPost, "/v1/assignments", `{"title":"Second quiz","task":"`+classtest.Row+`","gives":"bass","models":3,
		"demands":["chords","inversions","cadence"],"points":20,"unmet":3,"shows":"never"}`)
	if w.Code != http.StatusCreated {
		t.Fatalf("%d: %s", w.Code, w.Body)
	}
	s.address = w.Header().Get("Location")
	if s.assignment, err = s.server.handlers.config.Classes.Get(t.Context(), s.organization, decode[classroom.Assignment](t, w).ID); err != nil {
		t.Fatal(err)
	}
	return s
}

func (s *class) teaches(method, address, text string) *httptest.ResponseRecorder {
	s.t.Helper()
	if text == "" {
		return s.do(with(s.teacher, httptest.NewRequest(method, address, nil)))
	}
	return s.do(with(s.teacher, body(method, address, text)))
}

// A class over HTTP: the sheet, hand-ins, decisions, a release, the report, one pupil
// forgotten. The figures are those of the same class in a folder (testdata/script/class).
func TestClass(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newClass(t, c)
		if w := s.do(with(s.pupils, get(s.address+"/exercise"))); w.Code != http.StatusOK || w.Body.String() != s.assignment.Exercise.Text {
			t.Errorf("the sheet: %d, %d bytes", w.Code, w.Body.Len())
		}
		scores, err := classtest.HandIns(s.assignment)
		if err != nil {
			t.Fatal(err)
		}
		handsIn := func(reference, name string) classroom.Seen {
			t.Helper()
			w := s.do(with(s.pupils, post(s.address+"/references/"+reference+"/hand-ins", string(scores[name]))))
			if w.Code != http.StatusCreated {
				t.Fatalf("%s: %d %s", name, w.Code, w.Body)
			}
			return decode[classroom.Seen](t, w)
		}
		for _, name := range []string{"p04", "p09", "p20", "p24"} {
			seen := handsIn(name, name)
			if seen.Mark != nil || seen.Counts != nil || seen.Findings || seen.Note == "" || (seen.Say != "") != (name == "p24") {
				t.Errorf("%s sees %+v", name, seen)
			}
		}
		if again := handsIn("p20", "p09"); again.Attempt != 2 {
			t.Errorf("attempt %d", again.Attempt)
		}
		decide := func(text string) *httptest.ResponseRecorder {
			t.Helper()
			return s.teaches(http.MethodPost, s.address+"/decisions", text)
		}
		w := decide(`{"do":"waive","reference":"p04","number":3,"text":"the exercise wants it so"}`)
		if out := decode[OutcomeList](t, w).Outcomes; w.Code != http.StatusCreated || out[0].Mark.String() != "20" || out[0].Proposed.String() != "19.5" {
			t.Errorf("waived: %d %+v", w.Code, out)
		}
		for text, status := range map[string]int{
			`{"do":"set-mark","reference":"p24","mark":4.5,"text":"tried hard"}`: http.StatusCreated,
			`{"do":"set-mark","reference":"p99","mark":4.5}`:                     http.StatusBadRequest,
			`{"do":"set-mark","reference":"p24","mark":0.3}`:                     http.StatusBadRequest,
			`{"do":"forget","reference":"p24"}`:                                  http.StatusBadRequest,
			`{"do":"waive","reference":"p04","number":99}`:                       http.StatusBadRequest,
		} {
			if w := decide(text); w.Code != status {
				t.Errorf("%s: %d", text, w.Code)
			}
		}
		if w := decide(`{"do":"release"}`); w.Code != http.StatusCreated {
			t.Errorf("release: %d", w.Code)
		}
		w = s.do(with(s.pupils, get(s.address+"/references/p24/hand-ins")))
		if seen := decode[SeenHandInList](t, w).HandIns; len(seen) != 1 || seen[0].Mark == nil || seen[0].Mark.String() != "4.5" {
			t.Errorf("released: %+v", seen)
		}
		report := decode[classroom.Report](t, s.teaches(http.MethodGet, s.address+"/report", ""))
		// 20 for p04, 19 for p09 and for the second attempt of p20, 4.5 for p24.
		if report.HandedIn != 4 || report.Marks.Count != 4 || report.Marks.Mean != (20+19+19+4.5)/4 || len(report.HandIns) != 5 {
			t.Errorf("the class: %+v", report.Marks)
		}
		log := decode[DecisionList](t, s.teaches(http.MethodGet, s.address+"/decisions", "")).Decisions
		if len(log) != 3 || log[1].Proposed != nil || log[1].Mark.String() != "4.5" || log[1].By != s.keyID(s.teacher) || time.Since(log[1].At) > time.Hour {
			t.Errorf("the log: %+v", log)
		}
		if w := s.teaches(http.MethodDelete, s.address+"/references/p24", ""); w.Code != http.StatusNoContent {
			t.Errorf("forgetting: %d", w.Code)
		}
		for _, address := range []string{"/report", "/decisions"} {
			if w := s.teaches(http.MethodGet, s.address+address, ""); strings.Contains(w.Body.String(), "p24") {
				t.Errorf("%s names who was forgotten", address)
			}
		}
	})
}

// What cannot be solved is refused with the reason, and what is written wrongly with the
// field.
func TestAssignmentsThatAreRefused(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newClass(t, c)
		for text, want := range map[string]int{
			`{"title":"x","task":"C: I{C7,C7,C7,C3} V I"}`:              http.StatusUnprocessableEntity,
			`{"title":"x","task":"no row"}`:                             http.StatusUnprocessableEntity,
			`{"title":"x"}`:                                             http.StatusBadRequest,
			`{"title":"x","task":"C: I V I","late":{"policy":"costs"}}`: http.StatusBadRequest,
			`{"title":"x","task":"C: I V I","rubric":"none of ours"}`:   http.StatusBadRequest,
			`{"title":"x","task":"C: I V I","opens":"2026-11-20T16:00:00Z","closes":"2026-11-20T15:00:00Z"}`: http.StatusBadRequest,
			`{"title":"x","task":"C: I V I","own_rubric":"name: x\n"}`:                                       http.StatusUnprocessableEntity,
		} {
			if w := s.teaches(http.MethodPost, "/v1/assignments", text); w.Code != want {
				t.Errorf("%s: %d %s, want %d", text, w.Code, w.Body, want)
			}
		}
	})
}

// A pupil sees and hands in under their own reference; that of another is answered as an
// assignment that is not there. A pupil decides nothing.
func TestPupilsSeeTheirOwn(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newClass(t, c)
		session, err := s.server.handlers.config.Accounts.Begin(t.Context(), account.NewSession{
			Organization: s.organization, Role: account.Pupil, Subject: "p04", Scopes: []account.Scope{account.HandIns},
		})
		if err != nil {
			t.Fatal(err)
		}
		scores, err := classtest.HandIns(s.assignment)
		if err != nil {
			t.Fatal(err)
		}
		for _, reference := range []string{"p04", "p05"} {
			if w := s.do(with(s.pupils, post(s.address+"/references/"+reference+"/hand-ins", string(scores[reference])))); w.Code != http.StatusCreated {
				t.Fatalf("%d %s", w.Code, w.Body)
			}
		}
		pupil := s.browser(schoolHost, "https://"+schoolHost)
		pupil.cookies, pupil.token = []*http.Cookie{sessionCookie(session.Text, true)}, tokenOf(session.Text)
		marked := s.address + "/references/p04/hand-ins/1/marked"
		if w := pupil.send(get(marked)); w.Code != http.StatusForbidden || s.problem(w).Code != "findings-not-shown" {
			t.Errorf("the marked score before the release: %d %s", w.Code, w.Body)
		}
		if w := s.do(with(s.teacher, get(marked))); w.Code != http.StatusForbidden {
			t.Errorf("a key that may not hand in: %d", w.Code)
		}
		const remark = "the alto sings too low here"
		if w := s.teaches(http.MethodPost, s.address+"/decisions", `{"do":"add","reference":"p04","measure":"2","beat":"3","text":"`+remark+`","points":1.5}`); w.Code != http.StatusCreated {
			t.Fatal(w.Body)
		}
		own := s.address + "/references/p04/hand-ins"
		for _, address := range []string{own, own + "/1"} {
			if w := pupil.send(get(address)); w.Code != http.StatusOK || strings.Contains(w.Body.String(), remark) {
				t.Errorf("a remark before the release: %d %s", w.Code, w.Body)
			}
		}
		if w := s.teaches(http.MethodPost, s.address+"/decisions", `{"do":"release"}`); w.Code != http.StatusCreated {
			t.Fatal(w.Body)
		}
		said := []classroom.Added{{Measure: "2", Beat: "3", Text: remark, Points: 3}} // half points
		if all := decode[SeenHandInList](t, pupil.send(get(own))).HandIns; len(all) != 1 || !slices.Equal(all[0].Added, said) {
			t.Errorf("a remark after the release: %+v", all)
		}
		if w := pupil.send(get(own + "/1")); !slices.Equal(decode[classbook.Work](t, w).Added, said) || strings.Contains(w.Body.String(), s.keyID(s.teacher)) {
			t.Errorf("a remark in the attempt after the release: %s", w.Body)
		}
		if w := s.do(with(s.pupils, get(s.address+"/references/p05/hand-ins"))); strings.Contains(w.Body.String(), remark) {
			t.Error("another reads the remark")
		}
		if w := pupil.send(get(marked)); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "<score-partwise") || strings.Count(w.Body.String(), ">Teacher: "+remark+" (−1.5)</words>") != 1 {
			t.Errorf("the marked score after the release: %d", w.Code)
		}
		ids := map[string]string{
			"assignment": s.assignment.ID, "webhook": "A", "delivery": "A", "batch": "A", "number": "1", "attempt": "1", "teacher": "x", "table": "findings",
		}
		for _, o := range operationsOf(t) {
			mayDo := slices.Contains(o.need.scopes, string(account.HandIns))
			for reference, allowed := range map[string]bool{"p04": true, "p05": !slices.Contains(o.ids(), "reference")} {
				if o.need.open {
					continue
				}
				ids["reference"] = reference
				w := pupil.send(o.request(t, ids))
				switch {
				case !mayDo && w.Code != http.StatusForbidden:
					t.Errorf("%s %s: a pupil gets %d", o.method, o.path, w.Code)
				case mayDo && allowed && w.Code >= http.StatusBadRequest:
					t.Errorf("%s %s of one's own: %d", o.method, o.path, w.Code)
				case mayDo && !allowed && w.Code != http.StatusNotFound:
					t.Errorf("%s %s of another: %d", o.method, o.path, w.Code)
				}
			}
		}
	})
}

// Before handing in a pupil is told what is asked, until when, how often and what will be
// shown, by a key of the pupils as by a link; and nothing that another handed in, that a
// model answers or that a rubric counts.
func TestPupilIsToldTheTask(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newClass(t, c)
		opens, closes := time.Now().Add(-time.Hour).UTC().Truncate(time.Second), time.Now().Add(time.Hour).UTC().Truncate(time.Second)
		w := s.teaches(http.MethodPost, "/v1/assignments", `{"title":"A given bass","task":"`+classtest.Row+`","gives":"bass","demands":["chords"],"points":20,"unmet":3,
			"attempts":2,"shows":"after-closing","rubric":"hundred","opens":"`+opens.Format(time.RFC3339)+`","closes":"`+closes.Format(time.RFC3339)+`"}`)
		if w.Code != http.StatusCreated {
			t.Fatalf("%d: %s", w.Code, w.Body)
		}
		address := w.Header().Get("Location")
		task := func(w *httptest.ResponseRecorder) classroom.Task {
			t.Helper()
			for _, secret := range []string{"hundred", "rubric", "unmet", "models", classtest.Row, "p05"} {
				if w.Code != http.StatusOK || strings.Contains(w.Body.String(), secret) {
					t.Errorf("%d; a pupil is told of %q: %s", w.Code, secret, w.Body)
				}
			}
			return decode[classroom.Task](t, w)
		}
		asked := task(s.do(with(s.pupils, get(address+"/references/p04"))))
		if asked.Title != "A given bass" || !asked.Sheet || asked.Points.String() != "20" || !slices.Equal(asked.Demands, []classroom.Demand{classroom.Chords}) ||
			!asked.Opens.Equal(opens) || !asked.Closes.Equal(closes) || asked.Takes != classroom.InTime || asked.Shows != classroom.AfterClosing || !asked.From.Equal(closes) ||
			asked.Attempts != 2 || asked.Used != 0 || *asked.Left != 2 || asked.Note == "" {
			t.Errorf("before handing in: %+v", asked)
		}
		for _, reference := range []string{"p04", "p05", "p04"} {
			if w := s.do(with(s.pupils, post(address+"/references/"+reference+"/hand-ins", wholeNote))); w.Code != http.StatusCreated {
				t.Fatal(w.Body)
			}
		}
		longer := closes.Add(time.Hour)
		if w := s.teaches(http.MethodPost, address+"/decisions", `{"do":"extend","reference":"p04","until":"`+longer.Format(time.RFC3339)+`"}`); w.Code != http.StatusCreated {
			t.Fatal(w.Body)
		}
		link := decode[HandInLink](t, s.teaches(http.MethodPost, address+"/references/p04/links", "")).Link
		pupil := s.browser(schoolHost, "https://"+schoolHost)
		if w := pupil.signIn("link", link); w.Code != http.StatusOK {
			t.Fatal(w.Body)
		}
		mine := task(pupil.send(get(address + "/references/p04")))
		if mine.Used != 2 || *mine.Left != 0 || mine.Takes != classroom.NoMoreLeft || !mine.Closes.Equal(longer) || !mine.From.Equal(closes) {
			t.Errorf("after two attempts, by a link: %+v", mine)
		}
		if w := pupil.send(get(address + "/references/p05")); w.Code != http.StatusNotFound {
			t.Errorf("that of another: %d", w.Code)
		}
		if w := s.teaches(http.MethodGet, address+"/references/p04", ""); w.Code != http.StatusForbidden {
			t.Errorf("a key without hand-ins: %d", w.Code)
		}
		theirs := task(s.do(with(s.pupils, get(address+"/references/p06"))))
		if theirs.Used != 0 || *theirs.Left != 2 || !theirs.Closes.Equal(closes) {
			t.Errorf("of one who was given no more time: %+v", theirs)
		}
	})
}
