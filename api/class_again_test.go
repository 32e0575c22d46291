package api

import (
	"net/http"
	"net/http/httptest"
	"slices"
	"strconv"
	"strings"
	"testing"

	"partwright/worker/classroom"
	"partwright/worker/classroom/classbook"
	"partwright/worker/classroom/classtest"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// handsInAs hands in what some of the class have written.
func (s *class) handsInAs(references ...string) {
	s.t.Helper()
	scores, err := classtest.HandIns(s.assignment)
	if err != nil {
		s.t.Fatal(err)
	}
	for _, reference := range references {
		if w := s.do(with(s.pupils, post(s.address+"/references/"+reference+"/hand-ins", string(scores[reference])))); w.Code != http.StatusCreated {
			s.t.Fatal(w.Body)
		}
	}
}

// sends sends a table as the teacher.
func (s *class) sends(method, address, table string) *httptest.ResponseRecorder {
	s.t.Helper()
	r := httptest.NewRequest(method, address, strings.NewReader(table))
	r.Header.Set("Content-Type", typeCSV)
	return s.do(with(s.teacher, r))
}

// marks are those that count, by reference.
func (s *class) marks() map[string]string {
	s.t.Helper()
	marks := map[string]string{}
	for _, o := range decode[OutcomeList](s.t.(*testing.T), s.teaches(http.MethodGet, s.address+"/marks", "")).Outcomes {
		marks[o.Reference] = "–"
		if o.Mark != nil {
			marks[o.Reference] = o.Mark.String()
		}
	}
	return marks
}

// Another rubric shows first what it would change, and nothing is kept of it; confirmed, it
// is done, unless something came in between. A mark that the teacher has set stays. The
// rubric and the class are those of testdata/script/class: one fault costs a point of 100
// there, so that 20 points come to 20 where 97 of 100 came to 19.5.
func TestMarkingAgain(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newClass(t, c)
		s.handsInAs("p04", "p05", "p27")
		for _, text := range []string{`{"do":"set-mark","reference":"p27","mark":12.5}`, `{"do":"release","reference":"p04"}`} {
			if w := s.teaches(http.MethodPost, s.address+"/decisions", text); w.Code != http.StatusCreated {
				t.Fatal(w.Body)
			}
		}
		again := func(confirm string, want int) classbook.MarkedAgain {
			t.Helper()
			w := s.teaches(http.MethodPost, s.address+"/markings", `{"own_rubric":`+strconv.Quote("name: milder\npoints: 100\nfaults: 1\n")+confirm+`}`)
			if w.Code != want {
				t.Fatalf("%s: %d %s, want %d", confirm, w.Code, w.Body, want)
			}
			if want != http.StatusOK {
				return classbook.MarkedAgain{}
			}
			return decode[classbook.MarkedAgain](t, w)
		}
		shown := again("", http.StatusOK)
		if shown.Applied || shown.Confirm == "" || len(shown.Changes) != 2 {
			t.Fatalf("shown: %+v", shown)
		}
		for i, want := range []struct {
			reference string
			released  bool
		}{{"p04", true}, {"p05", false}} {
			if r := shown.Changes[i]; r.Reference != want.reference || r.Released != want.released || r.Kept || r.From.String() != "19.5" || r.To.String() != "20" {
				t.Errorf("shown of %s: %+v", want.reference, r)
			}
		}
		before := map[string]string{"p04": "19.5", "p05": "19.5", "p27": "12.5"}
		if got := s.marks(); len(got) != 3 || got["p04"] != before["p04"] || got["p05"] != before["p05"] || got["p27"] != before["p27"] {
			t.Errorf("shown only, the marks are %v", got)
		}
		again(`,"confirm":"something else"`, http.StatusConflict)
		s.handsInAs("p06") // it would be changed too
		again(`,"confirm":"`+shown.Confirm+`"`, http.StatusConflict)
		if done := again(`,"confirm":"`+again("", http.StatusOK).Confirm+`"`, http.StatusOK); !done.Applied || len(done.Changes) != 3 || done.Confirm != "" {
			t.Errorf("done: %+v", done)
		}
		s.handsInAs("p07") // by the new rubric
		if got := s.marks(); got["p04"] != "20" || got["p05"] != "20" || got["p06"] != "20" || got["p07"] != "20" || got["p27"] != "12.5" {
			t.Errorf("done, the marks are %v", got)
		}
		if all := decode[SeenHandInList](t, s.do(with(s.pupils, get(s.address+"/references/p04/hand-ins")))).HandIns; all[0].Mark.String() != "20" {
			t.Errorf("a released mark is %s for its pupil", all[0].Mark)
		}
		if log := decode[DecisionList](t, s.teaches(http.MethodGet, s.address+"/decisions", "")).Decisions; log[len(log)-1].Do != classroom.MarkAgain || log[len(log)-1].Text != "rubric: own_rubric" || log[len(log)-1].By != s.keyID(s.teacher) {
			t.Errorf("the log ends with %+v", log[len(log)-1])
		}
		if shown := again("", http.StatusOK); len(shown.Changes) != 0 {
			t.Errorf("once more it would change %+v", shown.Changes)
		}
		for text, want := range map[string]int{
			`{}`:                            http.StatusBadRequest,
			`{"rubric":"none of ours"}`:     http.StatusBadRequest,
			`{"rules":"none of ours"}`:      http.StatusBadRequest,
			`{"own_rubric":"name: x\n"}`:    http.StatusUnprocessableEntity,
			`{"own_rules":"nonsense: x\n"}`: http.StatusUnprocessableEntity,
		} {
			if w := s.teaches(http.MethodPost, s.address+"/markings", text); w.Code != want {
				t.Errorf("%s: %d %s, want %d", text, w.Code, w.Body, want)
			}
		}
	})
}

// A roster says who is missing. Of its table the references are kept and nothing else, and
// what looks like a name is refused without being repeated.
func TestRoster(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newClass(t, c)
		s.handsInAs("p04")
		const secret = "a-name-that-is-not-kept"
		w := s.sends(http.MethodPut, s.address+"/roster", "sourcedId,status,role,givenName,email\np04,active,student,"+secret+",x\np31,active,student,"+secret+",x\nt01,active,teacher,"+secret+",x\np32,tobedeleted,student,"+secret+",x\n")
		if roster := decode[classroom.Roster](t, w); w.Code != http.StatusOK || !slices.Equal(roster.References, []string{"p04", "p31"}) || !slices.Equal(roster.PassedOver, []string{"email", "givenName"}) {
			t.Errorf("%d %s", w.Code, w.Body)
		}
		kept := func() (all []string) {
			t.Helper()
			return decode[classroom.Roster](t, s.teaches(http.MethodGet, s.address+"/roster", "")).References
		}
		missing := func() []string {
			t.Helper()
			return decode[classroom.Report](t, s.teaches(http.MethodGet, s.address+"/report", "")).NotHandedIn
		}
		if !slices.Equal(kept(), []string{"p04", "p31"}) || !slices.Equal(missing(), []string{"p31"}) {
			t.Errorf("kept %v, missing %v", kept(), missing())
		}
		for _, bad := range []string{"sourcedId\nAnybody Here\n", "sourcedId\nanybody@school.example\n"} {
			w := s.sends(http.MethodPut, s.address+"/roster", bad)
			if name := strings.Split(bad, "\n")[1]; w.Code != http.StatusBadRequest || strings.Contains(w.Body.String(), name) {
				t.Errorf("%q: %d %s", bad, w.Code, w.Body)
			}
		}
		if w := s.sends(http.MethodPut, s.address+"/roster", "name\nx\n"); w.Code != http.StatusBadRequest {
			t.Errorf("no column of references: %d", w.Code)
		}
		err := s.store.Read(t.Context(), func(tx store.Tx) error {
			all, err := store.Assignments(t.Context(), tx, s.organization)
			for i := range all {
				text, bad := all[i].Content.Unpack()
				if bad != nil || strings.Contains(string(text), secret) || !strings.Contains(string(text), "p31") {
					t.Errorf("kept is %s, %v", text, bad)
				}
			}
			return err
		})
		if err != nil || strings.Contains(s.log.String(), secret) {
			t.Errorf("%v; or the log holds a name", err)
		}

		r := with(s.teacher, get(s.address+"/roster"))
		r.Header.Set("Accept", typeCSV)
		table := s.do(r).Body.String()
		if !strings.Contains(table, ",p31,student,") {
			t.Errorf("as a table: %s", table)
		}
		// A table of enrollments has an id of its own in sourcedId.
		if w := s.sends(http.MethodPut, s.address+"/roster", table); w.Code != http.StatusOK || !slices.Equal(kept(), []string{"p04", "p31"}) {
			t.Errorf("the table sent back: %d, kept %v", w.Code, kept())
		}
		if w := s.teaches(http.MethodDelete, s.address+"/references/p31", ""); w.Code != http.StatusNoContent || !slices.Equal(kept(), []string{"p04"}) || len(missing()) != 0 {
			t.Errorf("forgotten: %d, kept %v", w.Code, kept())
		}
	})
}

// The teacher's own remarks are ready by a short name, go with a copy, and their pupil reads
// the text of the one that was chosen.
func TestStockOfRemarks(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newClass(t, c)
		s.handsInAs("p04")
		const far = "the tenor is out of reach here"
		if w := s.teaches(http.MethodPut, s.address+"/stock", `{"remarks":{"far":"`+far+`"}}`); w.Code != http.StatusOK {
			t.Fatal(w.Body)
		}
		decides := func(text string) int {
			return s.teaches(http.MethodPost, s.address+"/decisions", `{"do":"add","reference":"p04","measure":"2","beat":"3"`+text+`}`).Code
		}
		for text, want := range map[string]int{`,"stock":"none"`: http.StatusBadRequest, `,"stock":"far","text":"and this"`: http.StatusBadRequest, ``: http.StatusBadRequest, `,"stock":"far","points":0.5`: http.StatusCreated} {
			if got := decides(text); got != want {
				t.Errorf("%q: %d, want %d", text, got, want)
			}
		}
		if w := s.teaches(http.MethodPost, s.address+"/decisions", `{"do":"release"}`); w.Code != http.StatusCreated {
			t.Fatal(w.Body)
		}
		if all := decode[SeenHandInList](t, s.do(with(s.pupils, get(s.address+"/references/p04/hand-ins")))).HandIns; len(all[0].Added) != 1 || all[0].Added[0].Text != far {
			t.Errorf("the pupil reads %+v", all[0].Added)
		}
		if log := decode[DecisionList](t, s.teaches(http.MethodGet, s.address+"/decisions", "")).Decisions; len(log) != 2 || log[0].Text != far || log[0].Stock != "far" {
			t.Errorf("on record: %+v", log)
		}
		copied := decode[classroom.Assignment](t, s.teaches(http.MethodPost, s.address+"/copies", ""))
		made := decode[classroom.Assignment](t, s.teaches(http.MethodPost, "/v1/assignments", `{"title":"x","task":"C: I V I","stock":{"far":"`+far+`"}}`))
		if copied.Stock["far"] != far || made.Stock["far"] != far {
			t.Errorf("a copy has %v, a new one %v", copied.Stock, made.Stock)
		}
	})
}

// Over a term it is seen what a class has learned: all eight write parallel fifths in the
// first quiz (package classtest), and nobody in the second.
func TestTerm(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newClass(t, c)
		s.handsInAs("p04", "p05", "p06", "p07", "p08")
		first := s.assignment.ID
		second := decode[classroom.Assignment](t, s.teaches(http.MethodPost, s.address+"/copies", "")).ID
		s.address = "/v1/assignments/" + second
		s.handsInAs("p01", "p02", "p03")
		for _, address := range []string{"/v1/term", "/v1/term?assignments=" + first + "," + second} {
			w := s.teaches(http.MethodGet, address, "")
			series := decode[classroom.Series](t, w)
			if w.Code != http.StatusOK || len(series.Assignments) != 2 || series.Means[0] != 19.5/20 || series.Means[1] != 1 {
				t.Fatalf("%s: %d %s", address, w.Code, w.Body)
			}
			fifths := slices.IndexFunc(series.Rules, func(c classroom.Course) bool { return c.Rule == "parallel-fifths" })
			if fifths < 0 || !slices.Equal(series.Rules[fifths].Shares, []float64{1, 0}) || !series.Rules[fifths].Learned {
				t.Errorf("%s: %+v", address, series.Rules)
			}
		}
		in := &tenants{s.service, s.store}
		other, _ := in.organization(store.Quotas{})
		foreign := in.assignmentOf(other)
		for query, want := range map[string]int{foreign: http.StatusNotFound, first + "," + foreign: http.StatusNotFound, "nothing": http.StatusNotFound, "a%2Fb": http.StatusBadRequest, strings.Repeat("a,", mostInTerm) + "a": http.StatusBadRequest} {
			if w := s.teaches(http.MethodGet, "/v1/term?assignments="+query, ""); w.Code != want {
				t.Errorf("%s: %d, want %d", query, w.Code, want)
			}
		}
	})
}
