package main

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// What a class has handed in goes when its time is over: the scores, what came of them, the
// log, links, and what ties pupils to a learning system. Nothing in the database names them
// then. What another organization keeps stays.
func TestHandInsGoWhenTheirTimeIsOver(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds")
	}
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newSchoolService(t, c)
		s.serve()
		stays := s.run("organizations", "create", "Another school")
		theirs := s.run("keys", "create", "--scopes", "classes,hand-ins", stays)
		keeps := func(key, reference string) string {
			var set struct{ ID string }
			s.ask(key, http.MethodPost, "/v1/assignments", `{"title":"Quiz","task":"C: I V I","gives":"bass"}`, http.StatusCreated, &set)
			address := "/v1/assignments/" + set.ID
			_, sheet, err := s.try(key, http.MethodGet, address+"/exercise", "", nil)
			if err != nil {
				t.Fatal(err)
			}
			s.handsIn(key, address, reference, sheet)
			s.ask(key, http.MethodPost, address+"/decisions", `{"do":"set-mark","reference":"`+reference+`","mark":7}`, http.StatusCreated, nil)
			s.ask(key, http.MethodPost, address+"/references/"+reference+"/links", "", http.StatusCreated, nil)
			return address
		}
		ours := keeps(s.key, "code-4711")
		pupil, told := s.launch("subject-4712", "Learner", strings.TrimPrefix(ours, "/v1/assignments/"))
		_, sheet, _ := s.try(pupil, http.MethodGet, ours+"/exercise", "", nil)
		s.handsIn(pupil, ours, told.Reference, sheet)
		others := keeps(theirs, "code-4713")
		s.run("organizations", "change", "--retention", "1s", s.organization)
		s.kill()
		time.Sleep(1100 * time.Millisecond)
		s.serve() // it looks at once
		for until := time.Now().Add(time.Minute); ; time.Sleep(20 * time.Millisecond) {
			if code, _, err := s.try(s.key, http.MethodGet, ours, "", nil); err == nil && code == http.StatusNotFound {
				break
			}
			if time.Now().After(until) {
				t.Fatal("the assignment stays")
			}
		}
		s.ask(theirs, http.MethodGet, others, "", http.StatusOK, nil)
		s.kill()

		data := storetest.Open(t, c)
		for table, column := range map[string]string{
			"hand_ins": "reference", "class_entries": "reference || content", "lti_pupils": "pupil || reference", "lti_links": "assignment_id", "lti_scores": "pupil",
			"assignments": "organization_id", "assignment_teachers": "assignment_id", "sessions": "assignment || subject", "idempotency_keys": "organization_id",
		} {
			rows := 0
			err := data.Read(t.Context(), func(tx store.Tx) error {
				rows = 0
				return store.Each(t.Context(), tx, func(scan store.Scan) error {
					var text string
					err := scan(&text)
					for _, gone := range []string{"4711", "4712", told.Reference, s.organization, strings.TrimPrefix(ours, "/v1/assignments/")} {
						if strings.Contains(text, gone) {
							t.Errorf("%s holds %q still", table, gone)
						}
					}
					rows++
					return err
				}, fmt.Sprintf("SELECT %s FROM %s", column, table))
			})
			if err != nil {
				t.Errorf("%s: %v", table, err)
			}
			if own := table == "hand_ins" || table == "sessions" || table == "assignments"; own && rows != 1 {
				t.Errorf("%s has %d rows; one is another organization's", table, rows)
			}
		}
	})
}
