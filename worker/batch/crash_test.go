package batch_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/batch"
	"partwright/worker/files"
	"partwright/worker/pool"
	"partwright/worker/queue"
	"partwright/worker/request"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// Names of the variables by which a test starts itself as a process that is to be
// killed, and of the one that says how often (a few times without).
const (
	crashRole  = "PARTWRIGHT_TEST_CRASH"
	crashKills = "PARTWRIGHT_TEST_KILLS"
)

// role is what a process that is to be killed does.
type role struct {
	// Dir, URL and Blobs are those of its [store.Config].
	Dir, URL, Blobs string
	// Engine works with the real one; else with one that answers every score with
	// its text.
	Engine bool
	// Delete deletes all batches, in place of working.
	Delete bool
	// Receive is how many scores of the batch of Round the process takes in, in
	// place of working.
	Receive, Round int
	// Began is when it was started, in microseconds since 1970.
	Began int64
}

func TestMain(m *testing.M) {
	if text := os.Getenv(crashRole); text != "" {
		if err := playUntilKilled(text); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
	os.Exit(m.Run())
}

// unhurried takes about as long for a score as a small one does.
type unhurried struct{ stubPool }

func (p *unhurried) Do(ctx context.Context, in worker.Input, plan request.Plan) (*answer.Answer, error) {
	time.Sleep(2 * time.Millisecond)
	return p.stubPool.Do(ctx, in, plan)
}

// fastQueue misses a dead worker after a second.
var fastQueue = queue.Config{Heartbeat: 200 * time.Millisecond, Dead: time.Second, FetchPoll: 50 * time.Millisecond}

func playUntilKilled(text string) error {
	var r role
	if err := json.Unmarshal([]byte(text), &r); err != nil {
		return err
	}
	ctx := context.Background()
	s, err := store.Open(ctx, store.Config{Dir: r.Dir, URL: r.URL, Blobs: r.Blobs})
	if err != nil {
		return err
	}
	config := batch.Config{Store: s, Workers: 2, Version: "test", ChunkScores: 16, Queue: fastQueue}
	switch {
	case r.Receive > 0:
	case r.Engine:
		config.Pool, err = pool.New(pool.Config{Size: 2}, &worker.Engine{Version: "test"}, nil, nil)
	default:
		config.Pool = &unhurried{}
	}
	if err != nil {
		return err
	}
	before, err := answers(ctx, s)
	if err != nil {
		return err
	}
	b, err := batch.Open(ctx, config)
	if err == nil {
		err = b.Start(ctx)
	}
	if err != nil {
		return err
	}
	if r.Delete {
		if err := deleteBatches(ctx, s); err != nil {
			return err
		}
		os.Exit(0)
	}
	if r.Receive > 0 {
		made, err := b.Create(ctx, r.order())
		if err != nil {
			return err
		}
		fmt.Println(made.ID)
		return b.Stop(ctx)
	}
	for {
		now, err := answers(ctx, s)
		if err != nil {
			return err
		}
		if now > before {
			fmt.Println(time.Now().UnixMicro() - r.Began)
			select {}
		}
		time.Sleep(2 * time.Millisecond)
	}
}

// deleteBatches deletes every batch that is there, also where another does so too.
func deleteBatches(ctx context.Context, s *store.Store) error {
	var ids []string
	err := s.Read(ctx, func(tx store.Tx) error {
		return store.Each(ctx, tx, func(scan store.Scan) error {
			var id string
			err := scan(&id)
			ids = append(ids, id)
			return err
		}, `SELECT id FROM batches`)
	})
	for _, id := range ids {
		if err == nil {
			err = s.DeleteBatch(ctx, org, id)
		}
		if errors.Is(err, store.ErrNotFound) {
			err = s.FinishDeletion(ctx, org, id)
		}
		if err == nil {
			err = s.RemoveBlobs(ctx)
		}
	}
	return err
}

// answers is how many scores are answered.
func answers(ctx context.Context, s *store.Store) (n int64, err error) {
	err = s.Read(ctx, func(tx store.Tx) error {
		return store.Each(ctx, tx, func(scan store.Scan) error { return scan(&n) }, `SELECT CAST(coalesce(sum(done), 0) AS BIGINT) FROM batches`)
	})
	return n, err
}

// crew is a number of processes that are killed and replaced.
type crew struct {
	*testing.T
	role
	alive []*exec.Cmd
	lines sync.WaitGroup

	mu sync.Mutex
	// first are the times from the start of a process to an answer.
	first []time.Duration
}

func (c *crew) hire() {
	c.Helper()
	c.Began = time.Now().UnixMicro()
	cmd, out := c.start()
	c.alive = append(c.alive, cmd)
	c.lines.Go(func() {
		for out.Scan() {
			if n, err := strconv.Atoi(out.Text()); err == nil {
				c.mu.Lock()
				c.first = append(c.first, time.Duration(n)*time.Microsecond)
				c.mu.Unlock()
			}
		}
	})
}

func (c *crew) start() (*exec.Cmd, *bufio.Scanner) {
	c.Helper()
	text, err := json.Marshal(c.role)
	if err != nil {
		c.Fatal(err)
	}
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), crashRole+"="+string(text))
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err == nil {
		err = cmd.Start()
	}
	if err != nil {
		c.Fatal(err)
	}
	return cmd, bufio.NewScanner(out)
}

// kill ends the oldest n workers with SIGKILL, which no process can delay.
func (c *crew) kill(n int) {
	for _, cmd := range c.alive[:n] {
		_ = cmd.Process.Kill()
	}
	if n == len(c.alive) {
		c.lines.Wait() // for what they said before their pipes are closed
	}
	for _, cmd := range c.alive[:n] {
		_ = cmd.Wait()
	}
	c.alive = c.alive[n:]
}

// kills is how often to kill, and how many scores a batch has.
func kills(t *testing.T) (times, scoresOf int) {
	t.Helper()
	text := os.Getenv(crashKills)
	if text == "" {
		return 2, 200
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatalf("%s: %v", crashKills, err)
	}
	return n, 2000
}

// Every accepted score is answered exactly once, with its own answer, although the
// workers are killed at random moments: the single one on SQLite, on PostgreSQL
// three, one by one and all together.
func TestNothingIsLostByKills(t *testing.T) {
	if testing.Short() {
		t.Skip("kills processes")
	}
	for name, engine := range map[string]bool{"texts": false, "engine": true} {
		t.Run(name, func(t *testing.T) {
			storetest.Each(t, func(t *testing.T, c store.Config) { killWorkers(t, c, engine) })
		})
	}
}

// With scores and answers in a folder it is the same. What killed processes have left there
// is swept, and nothing is left once the batches are deleted, by processes that are killed
// as well.
func TestNothingIsLostOutsideByKills(t *testing.T) {
	if testing.Short() {
		t.Skip("kills processes")
	}
	storetest.Each(t, func(t *testing.T, c store.Config) {
		c.Blobs = t.TempDir()
		killWorkers(t, c, false)
		s := storetest.Open(t, c)
		swept := sweep(t, s)
		rows := int64(0)
		err := s.Read(t.Context(), func(tx store.Tx) error {
			return store.Each(t.Context(), tx, func(scan store.Scan) error { return scan(&rows) },
				`SELECT (SELECT count(*) FROM blobs) + (SELECT count(*) FROM scores)`)
		})
		if err != nil {
			t.Fatal(err)
		}
		if files := stored(t, c.Blobs); rows == 0 || int64(files) != rows {
			t.Errorf("%d documents lie there for %d rows", files, rows)
		}
		t.Logf("%d documents, of which killed processes had left %d beside", rows, swept)
		deleteAll(t, c, s)
		if s.SQLite() != nil {
			s = storetest.Open(t, c)
		}
		sweep(t, s)
		if files := stored(t, c.Blobs); files != 0 {
			t.Errorf("%d documents lie there after all batches were deleted", files)
		}
	})
}

// sweep removes everything outside that belongs to no row.
func sweep(t *testing.T, s *store.Store) (removed int) {
	t.Helper()
	if err := s.RemoveBlobs(t.Context()); err != nil {
		t.Fatal(err)
	}
	for {
		n, end, err := s.SweepBlobs(t.Context(), 0, 100)
		if err != nil {
			t.Fatal(err)
		}
		if removed += n; end {
			return removed
		}
	}
}

// stored counts what lies in a folder of blobs beside the mark.
func stored(t *testing.T, dir string) (files int) {
	t.Helper()
	err := filepath.WalkDir(dir, func(_ string, entry fs.DirEntry, err error) error {
		if err == nil && !entry.IsDir() {
			files++
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files - 1
}

// deleteAll deletes all batches by a process that is killed and one that goes on; on
// PostgreSQL by another beside.
func deleteAll(t *testing.T, c store.Config, s *store.Store) {
	t.Helper()
	if s.SQLite() != nil {
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	crew := &crew{T: t, role: role{Dir: c.Dir, URL: c.URL, Blobs: c.Blobs, Delete: true}}
	t.Cleanup(func() { crew.kill(len(crew.alive)) })
	crew.hire()
	if c.URL != "" {
		crew.hire()
	}
	time.Sleep(time.Duration(50+rand.IntN(100)) * time.Millisecond)
	crew.kill(1)
	crew.hire()
	for _, cmd := range crew.alive {
		if err := cmd.Wait(); err != nil {
			t.Fatalf("a process that deletes ended with %v", err)
		}
	}
	crew.alive = nil
}

func killWorkers(t *testing.T, c store.Config, engine bool) {
	times, scoresOf := kills(t)
	crew := &crew{T: t, role: role{Dir: c.Dir, URL: c.URL, Blobs: c.Blobs, Engine: engine}}
	workers := 1
	if c.URL != "" {
		workers = 3
	}
	t.Cleanup(func() { crew.kill(len(crew.alive)) })
	all := 0
	for left := times; left > 0; {
		crew.Round++
		id := accept(t, c, crew.role, scoresOf)
		for len(crew.alive) < workers {
			crew.hire()
		}
		for left > 0 {
			time.Sleep(time.Duration(50+rand.IntN(400)) * time.Millisecond)
			n := 1
			if rand.IntN(3) == 0 {
				n = len(crew.alive)
			}
			together := n == len(crew.alive)
			crew.kill(n)
			if finished(t, c, id) {
				break // before they were killed
			}
			left--
			if together {
				all++
			}
			for len(crew.alive) < workers {
				crew.hire()
			}
		}
		answered(t, c, crew, workers, id, scoresOf)
	}
	t.Logf("%d kills, %d of them of all workers, over %d batches of %d scores: every score answered once", times, all, crew.Round, scoresOf)
	if f := crew.first; len(f) > 0 {
		slices.Sort(f)
		t.Logf("from the start of a process to the next answer, %d times: median %v, 95 %% %v, most %v", len(f), f[len(f)/2], f[len(f)*95/100], f[len(f)-1])
	}
}

// order is the batch of a round.
func (r role) order() batch.Order {
	return batch.Order{
		Organization: org, Request: asked("marks", strconv.FormatBool(r.Engine)),
		Items: func(yield func(files.Item) bool) {
			for i := range r.Receive {
				name := fmt.Sprintf("class/%d.musicxml", i+1)
				if !yield(files.Item{Name: name, Read: func() ([]byte, error) { return r.score(i) }}) {
					return
				}
			}
		},
		Key: batch.Key{Value: fmt.Sprint("round ", r.Round), Fingerprint: fmt.Sprint(r.Round)},
	}
}

// title is that of a score's report: no two are the same.
func (r role) title(i int) string { return fmt.Sprintf("round %d score %d", r.Round, i+1) }

// score is the text of one: for the engine one of the demo class, turn by turn.
func (r role) score(i int) ([]byte, error) {
	if !r.Engine {
		return []byte(r.title(i)), nil
	}
	class := []string{"hand-in", "keyboard", "model", "worksheet"}
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "class", class[i%len(class)]+".musicxml"))
	_, after, _ := bytes.Cut(text, []byte("<work-title>"))
	old, _, found := bytes.Cut(after, []byte("</work-title>"))
	if err == nil && !found {
		err = fmt.Errorf("%s has no title", class[i%len(class)])
	}
	return bytes.Replace(text, old, []byte(r.title(i)), 1), err
}

// visit opens a service on the data for a moment, in a process of its own as far as
// they are concerned. Nothing is worked on.
func visit[T any](t *testing.T, c store.Config, do func(*batch.Service) T) T {
	t.Helper()
	s, err := store.Open(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Close() }()
	return do(must(batch.Open(t.Context(), batch.Config{Store: s, Version: "test", ChunkScores: 16}))(t))
}

func accept(t *testing.T, c store.Config, r role, n int) string {
	t.Helper()
	return visit(t, c, func(b *batch.Service) string {
		// A batch that is being received belongs to a process that lives.
		if err := b.Writable(t.Context()); err != nil {
			t.Fatal(err)
		}
		r.Receive = n
		return must(b.Create(t.Context(), r.order()))(t).ID
	})
}

// answered waits until a batch is finished and looks at every answer. The
// directory of SQLite can only be looked into while no worker has it.
func answered(t *testing.T, c store.Config, crew *crew, workers int, id string, n int) {
	t.Helper()
	for until := time.Now().Add(3 * time.Minute); ; {
		time.Sleep(500 * time.Millisecond)
		if c.Dir != "" {
			crew.kill(len(crew.alive))
		}
		if look(t, c, crew.role, id, n) {
			crew.kill(len(crew.alive))
			return
		}
		if time.Now().After(until) {
			t.Fatal("the batch does not come to its end")
		}
		for len(crew.alive) < workers {
			crew.hire()
		}
		if c.Dir != "" {
			time.Sleep(time.Second)
		}
	}
}

func finished(t *testing.T, c store.Config, id string) bool {
	t.Helper()
	return visit(t, c, func(b *batch.Service) bool {
		return must(b.Status(t.Context(), org, id))(t).State == store.BatchFinished
	})
}

// look tells whether a batch is finished, and then looks at every answer.
func look(t *testing.T, c store.Config, r role, id string, n int) bool {
	t.Helper()
	return visit(t, c, func(b *batch.Service) bool {
		status := must(b.Status(t.Context(), org, id))(t)
		if status.State != store.BatchFinished {
			return false
		}
		r.inspect(t, b, status, n)
		return true
	})
}

// inspect holds the answers of a finished batch of n scores to what was sent.
func (r role) inspect(t *testing.T, b *batch.Service, status *batch.Status, n int) {
	t.Helper()
	page := must(b.Results(t.Context(), store.ResultQuery{Organization: org, Batch: status.ID, Limit: n + 1, Reports: true, Marked: true}))(t)
	if len(page) != n || status.Done != int64(n) || status.Failed != 0 {
		t.Fatalf("round %d: %d answers, counts %+v; want %d", r.Round, len(page), status.Counts, n)
	}
	for i := range page {
		if page[i].Number != int64(i+1) {
			t.Fatalf("answer %d has the number %d", i+1, page[i].Number)
		}
		r.compare(t, i, &page[i])
	}
}

// compare holds an answer to what the score is answered where nobody is killed.
func (r role) compare(t *testing.T, i int, got *store.Result) {
	t.Helper()
	said := must(got.Report.Unpack())(t)
	if !r.Engine {
		if !strings.Contains(string(said), strconv.Quote(r.title(i))) {
			t.Fatalf("answer %d is %s", i+1, said)
		}
		return
	}
	engine := worker.Engine{Version: "test"}
	plan := must(r.order().Request.Plan())(t).Check
	want := must(engine.Do(t.Context(), worker.Input{Name: got.Name, Data: must(r.score(i))(t)}, plan))(t)
	if line := must(want.Line())(t); !bytes.Equal(said, line) {
		t.Fatalf("answer %d is %s, want %s", i+1, said, line)
	}
	if marked := must(got.Marked.Unpack())(t); !bytes.Equal(marked, want.Score().Data) {
		t.Fatalf("the marked score of answer %d is another: %s", i+1, marked)
	}
}
