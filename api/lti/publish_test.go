package lti_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"partwright/api/lti"
	"partwright/api/lti/ltitest"
	"partwright/api/outgoing"
	"partwright/worker/queue"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// desk publishes scores from a database.
type desk struct {
	*testing.T
	*ltitest.Platform
	store        *store.Store
	tool         *lti.Tool
	publisher    *lti.Publisher
	registration *lti.Registration
}

// newDesk opens what a service has that publishes; patience bounds one request.
func newDesk(t *testing.T, c store.Config, patience time.Duration) *desk {
	t.Helper()
	d := &desk{T: t, Platform: ltitest.NewPlatform(t), store: storetest.Open(t, c)}
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	base := "http://" + listener.Addr().String()
	var q *queue.Queue
	d.tool, d.publisher, q = openPublisher(t.Context(), t, d.store, base, patience)
	serveKeys(t, listener, d.tool)
	d.Knows(base)
	d.registration = register(t, d.store, d.Platform)
	if err := q.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		if err := q.Stop(ctx); err != nil {
			t.Error(err)
		}
	})
	return d
}

func openPublisher(ctx context.Context, t *testing.T, s *store.Store, base string, patience time.Duration) (*lti.Tool, *lti.Publisher, *queue.Queue) {
	t.Helper()
	tool, err := lti.New(lti.Config{Store: lti.Keep(s), Base: base, Client: outgoing.NewClient(thisMachine, nil, patience), Guard: thisMachine, Plain: true})
	if err != nil {
		t.Fatal(err)
	}
	p := lti.NewPublisher(tool, s, nil)
	p.Hurry(20*time.Millisecond, 5)
	kinds := queue.NewKinds()
	p.Handle(kinds)
	q, err := queue.Open(ctx, queue.Config{
		Store: s, Workers: map[string]int{lti.Line: 4}, Heartbeat: 50 * time.Millisecond, Dead: time.Second,
		FetchPoll: 20 * time.Millisecond, Retry: 10 * time.Millisecond,
	}, kinds)
	if err != nil {
		t.Fatal(err)
	}
	p.Use(q)
	return tool, p, q
}

// serveKeys serves the tool's keys, which the learning system reads.
func serveKeys(t *testing.T, listener net.Listener, tool *lti.Tool) {
	server := &http.Server{ReadHeaderTimeout: time.Second, Handler: http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		set, err := tool.KeySet(r.Context())
		if err != nil {
			http.Error(w, err.Error(), http.StatusInternalServerError)
			return
		}
		_ = json.NewEncoder(w).Encode(set)
	})}
	go func() { _ = server.Serve(listener) }()
	t.Cleanup(func() { _ = server.Close() })
}

func register(t *testing.T, s *store.Store, p *ltitest.Platform) (r *lti.Registration) {
	t.Helper()
	err := s.Write(t.Context(), func(tx store.Tx) (err error) {
		r, err = s.AddLTIRegistration(t.Context(), tx, p.Registration(store.SingleUser), p.Deployment)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// publish sets a score of a pupil.
func (d *desk) publish(s lti.Score) (now, before *lti.Score) {
	d.Helper()
	s.Registration, s.LineItem, s.Readable = d.registration.ID, d.Column(), true
	err := d.store.Write(d.Context(), func(tx store.Tx) (err error) {
		now, before, err = d.publisher.Publish(d.Context(), tx, s)
		return err
	})
	if err != nil {
		d.Fatal(err)
	}
	return now, before
}

// wait waits until a pupil's score does not wait any more.
func (d *desk) wait(pupil string) (s *lti.Score) {
	d.Helper()
	for until := time.Now().Add(60 * time.Second); ; time.Sleep(5 * time.Millisecond) {
		err := d.store.Read(d.Context(), func(tx store.Tx) (err error) {
			s, err = store.LTIScoreOf(d.Context(), tx, d.registration.ID, d.Column(), pupil)
			return err
		})
		if err != nil {
			d.Fatal(err)
		}
		if s.State != store.LTIScoreWaiting {
			return s
		}
		if time.Now().After(until) {
			d.Fatalf("the score still waits: %+v", s)
		}
	}
}

// Until the teacher releases it a mark is not sent; then score and comment come together,
// 0 among them; taken back, both are cleared (AGS 3.4.4, 3.4.8 and 3.4.10). The platform
// of the test checks the rest.
func TestScoreUntilItIsReleased(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		d := newDesk(t, c, 5*time.Second)
		const pupil = "a6d5c443"
		for i, s := range []lti.Score{
			{Pupil: pupil, Given: 7, Maximum: 12, Comment: "two parallel fifths"},
			{Pupil: pupil, Given: 0, Maximum: 12, Comment: "", Released: true},
			{Pupil: pupil, Given: 9.5, Maximum: 12, Comment: "measure 4 was mended", Released: true},
			{Pupil: pupil, Given: 9.5, Maximum: 12},
		} {
			_, before := d.publish(s)
			if (before == nil) != (i == 0) {
				t.Errorf("before score %d there was %+v", i, before)
			}
			if got := d.wait(pupil); got.State != store.LTIScorePublished {
				t.Fatalf("score %d came to %+v", i, got)
			}
		}
		var got []string
		for _, s := range d.Scores() {
			line := s.Grading
			if s.Given != nil {
				line += fmt.Sprintf(" %g/%g %q", *s.Given, *s.Maximum, *s.Comment)
			}
			got = append(got, line)
		}
		want := `[PendingManual FullyGraded 0/12 "" FullyGraded 9.5/12 "measure 4 was mended" PendingManual]`
		if fmt.Sprint(got) != want {
			t.Errorf("the learning system has %v, want %s", got, want)
		}
		found, err := d.tool.Result(t.Context(), d.registration, d.Column(), pupil)
		if err != nil || found != nil {
			t.Errorf("taken back there stands %+v, %v", found, err)
		}
	})
}

// Stamps of one pupil in one column only grow, even where the clock is set back (AGS 3.4.9).
func TestStampsGrow(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		var back atomic.Int64 // seconds by which the clock was set back
		start := time.Now()
		c.Now = func() time.Time { return start.Add(-time.Duration(back.Load()) * time.Second) }
		d := newDesk(t, c, 5*time.Second)
		var last int64
		for i := range 5 {
			s, _ := d.publish(lti.Score{Pupil: "p", Given: float64(i), Maximum: 12, Released: true})
			if s.Stamp <= last {
				t.Errorf("stamp %d follows %d", s.Stamp, last)
			}
			last = s.Stamp
			back.Add(10)
		}
		if got := d.wait("p"); got.State != store.LTIScorePublished || got.Given != 4 {
			t.Errorf("it came to %+v", got)
		}
		all := d.Scores()
		if len(all) == 0 || *all[len(all)-1].Given != 4 {
			t.Errorf("the learning system has %d scores", len(all))
		}
	})
}

// A learning system that fails before or after it has taken a score, is silent or late,
// has it once.
func TestScoreIsPublishedOnce(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		for _, lax := range []bool{false, true} {
			for _, trouble := range [][]ltitest.Trouble{
				{ltitest.FailBefore}, {ltitest.FailAfter}, {ltitest.Silence}, {ltitest.Late},
				{ltitest.FailBefore, ltitest.FailAfter, ltitest.Silence, ltitest.FailBefore},
			} {
				name := fmt.Sprint("lax ", lax, ", trouble ", trouble)
				t.Run(name, func(t *testing.T) {
					t.Parallel() // most of the time goes by between attempts
					c := c
					if c.URL != "" {
						c.URL = storetest.EmptyPostgres(t)
					} else {
						c.Dir = t.TempDir()
					}
					d := newDesk(t, c, 300*time.Millisecond)
					if lax {
						d.Lax()
					}
					d.Trouble(trouble...)
					d.publish(lti.Score{Pupil: "p", Given: 11, Maximum: 12, Comment: "good", Released: true})
					if got := d.wait("p"); got.State != store.LTIScorePublished {
						t.Errorf("it came to %+v", got)
					}
					if n := len(d.Scores()); n != 1 {
						t.Errorf("the learning system has it %d times", n)
					}
				})
			}
		}
	})
}

// Where what stands in the column may not be read, the refusal of a score that came through
// before says that it did.
func TestScoreIsPublishedOnceUnseen(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		d := newDesk(t, c, 5*time.Second)
		d.Trouble(ltitest.FailAfter)
		s := lti.Score{Registration: d.registration.ID, LineItem: d.Column(), Pupil: "p", Given: 11, Maximum: 12, Released: true}
		err := d.store.Write(t.Context(), func(tx store.Tx) error {
			_, _, err := d.publisher.Publish(t.Context(), tx, s)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		if got := d.wait("p"); got.State != store.LTIScorePublished {
			t.Errorf("it came to %+v", got)
		}
		if posts, repeats := d.Posts(); len(d.Scores()) != 1 || posts != 2 || repeats != 1 {
			t.Errorf("%d posts, %d repeats, %d scores", posts, repeats, len(d.Scores()))
		}
	})
}

// What a learning system goes on refusing fails, and says why; a later stamp than ours is
// a conflict at once.
func TestScoreThatFails(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		d := newDesk(t, c, 5*time.Second)
		d.publisher.Hurry(20*time.Millisecond, 2)
		var always []ltitest.Trouble
		for range 10 {
			always = append(always, ltitest.FailBefore)
		}
		d.Trouble(always...)
		d.publish(lti.Score{Pupil: "p", Given: 1, Maximum: 12, Released: true})
		if got := d.wait("p"); got.State != store.LTIScoreFailed || got.Failure != "platform-fails" {
			t.Errorf("it came to %+v", got)
		}
		if posts, _ := d.Posts(); posts != 3 {
			t.Errorf("it was tried %d times", posts)
		}
		err := d.store.Write(t.Context(), func(tx store.Tx) error {
			for _, s := range []lti.Score{
				{Pupil: "", LineItem: d.Column()}, {Pupil: "p", LineItem: d.Column(), Released: true, Given: -1, Maximum: 12},
				{Pupil: "p", LineItem: d.Column(), Released: true, Given: 1},
			} {
				s.Registration = d.registration.ID
				if _, _, err := d.publisher.Publish(t.Context(), tx, s); err == nil || codeOf(err) != lti.MalformedClaim.Code {
					t.Errorf("%+v gives %v", s, err)
				}
			}
			return nil
		})
		if err != nil {
			t.Error(err)
		}
	})
}

// Environment of the process that is killed.
const (
	killedDir  = "PARTWRIGHT_TEST_LTI_DIR"
	killedAddr = "PARTWRIGHT_TEST_LTI_ADDR"
)

// TestPublishingProcess is the process that is killed: it publishes what waits.
func TestPublishingProcess(t *testing.T) {
	dir := os.Getenv(killedDir)
	if dir == "" {
		t.Skip("only for the test that kills it")
	}
	s := storetest.Open(t, store.Config{Dir: dir})
	listener, err := net.Listen("tcp", os.Getenv(killedAddr))
	if err != nil {
		t.Fatal(err)
	}
	tool, _, q := openPublisher(t.Context(), t, s, "http://"+os.Getenv(killedAddr), 5*time.Second)
	serveKeys(t, listener, tool)
	if err := q.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	<-t.Context().Done() // until it is killed
}

// A process that publishes is killed while it does; every score comes through once.
// PARTWRIGHT_TEST_KILLS says how often (default 5).
func TestKilledWhilePublishing(t *testing.T) {
	kills := 5
	if text := os.Getenv("PARTWRIGHT_TEST_KILLS"); text != "" {
		var err error
		if kills, err = strconv.Atoi(text); err != nil {
			t.Fatal(err)
		}
	}
	scores := 4*kills + 20
	p := ltitest.NewPlatform(t)
	dir := t.TempDir()
	reserved, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	addr := reserved.Addr().String()
	_ = reserved.Close()
	p.Knows("http://" + addr)
	setScores(t, dir, addr, p, scores)
	for range scores * 3 {
		p.Trouble(ltitest.Late)
	}
	for kill := range kills {
		before, _ := p.Posts()
		process := startPublishing(t, dir, addr)
		waitForPosts(t, p, before+1+rand.IntN(3))
		time.Sleep(time.Duration(rand.IntN(90)) * time.Millisecond)
		if err := process.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		_ = process.Wait()
		if len(p.Scores()) >= scores && kill < kills-1 {
			t.Fatalf("after %d kills nothing was left to kill it for", kill+1)
		}
	}
	process := startPublishing(t, dir, addr)
	for until := time.Now().Add(2 * time.Minute); len(p.Scores()) < scores; time.Sleep(10 * time.Millisecond) {
		if time.Now().After(until) {
			t.Fatalf("%d scores of %d came through", len(p.Scores()), scores)
		}
	}
	time.Sleep(200 * time.Millisecond) // what would come twice
	_ = process.Process.Kill()
	_ = process.Wait()
	times := map[string]int{}
	for _, s := range p.Scores() {
		times[s.Pupil]++
	}
	for pupil, n := range times {
		if n != 1 {
			t.Errorf("the score of %s came through %d times", pupil, n)
		}
	}
	posts, repeats := p.Posts()
	t.Logf("%d kills, %d scores, %d posts, %d of them of a score that had come through, all refused", kills, len(times), posts, repeats)
	if len(times) != scores {
		t.Errorf("the scores of %d pupils of %d came through", len(times), scores)
	}
}

func setScores(t *testing.T, dir, addr string, p *ltitest.Platform, n int) {
	t.Helper()
	s, err := store.Open(t.Context(), store.Config{Dir: dir})
	if err != nil {
		t.Fatal(err)
	}
	r := register(t, s, p)
	_, publisher, _ := openPublisher(t.Context(), t, s, "http://"+addr, time.Second)
	err = s.Write(t.Context(), func(tx store.Tx) error {
		for i := range n {
			_, _, err := publisher.Publish(t.Context(), tx, lti.Score{
				Registration: r.ID, LineItem: p.Column(), Pupil: fmt.Sprint("pupil-", i), Released: true, Given: float64(i), Maximum: float64(n),
			})
			if err != nil {
				return err
			}
		}
		return nil
	})
	if err := errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
}

func startPublishing(t *testing.T, dir, addr string) *exec.Cmd {
	t.Helper()
	process := exec.Command(os.Args[0], "-test.run=^TestPublishingProcess$")
	process.Env = append(os.Environ(), killedDir+"="+dir, killedAddr+"="+addr)
	if err := process.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = process.Process.Kill() })
	return process
}

func waitForPosts(t *testing.T, p *ltitest.Platform, n int) {
	t.Helper()
	for until := time.Now().Add(time.Minute); ; time.Sleep(2 * time.Millisecond) {
		if posts, _ := p.Posts(); posts >= n {
			return
		}
		if time.Now().After(until) {
			t.Fatalf("the process does not publish")
		}
	}
}
