package api

import (
	"encoding/json"
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strings"
	"testing"

	"partwright/worker/account"
	"partwright/worker/batch"
	"partwright/worker/pool"
	"partwright/worker/report"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// everyPage reads all pages of a question of the demo class, two rows at a time.
func everyPage[Row any](s *service, address, list string) (all []Row) {
	s.t.Helper()
	next := ""
	for {
		w := s.do(get(address + "&limit=2" + next))
		page := decode[map[string]json.RawMessage](s.t.(*testing.T), w)
		var rows []Row
		if err := json.Unmarshal(page[list], &rows); err != nil {
			s.t.Fatalf("%v: %.300s", err, w.Body)
		}
		all = append(all, rows...)
		if page["next"] == nil {
			return all
		}
		var after string
		_ = json.Unmarshal(page["next"], &after)
		next = "&after=" + url.QueryEscape(after)
	}
}

// What is found across batches is what the reports say, counted and row by row.
func TestFoundAcrossBatchesIsWhatTheReportsSay(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		p := enginePool(t, nil, pool.Config{})
		s := newService(t, p, Config{Batches: newBatches(t, storetest.Open(t, c), p)})
		var batches []string
		for _, names := range [][]string{{"hand-in.musicxml", "worksheet.musicxml"}, {"keyboard.musicxml"}} {
			var some []sent
			for _, name := range names {
				some = append(some, sent{name, string(demo(t, name))})
			}
			id := decode[Batch](t, s.do(post("/v1/batches?analysis=true", zipped(some), "Content-Type", "application/zip"))).ID
			s.finished(id)
			batches = append(batches, id)
		}
		var findings, harmonies, steps []string
		byRule := map[string]int64{}
		for _, id := range batches {
			page := decode[struct {
				Results []struct {
					Number int64         `json:"number"`
					Report report.Report `json:"report"`
				} `json:"results"`
			}](t, s.do(get("/v1/batches/"+id+"/results")))
			for _, r := range page.Results {
				for _, f := range r.Report.Findings {
					findings = append(findings, fmt.Sprint(id, r.Number, f.Number, f.Rule, f.Severity, f.Voices, f.Key, f.Numeral, f.Measure, f.Beat))
					byRule[f.Rule]++
				}
				for i, h := range r.Report.Analysis.Harmonies {
					harmonies = append(harmonies, fmt.Sprint(id, r.Number, i+1, h.Key, h.Numeral, h.Measure, h.Beat))
					if i > 0 && h.Numeral == "I" && r.Report.Analysis.Harmonies[i-1].Numeral == "V" && r.Report.Analysis.Harmonies[i-1].Key == h.Key {
						steps = append(steps, fmt.Sprint(id, r.Number, i+1))
					}
				}
			}
		}
		same := func(what string, got, want []string) {
			t.Helper()
			slices.Sort(got)
			slices.Sort(want)
			if len(want) == 0 || !slices.Equal(got, want) {
				t.Errorf("%s: asked %d rows, the reports have %d\n%v\n%v", what, len(got), len(want), got, want)
			}
		}
		var got []string
		for _, f := range everyPage[store.FoundFinding](s, "/v1/findings?", "findings") {
			got = append(got, fmt.Sprint(f.Batch, f.Number, f.Position, f.Rule, f.Severity, strings.Fields(f.Voices), f.Key, f.Numeral, f.Measure, f.Beat))
		}
		same("findings", got, findings)
		got = nil
		for _, h := range everyPage[store.FoundHarmony](s, "/v1/harmonies?", "harmonies") {
			got = append(got, fmt.Sprint(h.Batch, h.Number, h.Position, h.Key, h.Numeral, h.Measure, h.Beat))
		}
		same("harmonies", got, harmonies)
		got = nil
		for _, h := range everyPage[store.FoundHarmony](s, "/v1/harmonies?succession=V+I", "harmonies") {
			got = append(got, fmt.Sprint(h.Batch, h.Number, h.Position))
		}
		same("V to I", got, steps)
		if scores := everyPage[store.FoundScore](s, "/v1/scores?", "scores"); len(scores) != 3 {
			t.Errorf("%d scores", len(scores))
		}
		counted := map[string]int64{}
		for _, g := range decode[FoundFindingPage](t, s.do(get("/v1/findings?count_by=rule"))).Counts.Groups {
			counted[g.Values[0]] = g.Count
		}
		if !maps.Equal(counted, byRule) {
			t.Errorf("counted %v, the reports have %v", counted, byRule)
		}
	})
}

func TestQuestionsThatCannotBeAnswered(t *testing.T) {
	s := newBatchService(t, store.Config{Dir: t.TempDir()})
	for address, says := range map[string]string{
		"/v1/findings?count_by=rule,rule":             "count_by",
		"/v1/findings?count_by=message":               "count_by",
		"/v1/findings?count_by=rule,key,mode,numeral": "at most 3",
		"/v1/findings?after=nonsense":                 "after",
		"/v1/harmonies?succession=I+ii+iii+IV+V+vi":   "succession",
		"/v1/harmonies?cadence=XYZ":                   "cadence",
		"/v1/scores?rule=spacing":                     "rule",
	} {
		if w := s.do(get(address)); w.Code != 400 || !strings.Contains(w.Body.String(), says) {
			t.Errorf("%s: %d %s", address, w.Code, w.Body)
		}
	}
	off, err := batch.Open(t.Context(), batch.Config{Store: storetest.Open(t, store.Config{Dir: t.TempDir()}), Version: "test"})
	if err != nil {
		t.Fatal(err)
	}
	if w := newService(t, &fakePool{}, Config{Batches: off}).do(get("/v1/scores")); w.Code != 404 || !strings.Contains(w.Body.String(), "--search") {
		t.Errorf("without rows: %d %s", w.Code, w.Body)
	}
}

// An organization finds its own and nothing else.
func TestOrganizationsFindTheirOwn(t *testing.T) {
	s := newTenants(t, store.Config{Dir: t.TempDir()}, Config{})
	owner, ownKey := s.organization(store.Quotas{}, account.Scopes...)
	other, otherKey := s.organization(store.Quotas{}, account.Scopes...)
	own, foreign := s.batchOf(owner), s.batchOf(other)
	for list, address := range map[string]string{
		"findings": "/v1/findings?rule=parallel-fifths&count_by=batch,voices", "harmonies": "/v1/harmonies?succession=I&count_by=batch", "scores": "/v1/scores?text=hymn&count_by=batch",
	} {
		for key, ids := range map[string][2]string{ownKey: {own, foreign}, otherKey: {foreign, own}} {
			body := s.do(with(key, get(address))).Body.String()
			if !strings.Contains(body, ids[0]) || strings.Contains(body, ids[1]) {
				t.Errorf("%s: %s", list, body)
			}
			if body := s.do(with(key, get(address+"&batch="+ids[1]))).Body.String(); !strings.Contains(body, `"`+list+`":[]`) {
				t.Errorf("%s of a foreign batch: %s", list, body)
			}
		}
	}
}
