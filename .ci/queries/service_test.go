package queries

import (
	"archive/zip"
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"
)

// service is a running one with both collections in it.
type service struct {
	*testing.T
	address string
	// batches are ids by collection, names the other way round.
	batches, names map[string]string
}

// serve starts a service with a database in a folder and puts the collections into it.
func serve(t *testing.T, dir, program string) *service {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s := &service{t, "http://" + l.Addr().String(), map[string]string{}, map[string]string{}}
	_ = l.Close()
	command := exec.Command(program, "serve", "--addr", strings.TrimPrefix(s.address, "http://"), "--operator-addr", "off", "--data-dir", filepath.Join(dir, "data"))
	command.Stderr = &bytes.Buffer{}
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = command.Process.Signal(syscall.SIGTERM)
		_ = command.Wait()
	})
	for n := 0; ; n++ {
		if r, err := http.Get(s.address + "/readyz"); err == nil {
			_ = r.Body.Close()
			if r.StatusCode == http.StatusOK {
				break
			}
		}
		if n == 600 {
			t.Fatalf("the service is not ready:\n%s", command.Stderr)
		}
		time.Sleep(100 * time.Millisecond)
	}
	start := time.Now()
	for _, name := range collections {
		var made struct{ ID string }
		s.do(http.MethodPost, "/v1/batches?analysis=true", "application/zip", packed(t, filepath.Join(dir, name)), &made)
		s.batches[name], s.names[made.ID] = made.ID, name
	}
	for _, name := range collections {
		for {
			var status struct{ State string }
			s.do(http.MethodGet, "/v1/batches/"+s.batches[name], "", nil, &status)
			if status.State == "finished" {
				break
			}
			time.Sleep(200 * time.Millisecond)
		}
		catalogue, err := os.ReadFile(filepath.Join(dir, name+".csv"))
		if err != nil {
			t.Fatal(err)
		}
		s.do(http.MethodPut, "/v1/batches/"+s.batches[name]+"/catalogue", "text/csv", catalogue, nil)
	}
	t.Logf("the service has them after %v", time.Since(start).Round(time.Second))
	return s
}

// packed is a folder as an archive.
func packed(t *testing.T, folder string) []byte {
	t.Helper()
	var b bytes.Buffer
	out := zip.NewWriter(&b)
	paths, err := filepath.Glob(filepath.Join(folder, "*"))
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range paths {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		w, err := out.Create(filepath.Base(path))
		if err == nil {
			_, err = w.Write(text)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func (s *service) do(method, path, mediaType string, body []byte, into any) {
	s.Helper()
	r, err := http.NewRequest(method, s.address+path, bytes.NewReader(body))
	if err != nil {
		s.Fatal(err)
	}
	if mediaType != "" {
		r.Header.Set("Content-Type", mediaType)
	}
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		s.Fatal(err)
	}
	defer func() { _ = answer.Body.Close() }()
	text, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode/100 != 2 {
		s.Fatalf("%s %s: %d %v %.500s", method, path, answer.StatusCode, err, text)
	}
	if into != nil {
		if err := json.Unmarshal(text, into); err != nil {
			s.Fatalf("%s %s: %v", method, path, err)
		}
	}
}

// found is a row of a question.
type found struct {
	Batch, File, Measure, Key string
	Beat                      float64
	Score, Number             int
}

// rows reads all pages of a question.
func (s *service) rows(kind string, q url.Values) (all []string) {
	s.Helper()
	q.Set("limit", "1000")
	var rows []found
	for next := ""; ; {
		if next != "" {
			q.Set("after", next)
		}
		var page map[string]json.RawMessage
		s.do(http.MethodGet, "/v1/"+kind+"?"+q.Encode(), "", nil, &page)
		var some []found
		next = ""
		if err := json.Unmarshal(page[kind], &some); err != nil {
			s.Fatal(err)
		}
		rows = append(rows, some...)
		if page["next"] == nil || json.Unmarshal(page["next"], &next) != nil || next == "" {
			break
		}
	}
	// Batches are in the order of their ids there, which are made as they are sent.
	slices.SortStableFunc(rows, func(a, b found) int {
		return cmp.Or(cmp.Compare(s.names[a.Batch], s.names[b.Batch]), cmp.Compare(a.Score, b.Score), cmp.Compare(a.Number, b.Number))
	})
	for _, r := range rows {
		name := s.names[r.Batch]
		all = append(all, fmt.Sprintf("%s|%s|%s|%v|%s", name, filepath.Join(name, r.File), r.Measure, r.Beat, r.Key))
	}
	return all
}

// counts are the largest groups of a question.
func (s *service) counts(kind string, q url.Values) (groups []struct {
	Values          []string
	Count, Measures float64
}) {
	s.Helper()
	q.Set("limit", "1")
	q.Set("groups", "1000")
	var page struct {
		Counts struct {
			Groups []struct {
				Values          []string
				Count, Measures float64
			}
			Complete bool
		}
	}
	s.do(http.MethodGet, "/v1/"+kind+"?"+q.Encode(), "", nil, &page)
	if !page.Counts.Complete {
		s.Errorf("%s by %s: not all are counted", kind, q.Get("count_by"))
	}
	return page.Counts.Groups
}

// ask answers a query.
func (s *service) ask(name string) (rows []string) {
	s.Helper()
	switch name {
	case "fifths":
		return s.rows("findings", url.Values{"rule": {"parallel-fifths"}, "voices": {"S B"}, "mode": {"minor"}})
	case "neapolitans":
		return s.rows("harmonies", url.Values{"numeral": {"N6"}})
	case "approaches":
		of := map[string]int{}
		for _, g := range s.counts("harmonies", url.Values{"cadence": {"DC"}, "count_by": {"catalogue.decade,formula"}}) {
			formula := strings.Fields(g.Values[1])
			if len(formula) == 2 {
				formula = append([]string{""}, formula...)
			}
			of[g.Values[0]+"|"+strings.Join(formula, "|")] += int(g.Count)
		}
		for i, c := range commonest(of) {
			if i < 10 {
				rows = append(rows, fmt.Sprintf("%s|%d", c.what, c.count))
			}
		}
		return rows
	}
	rules, measures := map[string]map[string]float64{}, map[string]float64{}
	for _, g := range s.counts("scores", url.Values{"count_by": {"batch"}}) {
		measures[s.names[g.Values[0]]] = math.Round(g.Measures)
	}
	for _, g := range s.counts("findings", url.Values{"count_by": {"batch,rule"}}) {
		batch := s.names[g.Values[0]]
		if rules[batch] == nil {
			rules[batch] = map[string]float64{}
		}
		rules[batch][g.Values[1]] = g.Count
	}
	return differs(rules, measures)
}
