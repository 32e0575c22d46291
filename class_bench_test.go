package main

import (
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"partwright/worker/classroom"
	"partwright/worker/store"
)

// How long a class of two hundred takes that hands in at once, as far as the service lets it
// in, beside `check` of the same files with the same options: the time to the last answer, and
// how many times that of check it is.
func BenchmarkClassOfTwoHundred(b *testing.B) {
	const pupils, atOnce = 200, 16
	s := newSchoolService(b, store.Config{Dir: b.TempDir()})
	// Two hundred pupils have sessions of their own; here one key stands for all.
	s.environment = append(s.environment, "PARTWRIGHT_KEY_RATE=100000", "PARTWRIGHT_KEY_BURST=100000", "PARTWRIGHT_KEY_CONCURRENT=1000")
	s.serve()
	local, scores := quiz(b)
	names := []string{}
	for name := range scores {
		names = append(names, name)
	}
	slices.Sort(names)
	folder := b.TempDir()
	works := make([][]byte, pupils)
	for i := range works {
		works[i] = append(slices.Clone(scores[names[i%len(names)]]), fmt.Appendf(nil, "<!-- %d -->\n", i)...)
		if err := os.WriteFile(filepath.Join(folder, fmt.Sprintf("p%03d.musicxml", i)), works[i], 0o600); err != nil {
			b.Fatal(err)
		}
	}
	task := filepath.Join(b.TempDir(), "exercise.musicxml")
	if err := os.WriteFile(task, []byte(local.Exercise.Text), 0o600); err != nil {
		b.Fatal(err)
	}
	var class, check time.Duration
	refused := 0
	for b.Loop() {
		begun := time.Now()
		s.run("check", "--quiet", "--analysis", "--rubric", "hundred", "--task", task, "--given", "ignore", "--out", b.TempDir(), folder)
		check += time.Since(begun)
		var set struct{ ID string }
		s.ask(s.key, http.MethodPost, "/v1/assignments", fmt.Sprintf(quizAssignment, time.Now().Add(time.Hour).UTC().Format(time.RFC3339)), http.StatusCreated, &set)
		begun = time.Now()
		refused += s.allHandIn("/v1/assignments/"+set.ID, works, atOnce)
		class += time.Since(begun)
		var list struct{ Outcomes []classroom.Outcome }
		s.ask(s.key, http.MethodGet, "/v1/assignments/"+set.ID+"/marks", "", http.StatusOK, &list)
		if len(list.Outcomes) != pupils {
			b.Fatalf("%d marks", len(list.Outcomes))
		}
	}
	b.ReportMetric(class.Seconds()/float64(b.N), "s-to-the-last")
	b.ReportMetric(float64(class)/float64(check), "times-check")
	b.ReportMetric(float64(refused)/float64(b.N), "refused-and-sent-again")
	b.ReportMetric(0, "ns/op")
}

// allHandIn hands in all works, some at once, again where the service says that it is busy,
// and returns how often it did.
func (s *schoolService) allHandIn(address string, works [][]byte, atOnce int) (refused int) {
	s.Helper()
	var mu sync.Mutex
	var all sync.WaitGroup
	turn := make(chan struct{}, atOnce)
	for i := range works {
		turn <- struct{}{}
		all.Go(func() {
			defer func() { <-turn }()
			for {
				code, got, err := s.try(s.key, http.MethodPost, fmt.Sprintf("%s/references/p%03d/hand-ins", address, i), musicXML, works[i])
				switch {
				case err == nil && code == http.StatusCreated:
					return
				case err != nil || code != http.StatusServiceUnavailable && code != http.StatusTooManyRequests:
					s.Errorf("%d: %d %s, %v", i, code, strings.TrimSpace(string(got)), err)
					return
				}
				mu.Lock()
				refused++
				mu.Unlock()
				time.Sleep(50 * time.Millisecond)
			}
		})
	}
	all.Wait()
	return refused
}
