package api

import (
	"maps"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"partwright/worker/account"
	"partwright/worker/pool"
	"partwright/worker/report"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

func putTable(address, table string) *http.Request {
	r := httptest.NewRequest(http.MethodPut, address, strings.NewReader(table))
	r.Header.Set("Content-Type", typeCSV)
	return r
}

// What a catalogue says of files is what findings, harmonies and scores are chosen and
// counted by, as the reports have them; another one takes its place.
func TestFindingsByACatalogue(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		p := enginePool(t, nil, pool.Config{})
		s := newService(t, p, Config{Batches: newBatches(t, storetest.Open(t, c), p)})
		var some []sent
		licence := map[string]string{"hand-in.musicxml": "CC0", "worksheet.musicxml": "CC BY", "keyboard.musicxml": ""}
		for name := range licence {
			some = append(some, sent{name, string(demo(t, name))})
		}
		id := decode[Batch](t, s.do(post("/v1/batches?analysis=true", zipped(some), "Content-Type", "application/zip"))).ID
		s.finished(id)
		address := "/v1/batches/" + id + "/catalogue"
		if w := s.do(putTable(address, "file,licence\nhand-in.musicxml,unknown\nkeyboard.musicxml,unknown\n")); w.Code != 200 {
			t.Fatalf("%d %s", w.Code, w.Body)
		}
		kept := decode[KeptCatalogue](t, s.do(putTable(address, "file,licence,year\nhand-in.musicxml,CC0,1900\nworksheet.musicxml,CC BY,1901\nnone.musicxml,CC0,1900\n")))
		if kept.Scores != 2 || kept.Unused != 1 || strings.Join(kept.Columns, " ") != "licence year" {
			t.Errorf("%+v", kept)
		}

		want, harmonies, chosen := map[string]int64{}, map[string]int64{}, 0
		page := decode[struct {
			Results []struct {
				Report report.Report `json:"report"`
			} `json:"results"`
		}](t, s.do(get("/v1/batches/"+id+"/results")))
		for _, r := range page.Results {
			for _, f := range r.Report.Findings {
				want[licence[r.Report.File]+" "+f.Severity]++
				if r.Report.File == "worksheet.musicxml" {
					chosen++
				}
			}
			harmonies[licence[r.Report.File]] += int64(len(r.Report.Analysis.Harmonies))
		}
		counted := map[string]int64{}
		for _, g := range decode[FoundFindingPage](t, s.do(get("/v1/findings?count_by=catalogue.licence,severity"))).Counts.Groups {
			counted[strings.Join(g.Values, " ")] = g.Count
		}
		if !maps.Equal(counted, want) || len(want) < 3 {
			t.Errorf("findings are counted %v, the reports have %v", counted, want)
		}
		clear(counted)
		for _, g := range decode[FoundHarmonyPage](t, s.do(get("/v1/harmonies?count_by=catalogue.licence"))).Counts.Groups {
			counted[g.Values[0]] = g.Count
		}
		if !maps.Equal(counted, harmonies) {
			t.Errorf("harmonies are counted %v, the reports have %v", counted, harmonies)
		}
		if found := everyPage[store.FoundFinding](s, "/v1/findings?catalogue=licence%3DCC+BY", "findings"); len(found) != chosen || chosen == 0 {
			t.Errorf("%d findings, the reports have %d", len(found), chosen)
		}
		if found := everyPage[store.FoundScore](s, "/v1/scores?catalogue=licence%3DCC0", "scores"); len(found) != 1 || found[0].File != "hand-in.musicxml" {
			t.Errorf("%v", found)
		}
		if w := s.do(httptest.NewRequest(http.MethodDelete, "/v1/batches/"+id, nil)); w.Code != http.StatusNoContent {
			t.Fatal(w.Code)
		}
		if found := everyPage[store.FoundScore](s, "/v1/scores?catalogue=licence%3DCC0", "scores"); len(found) != 0 {
			t.Errorf("of a batch that is gone: %v", found)
		}
	})
}

func TestCataloguesThatAreRefused(t *testing.T) {
	s := newBatchService(t, store.Config{Dir: t.TempDir()})
	id := decode[Batch](t, s.do(post("/v1/batches", zipped([]sent{{"hymn.musicxml", tinyScore}}), "Content-Type", "application/zip"))).ID
	many := "file"
	for i := range 21 {
		many += ",column" + string(rune('a'+i))
	}
	for table, says := range map[string]string{
		"":                      "empty",
		"name,licence\na,b\n":   "no column file",
		"file,licence\na,b,c\n": "line 2",
		many + "\n":             "21 columns",
		"file,licence\na," + strings.Repeat("x", 201) + "\n": "200 bytes",
	} {
		if w := s.do(putTable("/v1/batches/"+id+"/catalogue", table)); w.Code != 400 || !strings.Contains(w.Body.String(), says) {
			t.Errorf("%.40q: %d %s", table, w.Code, w.Body)
		}
	}
	if w := s.do(putTable("/v1/batches/"+id+"/catalogue", "file,a\n"+strings.Repeat("x", maxCatalogue))); w.Code != http.StatusRequestEntityTooLarge {
		t.Errorf("too large: %d %s", w.Code, w.Body)
	}
	for address, says := range map[string]string{
		"/v1/findings?catalogue=licence":              "catalogue",
		"/v1/findings?count_by=catalogue.":            "count_by",
		"/v1/scores?count_by=catalogue.a,catalogue.a": "count_by",
	} {
		if w := s.do(get(address)); w.Code != 400 || !strings.Contains(w.Body.String(), says) {
			t.Errorf("%s: %d %s", address, w.Code, w.Body)
		}
	}
}

// An organization's catalogue says nothing of the scores of another.
func TestOrganizationsHaveTheirOwnCatalogues(t *testing.T) {
	s := newTenants(t, store.Config{Dir: t.TempDir()}, Config{})
	owner, ownKey := s.organization(store.Quotas{}, account.Scopes...)
	other, otherKey := s.organization(store.Quotas{}, account.Scopes...)
	own, foreign := s.batchOf(owner), s.batchOf(other)
	table := "file,licence\na.musicxml,CC0\n"
	if w := s.do(with(ownKey, putTable("/v1/batches/"+own+"/catalogue", table))); w.Code != 200 {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	if w := s.do(with(ownKey, putTable("/v1/batches/"+foreign+"/catalogue", table))); w.Code != 404 {
		t.Errorf("of another: %d", w.Code)
	}
	for key, want := range map[string]bool{ownKey: true, otherKey: false} {
		body := s.do(with(key, get("/v1/scores?catalogue=licence%3DCC0&count_by=catalogue.licence"))).Body.String()
		if strings.Contains(body, own) != want || strings.Contains(body, foreign) {
			t.Errorf("%s", body)
		}
	}
}
