package api

import (
	"net/http"
	"net/http/httptest"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"partwright/worker/batch"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// Batches are listed to the last one, each once, the newest first.
func TestBatchesAreListedPageByPage(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newBatchService(t, c)
		made := s.openBatches(7)
		for _, limit := range []int{1, 2, 3, 7, 8} {
			listed := s.listed(limit)
			slices.Reverse(listed)
			if !slices.Equal(listed, made) {
				t.Errorf("in pages of %d: %v, made %v", limit, listed, made)
			}
		}
		if w := s.do(get("/v1/batches?after=" + strings.Repeat("Z", 26))); w.Code != http.StatusNotFound {
			t.Errorf("after a batch that is not there: %d", w.Code)
		}
	})
}

// So are those that were made in one moment.
func TestBatchesOfOneMomentAreListedPageByPage(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		now := time.Now()
		c.Now = func() time.Time { return now }
		s := newBatchService(t, c)
		made := s.openBatches(7)
		slices.Sort(made)
		for _, limit := range []int{1, 2, 3, 7, 8} {
			listed := s.listed(limit)
			slices.Sort(listed)
			if !slices.Equal(listed, made) {
				t.Errorf("in pages of %d: %v, made %v", limit, listed, made)
			}
		}
	})
}

// openBatches makes batches without scores, and returns their ids.
func (s *service) openBatches(n int) (ids []string) {
	s.t.Helper()
	for range n {
		w := s.do(httptest.NewRequest(http.MethodPost, "/v1/batches", nil))
		var b Batch
		s.into(w, http.StatusAccepted, &b)
		ids = append(ids, b.ID)
	}
	return ids
}

// listed are the batches of all pages, in their order.
func (s *service) listed(limit int) (ids []string) {
	s.t.Helper()
	address := "/v1/batches?limit=" + strconv.Itoa(limit)
	for page := address; page != ""; {
		var list BatchList
		s.into(s.do(get(page)), http.StatusOK, &list)
		for _, b := range list.Batches {
			ids = append(ids, b.ID)
		}
		if page = ""; list.Next != "" {
			page = address + "&after=" + list.Next
		}
	}
	return ids
}

// The reports of large scores are many megabytes each: a page that held as many of
// them as it may hold results would take the memory of the machine.
func TestPageOfLargeReportsIsShort(t *testing.T) {
	data := storetest.Open(t, store.Config{Dir: t.TempDir()})
	service := newBatches(t, data, nil)
	s := newService(t, &fakePool{}, Config{Batches: service})
	ctx := t.Context()
	b, err := service.Create(ctx, batch.Order{Organization: store.SingleUser, Open: true})
	if err != nil {
		t.Fatal(err)
	}
	const scores = 5
	report := fullReport()
	report.File = strings.Repeat("x", pageBytes/2-100)
	large, err := encodeJSON(report)
	if err != nil {
		t.Fatal(err)
	}
	err = data.Write(ctx, func(tx store.Tx) error {
		_, err := data.Change(ctx, tx, store.SingleUser, b.ID, func(b *store.Batch) error {
			members := slices.Repeat([]store.NewMember{{Name: "a.musicxml", Score: store.NewScore([]byte(tinyScore))}}, scores)
			if _, err := data.AddMembers(ctx, tx, b, members); err != nil {
				return err
			}
			var results []store.NewResult
			for number := range int64(scores) {
				results = append(results, store.NewResult{Number: number + 1, Engine: "test", Report: store.Pack(large)})
			}
			_, err := data.SaveResults(ctx, tx, b, results...)
			return err
		})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	var pages [][]int64
	for after := int64(0); after > 0 || pages == nil; {
		page := decode[ResultPage](t, s.do(get("/v1/batches/"+b.ID+"/results?limit=1000&after="+strconv.FormatInt(after, 10))))
		var numbers []int64
		for _, r := range page.Results {
			numbers = append(numbers, r.Number)
		}
		pages, after = append(pages, numbers), page.Next
	}
	if want := [][]int64{{1, 2}, {3, 4}, {5}}; !slices.EqualFunc(pages, want, slices.Equal) {
		t.Errorf("pages %v, want %v", pages, want)
	}
}

func TestKeyOfADeletedBatchSaysSo(t *testing.T) {
	s := newBatchService(t, store.Config{Dir: t.TempDir()})
	send := func() *httptest.ResponseRecorder {
		r := postArchive(t, "/v1/batches")
		r.Header.Set("Idempotency-Key", "week-3")
		return s.do(r)
	}
	made := decode[Batch](t, send())
	s.finished(made.ID)
	if w := s.do(httptest.NewRequest(http.MethodDelete, "/v1/batches/"+made.ID, nil)); w.Code != http.StatusNoContent {
		t.Fatalf("deleting: %d", w.Code)
	}
	if w := send(); w.Code != http.StatusNotFound || !strings.Contains(s.problem(w).Detail, "has been deleted") {
		t.Errorf("the same again: %d %s", w.Code, w.Body)
	}
}

// A request for the head of a download is answered with what it would be; nothing is made.
func TestHeadOfADownload(t *testing.T) {
	s := newBatchService(t, store.Config{Dir: t.TempDir()})
	made := decode[Batch](t, s.do(postArchive(t, "/v1/batches?marks=true")))
	s.finished(made.ID)
	for _, file := range []string{"answers.zip", "marked.zip", "findings.csv", "findings.ndjson"} {
		address := "/v1/batches/" + made.ID + "/" + file
		whole := s.do(get(address))
		w := s.do(httptest.NewRequest(http.MethodHead, address, nil))
		if w.Code != http.StatusOK || w.Body.Len() != 0 || whole.Body.Len() == 0 {
			t.Errorf("%s: %d with %d bytes of %d", file, w.Code, w.Body.Len(), whole.Body.Len())
		}
		for _, header := range []string{"Content-Type", "Content-Disposition"} {
			if got, want := w.Header().Get(header), whole.Header().Get(header); got != want {
				t.Errorf("%s: %s is %q, with the body %q", file, header, got, want)
			}
		}
	}
}
