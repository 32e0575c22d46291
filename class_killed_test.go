package main

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"partwright/api/lti/ltitest"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// The service is killed while a teacher sets and releases marks, one pupil after the other,
// and while they go to a learning system that answers late, with 500 before or after it has
// taken a mark, or not at all. Whoever releases tries again until there is an answer. Every
// mark is in the gradebook once. PARTWRIGHT_TEST_KILLS says how often (default 3).
func TestReleasedWhileKilled(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a minute")
	}
	storetest.Each(t, func(t *testing.T, c store.Config) {
		kills := 3
		if text := os.Getenv("PARTWRIGHT_TEST_KILLS"); text != "" {
			var err error
			if kills, err = strconv.Atoi(text); err != nil {
				t.Fatal(err)
			}
		}
		s := newSchoolService(t, c)
		s.serve()
		pupils := 2*kills + 4
		address, references := s.handedBack(pupils)
		// So few that none fails a fourth time: a mark would wait ten minutes then.
		for n := range pupils {
			switch {
			case n%16 == 15:
				s.platform.Trouble(ltitest.Silence)
			case n%8 == 3:
				s.platform.Trouble(ltitest.FailAfter)
			case n%8 == 6:
				s.platform.Trouble(ltitest.FailBefore)
			default:
				s.platform.Trouble(ltitest.Late)
			}
		}
		var killed atomic.Int64
		done := make(chan error, 1)
		go func() { done <- s.releaseAll(address, references, kills, &killed) }()
		for range kills {
			before, _ := s.platform.Posts()
			for until := time.Now().Add(5 * time.Second); time.Now().Before(until); time.Sleep(2 * time.Millisecond) {
				if posts, _ := s.platform.Posts(); posts > before {
					break
				}
			}
			time.Sleep(time.Duration(rand.IntN(120)) * time.Millisecond)
			s.kill()
			killed.Add(1)
			s.serve()
		}
		if err := <-done; err != nil {
			t.Fatal(err)
		}
		s.eachOnce(pupils, kills)
	})
}

// handedBack sets an exercise and lets pupils hand it back as it is: no mark is proposed, the
// teacher gives each one.
func (s *schoolService) handedBack(pupils int) (address string, references []string) {
	s.Helper()
	var set struct{ ID string }
	s.ask(s.key, http.MethodPost, "/v1/assignments", `{"title":"Quiz","task":"C: I V I","gives":"bass","points":500}`, http.StatusCreated, &set)
	address = "/v1/assignments/" + set.ID
	_, sheet, err := s.try(s.key, http.MethodGet, address+"/exercise", "", nil)
	if err != nil {
		s.Fatal(err)
	}
	for n := range pupils {
		secret, told := s.launch(fmt.Sprint("pupil-", n), "Learner", set.ID)
		s.handsIn(secret, address, told.Reference, sheet)
		references = append(references, told.Reference)
	}
	return address, references
}

// releaseAll sets and releases the mark of each pupil, some after each kill, and tries again
// where nobody answers.
func (s *schoolService) releaseAll(address string, references []string, kills int, killed *atomic.Int64) error {
	for n, reference := range references {
		for int(killed.Load()) < n*kills/len(references) {
			time.Sleep(5 * time.Millisecond)
		}
		for _, text := range []string{
			fmt.Sprintf(`{"do":"set-mark","reference":"%s","mark":%d}`, reference, n), `{"do":"release","reference":"` + reference + `"}`,
		} {
			for until := time.Now().Add(2 * time.Minute); ; time.Sleep(20 * time.Millisecond) {
				code, got, err := s.try(s.key, http.MethodPost, address+"/decisions", "application/json", []byte(text))
				if err == nil && code == http.StatusCreated {
					break
				}
				if time.Now().After(until) || err == nil && code < http.StatusInternalServerError {
					return fmt.Errorf("%s: %d %s, %w", text, code, got, err)
				}
			}
		}
	}
	return nil
}

// soon is within what time a mark comes that has failed three times: the schedule waits five
// seconds, thirty and two minutes. One that has failed four times comes after ten minutes more.
const soon = 4 * time.Minute

// patience is how long marks are waited for. Of many kills some hit the same mark so often
// that it waits for its fifth time.
func patience(kills int) time.Duration {
	const few = 5
	if kills <= few {
		return soon
	}
	return soon + 14*time.Minute
}

// eachOnce waits until the gradebook has the mark of every pupil, and wants each there once.
func (s *schoolService) eachOnce(pupils, kills int) {
	s.Helper()
	graded := func() (marks map[string]float64, times map[string]int) {
		marks, times = map[string]float64{}, map[string]int{}
		for _, one := range s.platform.Scores() {
			if one.Given != nil {
				marks[one.Pupil] = *one.Given
				times[one.Pupil]++
			}
		}
		return marks, times
	}
	begun, late := time.Now(), -1
	for ; time.Since(begun) < patience(kills); time.Sleep(50 * time.Millisecond) {
		marks, _ := graded()
		if late < 0 && time.Since(begun) > soon {
			late = pupils - len(marks)
		}
		if len(marks) == pupils {
			break
		}
	}
	took := time.Since(begun)
	time.Sleep(time.Second) // what would come twice
	marks, times := graded()
	for n := range pupils {
		pupil := fmt.Sprint("pupil-", n)
		if marks[pupil] != float64(n) || times[pupil] != 1 {
			s.Errorf("%s has %g in the gradebook, %d times", pupil, marks[pupil], times[pupil])
		}
	}
	posts, repeats := s.platform.Posts()
	s.Logf("%d kills, %d of %d marks, the last %s after the last kill, %d later than %s; %d posts, %d of them of a score that had come through, all refused",
		kills, len(marks), pupils, took.Round(time.Second), max(late, 0), soon, posts, repeats)
}
