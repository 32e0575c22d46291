package api

import (
	"archive/zip"
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3"

	"partwright/worker/answer"
	"partwright/worker/batch"
	"partwright/worker/pool"
	"partwright/worker/queue"
	"partwright/worker/report"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// newBatches returns a service of batches that works on them unless pool is nil.
func newBatches(t *testing.T, s *store.Store, p jobs) *batch.Service {
	t.Helper()
	config := batch.Config{Store: s, Version: "test", Search: true, Queue: queue.Config{FetchPoll: 10 * time.Millisecond}}
	if p != nil {
		config.Pool = p
	}
	b, err := batch.Open(t.Context(), config)
	if err != nil {
		t.Fatal(err)
	}
	if p == nil {
		return b
	}
	if err := b.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		if err := b.Stop(ctx); err != nil {
			t.Error(err)
		}
	})
	return b
}

func newBatchService(t *testing.T, c store.Config) *service {
	t.Helper()
	p := &fakePool{}
	return newService(t, p, Config{Batches: newBatches(t, storetest.Open(t, c), p)})
}

// emptyMending is what a mending that changes nothing reports.
func emptyMending() *report.Mending {
	return &report.Mending{File: "a.musicxml", Engine: "test", RuleSet: "free", Edits: []report.MendedNote{}, Left: []report.Left{}, New: []report.Left{}, Alternatives: []report.MendingWay{}}
}

// foundOf is something found in a score, of each kind.
func foundOf(file string) *store.Found {
	return &store.Found{
		Score:     store.FoundScore{FoundIn: store.FoundIn{File: file, Title: "A hymn"}, Outcome: "checked", Key: "C major", Mode: "major", Measures: 4},
		Findings:  []store.FoundFinding{{Position: 1, Rule: "parallel-fifths", Family: "consecutives", Severity: "fault", Voices: "S B", Measure: "1", Beat: 1}},
		Harmonies: []store.FoundHarmony{{Position: 1, Key: "C major", Mode: "major", Numeral: "I", Cadence: "PAC", Formula: "V I", Measure: "1", Beat: 1}},
	}
}

// batchOf makes an open batch of an organization, with one score that is answered
// and marked.
func (s *tenants) batchOf(organization string) string {
	s.t.Helper()
	ctx := context.Background()
	service := s.server.handlers.config.Batches
	b, err := service.Create(ctx, batch.Order{Organization: organization, Open: true})
	if err != nil {
		s.t.Fatal(err)
	}
	err = s.store.Write(ctx, func(tx store.Tx) error {
		_, err := s.store.Change(ctx, tx, organization, b.ID, func(b *store.Batch) error {
			_, err := s.store.AddMembers(ctx, tx, b, []store.NewMember{{Name: "a.musicxml", Score: store.NewScore([]byte(tinyScore))}})
			if err == nil {
				said, _ := encodeJSON(fullReport())
				mended := &answer.Answer{Report: emptyMending()}
				mended.AddScore(answer.Mended, 0, []byte(tinyScore))
				mending, _ := mended.Bundle()
				voiced := &answer.Answer{Report: &report.Voicing{Engine: "test", Style: "chorale", Voices: []string{"S"}, Chords: 1, Numerals: []string{"C: I"}, Alternatives: []report.Alternative{}}}
				voiced.AddScore(answer.Voiced, 0, []byte(tinyScore))
				voicing, _ := voiced.Bundle()
				_, err = s.store.SaveResults(ctx, tx, b, store.NewResult{
					Number: 1, Engine: "test", Report: store.Pack(said), Marked: store.Pack([]byte(tinyScore)), Mending: store.Pack(mending), Voicing: store.Pack(voicing), Found: foundOf("a.musicxml"),
				})
			}
			return err
		})
		return err
	})
	if err != nil {
		s.t.Fatal(err)
	}
	return b.ID
}

func decode[T any](t *testing.T, w *httptest.ResponseRecorder) (value T) {
	t.Helper()
	if err := json.Unmarshal(w.Body.Bytes(), &value); err != nil {
		t.Fatalf("%d: %v: %.300s", w.Code, err, w.Body)
	}
	return value
}

// isA fails the test unless JSON is as a schema of the contract has it.
func (s *service) isA(schema, text string) {
	s.t.Helper()
	var value any
	if err := json.Unmarshal([]byte(text), &value); err != nil {
		s.t.Fatalf("%v: %.200s", err, text)
	}
	if err := s.server.handlers.contract.document.Components.Schemas[schema].Value.VisitJSON(value, openapi3.EnableJSONSchema2020()); err != nil {
		s.t.Errorf("no %s: %v", schema, err)
	}
}

// finished waits for the end of a batch, a minute at most: under the race
// detector on a machine that does other things a mending takes twenty seconds.
func (s *service) finished(id string) Batch {
	s.t.Helper()
	for until := time.Now().Add(time.Minute); ; time.Sleep(10 * time.Millisecond) {
		b := decode[Batch](s.t.(*testing.T), s.do(get("/v1/batches/"+id)))
		if b.State == "finished" {
			return b
		}
		if time.Now().After(until) {
			s.t.Fatalf("the batch is %s: %+v", b.State, b.Scores)
		}
	}
}

// hymns is an archive of two scores in a folder, and a file that is none.
func hymns(t *testing.T) []byte {
	t.Helper()
	var packed bytes.Buffer
	z := zip.NewWriter(&packed)
	for _, file := range [][2]string{{"hymns/1.musicxml", tinyScore}, {"hymns/2.musicxml", tinyScore + "<!-- 2 -->"}, {"hymns/notes.txt", "read me"}} {
		w, err := z.Create(file[0])
		if err == nil {
			_, err = w.Write([]byte(file[1]))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return packed.Bytes()
}

func postArchive(t *testing.T, address string) *http.Request {
	r := httptest.NewRequest(http.MethodPost, address, bytes.NewReader(hymns(t)))
	r.Header.Set("Content-Type", "application/zip")
	return r
}

func TestArchiveIsAnswered(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newBatchService(t, c)
		w := s.do(postArchive(t, "/v1/batches?marks=true"))
		if w.Code != http.StatusAccepted {
			t.Fatalf("%d: %s", w.Code, w.Body)
		}
		made := decode[Batch](t, w)
		if want := "/v1/batches/" + made.ID; w.Header().Get("Location") != want {
			t.Errorf("Location %s, want %s", w.Header().Get("Location"), want)
		}
		done := s.finished(made.ID)
		if done.Scores.Done != 2 || done.Skipped != 1 || done.Finished == nil {
			t.Errorf("finished: %+v", done)
		}
		first := decode[ResultPage](t, s.do(get("/v1/batches/"+made.ID+"/results?limit=1")))
		if len(first.Results) != 1 || first.Results[0].File != "hymns/1.musicxml" || first.Next != 1 {
			t.Errorf("first page: %+v", first)
		}
		rest := decode[ResultPage](t, s.do(get(fmt.Sprintf("/v1/batches/%s/results?after=%d", made.ID, first.Next))))
		if len(rest.Results) != 1 || rest.Results[0].File != "hymns/2.musicxml" || rest.Next != 0 {
			t.Errorf("second page: %+v", rest)
		}
		if marked := s.do(get("/v1/batches/" + made.ID + "/scores/2/marked")); !strings.Contains(marked.Body.String(), "<!-- marked -->") {
			t.Errorf("marked: %d, %s", marked.Code, marked.Body)
		}
		z, err := zip.NewReader(bytes.NewReader(s.do(get("/v1/batches/"+made.ID+"/marked.zip")).Body.Bytes()), int64(s.do(get("/v1/batches/"+made.ID+"/marked.zip")).Body.Len()))
		if err != nil || len(z.File) != 2 || z.File[0].Name != "hymns/1.marked.musicxml" {
			t.Errorf("marked scores: %v, %v", z, err)
		}
		for _, file := range []string{"findings.ndjson", "findings.csv", "finding-statistics.csv", "harmony-statistics.csv", "statistics.csv", "harmonies.csv",
			"tables/scores", "tables/findings", "tables/harmonies", "tables/cadences"} {
			if got := s.do(get("/v1/batches/" + made.ID + "/" + file)); got.Code != http.StatusOK || got.Body.Len() == 0 {
				t.Errorf("%s: %d, %q", file, got.Code, got.Body)
			}
		}
		if w := s.do(httptest.NewRequest(http.MethodDelete, "/v1/batches/"+made.ID, nil)); w.Code != http.StatusNoContent {
			t.Errorf("deleting: %d", w.Code)
		}
		if w := s.do(get("/v1/batches/" + made.ID)); w.Code != http.StatusNotFound {
			t.Errorf("after deleting: %d", w.Code)
		}
	})
}

// An archive in which nothing is a score is no batch: whoever sent it took the wrong file.
func TestArchiveWithoutScoresIsRefused(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newBatchService(t, c)
		for _, names := range [][]string{{"notes.txt"}, {"class/plan.pdf", "class/~$song.musicxml", ".hidden.xml"}} {
			var packed bytes.Buffer
			z := zip.NewWriter(&packed)
			for _, name := range names {
				if _, err := z.Create(name); err != nil {
					t.Fatal(err)
				}
			}
			if err := z.Close(); err != nil {
				t.Fatal(err)
			}
			w := s.do(post("/v1/batches", packed.String(), "Content-Type", "application/zip"))
			if p := decode[Problem](t, w); w.Code != http.StatusUnprocessableEntity || !strings.Contains(p.Detail, "holds no score") {
				t.Errorf("%v: %d %+v", names, w.Code, p)
			}
		}
		if list := decode[BatchList](t, s.do(get("/v1/batches"))); len(list.Batches) != 0 {
			t.Errorf("%d batches are left", len(list.Batches))
		}
	})
}

func TestSeveralFilesInAForm(t *testing.T) {
	s := newBatchService(t, store.Config{Dir: t.TempDir()})
	var form bytes.Buffer
	w := multipart.NewWriter(&form)
	for _, file := range [][2]string{{"alto.musicxml", tinyScore}, {"hymns.zip", string(hymns(t))}} {
		part, err := w.CreateFormFile("score", file[0])
		if err == nil {
			_, err = part.Write([]byte(file[1]))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := errors.Join(w.WriteField("marks", "true"), w.Close()); err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequest(http.MethodPost, "/v1/batches", &form)
	r.Header.Set("Content-Type", w.FormDataContentType())
	made := decode[Batch](t, s.do(r))
	if done := s.finished(made.ID); done.Scores.Total != 3 || done.Scores.Done != 3 {
		t.Errorf("counts %+v", done.Scores)
	}
	var names []string
	for _, r := range decode[ResultPage](t, s.do(get("/v1/batches/"+made.ID+"/results"))).Results {
		names = append(names, r.File)
	}
	if want := []string{"alto.musicxml", "hymns.zip/hymns/1.musicxml", "hymns.zip/hymns/2.musicxml"}; !slices.Equal(names, want) {
		t.Errorf("the results are of %q, want %q", names, want)
	}
	var files []string
	for _, f := range s.archived(made.ID, "marked.zip") {
		files = append(files, f.Name)
	}
	if want := []string{"alto.marked.musicxml", "hymns/1.marked.musicxml", "hymns/2.marked.musicxml"}; !slices.Equal(files, want) {
		t.Errorf("the marked scores are %q, want %q", files, want)
	}
}

// A hand-in without content is a hand-in: its pupil is told. A form's blank file
// field, which browsers send without a name (WHATWG HTML, 4.10.21.4), is none.
func TestAnEmptyFileFailsAlone(t *testing.T) {
	p := enginePool(t, nil, pool.Config{})
	s := newService(t, p, Config{Batches: newBatches(t, storetest.Open(t, store.Config{Dir: t.TempDir()}), p)})
	const part = "--x\r\nContent-Disposition: form-data; name=score; filename=%q\r\n\r\n%s\r\n"
	send := func(parts string) Batch {
		r := httptest.NewRequest(http.MethodPost, "/v1/batches", strings.NewReader(parts+"--x--\r\n"))
		r.Header.Set("Content-Type", "multipart/form-data; boundary=x")
		return decode[Batch](t, s.do(r))
	}
	made := send(fmt.Sprintf(part+part+part, "empty.musicxml", "", "", "", "alto.musicxml", tinyScore))
	s.finished(made.ID)
	results := decode[ResultPage](t, s.do(get("/v1/batches/"+made.ID+"/results"))).Results
	if len(results) != 2 || results[0].File != "empty.musicxml" || results[0].Problem == nil || results[0].Problem.Code != "empty" {
		t.Errorf("results: %+v", results)
	}
	if made := send(fmt.Sprintf(part, "empty.musicxml", "")); s.finished(made.ID).Scores.Failed != 1 {
		t.Error("a batch of one empty file has no failure")
	}
	if made := send(fmt.Sprintf(part, "", "")); made.State != "open" {
		t.Errorf("a batch of a blank field is %s", made.State)
	}
}

// The cases of draft-ietf-httpapi-idempotency-key-header, section 2.7: a key that
// is missing is 400, the same with another payload 422; the same again is answered
// as before.
func TestScoresAreAddedOnce(t *testing.T) {
	s := newBatchService(t, store.Config{Dir: t.TempDir()})
	made := decode[Batch](t, s.do(httptest.NewRequest(http.MethodPost, "/v1/batches", nil)))
	if made.State != "open" {
		t.Fatalf("a batch without a body is %s", made.State)
	}
	add := func(score, key string) *httptest.ResponseRecorder {
		r := post("/v1/batches/"+made.ID+"/scores", score)
		if key != "" {
			r.Header.Set("Idempotency-Key", key)
		}
		return s.do(r)
	}
	if w := add(tinyScore, ""); w.Code != http.StatusBadRequest || s.problem(w).Detail != "The header Idempotency-Key is missing." {
		t.Errorf("without a key: %d, %s", w.Code, w.Body)
	}
	if w := add(tinyScore, `""`); w.Code != http.StatusBadRequest {
		t.Errorf("with an empty key: %d", w.Code)
	}
	first, again := add(tinyScore, `"8e03978e-40d5-43dd-bc93-6894a57f9324"`), add(tinyScore, `"8e03978e-40d5-43dd-bc93-6894a57f9324"`)
	if first.Code != http.StatusAccepted || again.Code != http.StatusAccepted || first.Header().Get("Location") != again.Header().Get("Location") {
		t.Errorf("first %d to %s, again %d to %s", first.Code, first.Header().Get("Location"), again.Code, again.Header().Get("Location"))
	}
	if w := add(tinyScore+" ", `"8e03978e-40d5-43dd-bc93-6894a57f9324"`); w.Code != http.StatusUnprocessableEntity || s.problem(w).Code != "key-reused" {
		t.Errorf("another score with the same key: %d", w.Code)
	}
	if w := s.do(httptest.NewRequest(http.MethodPost, "/v1/batches/"+made.ID+"/close", nil)); w.Code != http.StatusOK {
		t.Errorf("closing: %d", w.Code)
	}
	if done := s.finished(made.ID); done.Scores.Total != 1 {
		t.Errorf("counts %+v", done.Scores)
	}
	if w := add(tinyScore, "late"); w.Code != http.StatusConflict || s.problem(w).Code != "batch-closed" {
		t.Errorf("adding to a finished batch: %d", w.Code)
	}
	if w := s.do(get(first.Header().Get("Location"))); decode[scoreView](t, w).State != "done" {
		t.Errorf("the score: %s", w.Body)
	}
}

func TestKeyInProgressIs409(t *testing.T) {
	if p := problemOf(inBatches.of(batch.ErrInProgress)); p.Status != http.StatusConflict || p.Code != "key-in-progress" {
		t.Errorf("%+v", p)
	}
}

func TestEventsGoOnAfterTheLastSeen(t *testing.T) {
	s := newBatchService(t, store.Config{Dir: t.TempDir()})
	made := decode[Batch](t, s.do(postArchive(t, "/v1/batches")))
	s.finished(made.ID)
	follow := func(last string) *httptest.ResponseRecorder {
		r := get("/v1/batches/" + made.ID + "/events")
		if last != "" {
			r.Header.Set("Last-Event-ID", last)
		}
		return s.do(r)
	}
	ids := func(w *httptest.ResponseRecorder) (all []string) {
		for lines := bufio.NewScanner(w.Body); lines.Scan(); {
			if id, ok := strings.CutPrefix(lines.Text(), "id: "); ok {
				all = append(all, id)
			}
		}
		return all
	}
	answered := map[int64]string{}
	for lines := bufio.NewScanner(follow("").Body); lines.Scan(); {
		if data, ok := strings.CutPrefix(lines.Text(), "data: "); ok {
			s.isA("BatchEvent", data)
			var event BatchEvent
			if err := json.Unmarshal([]byte(data), &event); err != nil {
				t.Fatal(err)
			}
			for _, score := range event.Answered {
				answered[score.Number] = score.State
			}
		}
		if kind, ok := strings.CutPrefix(lines.Text(), "event: "); ok {
			s.isA("BatchEventKind", strconv.Quote(kind))
		}
	}
	for _, score := range decode[ResultPage](t, s.do(get("/v1/batches/"+made.ID+"/results"))).Results {
		if answered[score.Number] != score.State {
			t.Errorf("score %d: the events say %q, its answer %q", score.Number, answered[score.Number], score.State)
		}
		delete(answered, score.Number)
	}
	if len(answered) > 0 {
		t.Errorf("events speak of scores that have no answer: %v", answered)
	}
	all := ids(follow(""))
	if len(all) < 4 || all[0] != "1" {
		t.Fatalf("events %v", all)
	}
	if rest := ids(follow("2")); len(rest) != len(all)-2 || rest[0] != "3" {
		t.Errorf("after 2: %v", rest)
	}
	if w := follow(all[len(all)-1]); w.Code != http.StatusNoContent {
		t.Errorf("after the last: %d", w.Code)
	}
}

func TestServiceWithoutBatches(t *testing.T) {
	s := newService(t, &fakePool{}, Config{})
	if w := s.do(get("/v1/batches")); w.Code != http.StatusNotFound || !strings.Contains(s.problem(w).Detail, "data directory") {
		t.Errorf("%d: %s", w.Code, w.Body)
	}
}

func TestReadinessAsksTheDatabase(t *testing.T) {
	data := storetest.Open(t, store.Config{Dir: t.TempDir()})
	s := newService(t, &fakePool{}, Config{Batches: newBatches(t, data, nil)})
	if w := s.do(get("/readyz")); w.Code != http.StatusOK {
		t.Errorf("ready: %d", w.Code)
	}
	s.server.handlers.config.MinFree = 1 << 62
	if w := s.do(get("/readyz")); w.Code != http.StatusServiceUnavailable || s.problem(w).Code != "disk-full" {
		t.Errorf("with a full disk: %d", w.Code)
	}
	if err := data.Close(); err != nil {
		t.Fatal(err)
	}
	if w := s.do(get("/readyz")); w.Code != http.StatusServiceUnavailable || s.problem(w).Code != "database-down" {
		t.Errorf("without the database: %d", w.Code)
	}
}

func TestScoreOfABatchIsDeleted(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		s := newBatchService(t, c)
		made := decode[Batch](t, s.do(postArchive(t, "/v1/batches?marks=true")))
		s.finished(made.ID)
		one := "/v1/batches/" + made.ID + "/scores/1"
		for _, want := range []int{http.StatusNoContent, http.StatusNotFound} {
			if w := s.do(httptest.NewRequest(http.MethodDelete, one, nil)); w.Code != want {
				t.Errorf("%d, want %d: %s", w.Code, want, w.Body)
			}
		}
		for _, address := range []string{one, one + "/marked"} {
			if w := s.do(get(address)); w.Code != http.StatusNotFound {
				t.Errorf("%s is still there: %d", address, w.Code)
			}
		}
		if b := decode[Batch](t, s.do(get("/v1/batches/"+made.ID))); b.Scores.Total != 1 || b.Scores.Done != 1 {
			t.Errorf("counts %+v", b.Scores)
		}
		for _, file := range []string{"findings.ndjson", "marked.zip", "results"} {
			if w := s.do(get("/v1/batches/" + made.ID + "/" + file)); strings.Contains(w.Body.String(), "hymns/1.") || !strings.Contains(w.Body.String(), "hymns/2.") {
				t.Errorf("%s: %.300s", file, w.Body)
			}
		}
	})
}
