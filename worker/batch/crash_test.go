package batch_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"testing"
	"time"

	"partwright/worker"
	"partwright/worker/batch"
	"partwright/worker/queue"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// Names of the variables by which a test starts itself as a worker that is to be
// killed, and of the one that says how often (a few times without).
const (
	crashConfig = "PARTWRIGHT_TEST_CRASH_CONFIG"
	crashKills  = "PARTWRIGHT_TEST_KILLS"
)

func TestMain(m *testing.M) {
	if text := os.Getenv(crashConfig); text != "" {
		if err := workUntilKilled(text); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
	os.Exit(m.Run())
}

// unhurried takes about as long for a score as a small one does.
type unhurried struct{ pool }

func (p *unhurried) Submit(ctx context.Context, in worker.Input, o worker.Options) (*worker.Result, error) {
	time.Sleep(2 * time.Millisecond)
	return p.pool.Submit(ctx, in, o)
}

// fastQueue misses a dead worker after a second.
var fastQueue = queue.Config{Heartbeat: 200 * time.Millisecond, Dead: time.Second, FetchPoll: 50 * time.Millisecond}

func workUntilKilled(text string) error {
	var c store.Config
	if err := json.Unmarshal([]byte(text), &c); err != nil {
		return err
	}
	ctx := context.Background()
	s, err := store.Open(ctx, c)
	if err != nil {
		return err
	}
	b, err := batch.Open(ctx, batch.Config{Store: s, Pool: &unhurried{}, Workers: 2, Version: "test", ChunkScores: 16, Queue: fastQueue})
	if err == nil {
		err = b.Start(ctx)
	}
	if err != nil {
		return err
	}
	select {}
}

// crew is a number of workers that are killed and replaced.
type crew struct {
	*testing.T
	config string
	alive  []*exec.Cmd
}

func (c *crew) hire() {
	c.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), crashConfig+"="+c.config)
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		c.Fatal(err)
	}
	c.alive = append(c.alive, cmd)
}

// kill ends the oldest n workers with SIGKILL, which no process can delay.
func (c *crew) kill(n int) {
	for _, cmd := range c.alive[:n] {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	}
	c.alive = c.alive[n:]
}

// Every accepted score is answered exactly once, with its own answer, although the
// workers are killed at random moments: the single one on SQLite, on PostgreSQL
// three, one by one and all together.
func TestNothingIsLostByKills(t *testing.T) {
	kills, scoresOf := 3, 300
	if text := os.Getenv(crashKills); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil {
			t.Fatalf("%s: %v", crashKills, err)
		}
		kills, scoresOf = n, 2000
	}
	storetest.Each(t, func(t *testing.T, c store.Config) {
		config, err := json.Marshal(struct{ Dir, URL string }{c.Dir, c.URL})
		if err != nil {
			t.Fatal(err)
		}
		crew := &crew{T: t, config: string(config)}
		workers := 1
		if c.URL != "" {
			workers = 3
		}
		t.Cleanup(func() { crew.kill(len(crew.alive)) })
		left, rounds := kills, 0
		for left > 0 {
			rounds++
			id := accept(t, c, rounds, scoresOf)
			for len(crew.alive) < workers {
				crew.hire()
			}
			for range min(left, 20) { // more than a batch outlives, in the end
				time.Sleep(time.Duration(100+rand.IntN(500)) * time.Millisecond)
				n := 1
				if rand.IntN(3) == 0 {
					n = len(crew.alive)
				}
				crew.kill(n)
				for len(crew.alive) < workers {
					crew.hire()
				}
				left--
			}
			answered(t, c, crew, workers, id, rounds, scoresOf)
		}
		t.Logf("%d kills over %d batches of %d scores: every score answered once", kills, rounds, scoresOf)
	})
}

func textOf(round, i int) string { return fmt.Sprintf("round %d score %d", round, i+1) }

// accept makes a batch, in a process of its own as far as the data are concerned.
func accept(t *testing.T, c store.Config, round, n int) string {
	t.Helper()
	s, err := store.Open(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Close() }()
	b := must(batch.Open(t.Context(), batch.Config{Store: s, Version: "test", ChunkScores: 16}))(t)
	// A batch that is being received belongs to a process that lives.
	if err := b.Writable(t.Context()); err != nil {
		t.Fatal(err)
	}
	var texts []string
	for i := range n {
		texts = append(texts, textOf(round, i))
	}
	return must(b.Create(t.Context(), batch.Order{Organization: org, Items: scores(texts...)}))(t).ID
}

// answered waits until a batch is finished and looks at every answer. The
// directory of SQLite can only be looked into while no worker has it.
func answered(t *testing.T, c store.Config, crew *crew, workers int, id string, round, n int) {
	t.Helper()
	for until := time.Now().Add(2 * time.Minute); ; {
		time.Sleep(500 * time.Millisecond)
		if c.Dir != "" {
			crew.kill(len(crew.alive))
		}
		if look(t, c, id, round, n) {
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

func look(t *testing.T, c store.Config, id string, round, n int) bool {
	t.Helper()
	s, err := store.Open(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Close() }()
	b := must(batch.Open(t.Context(), batch.Config{Store: s, Version: "test"}))(t)
	status := must(b.Status(t.Context(), org, id))(t)
	if status.State != store.BatchFinished {
		return false
	}
	page := must(b.Results(t.Context(), store.ResultQuery{Organization: org, Batch: id, Limit: n + 1, Reports: true}))(t)
	if len(page) != n || status.Done != int64(n) || status.Failed != 0 {
		t.Errorf("%d answers, counts %+v; want %d", len(page), status.Counts, n)
	}
	for i, r := range page {
		var report worker.Report
		if err := json.Unmarshal(must(r.Report.Unpack())(t), &report); err != nil || r.Number != int64(i+1) || report.Score.Title != textOf(round, i) {
			t.Fatalf("answer %d is %q, %v", r.Number, report.Score.Title, err)
		}
	}
	return true
}
