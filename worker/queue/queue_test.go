package queue_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/riverqueue/river"
	sdk "go.opentelemetry.io/otel/sdk/trace"
	"go.opentelemetry.io/otel/sdk/trace/tracetest"

	"partwright/worker/queue"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

const line = "test"

// note is a job that does nothing but leave its name.
type note struct {
	Name string `json:"name"`
}

func (note) Kind() string { return "note" }

// Size implements [queue.Sized].
func (n note) Size() int64 {
	if strings.HasPrefix(n.Name, "large") {
		return 3
	}
	return 1
}

// desk is a queue that notes the order in which jobs were done.
type desk struct {
	*testing.T
	*queue.Queue
	store *store.Store
	spans *tracetest.InMemoryExporter

	mu   sync.Mutex
	done []string
	// work replaces what is done for a job.
	work func(context.Context, *queue.Job[note]) error
}

func newDesk(t *testing.T, c store.Config, workers int) *desk {
	t.Helper()
	d := &desk{T: t, store: storetest.Open(t, c), spans: tracetest.NewInMemoryExporter()}
	kinds := queue.NewKinds()
	queue.Handle(kinds, func(ctx context.Context, job *queue.Job[note]) error {
		if d.work != nil {
			return d.work(ctx, job)
		}
		return d.complete(ctx, job)
	})
	config := queue.Config{
		Store: d.store, Heartbeat: 50 * time.Millisecond, Dead: 500 * time.Millisecond, FetchPoll: 20 * time.Millisecond,
		Tracing: sdk.NewTracerProvider(sdk.WithSyncer(d.spans)),
	}
	if workers > 0 {
		config.Workers = map[string]int{line: workers}
	}
	var err error
	if d.Queue, err = queue.Open(t.Context(), config, kinds); err != nil {
		t.Fatal(err)
	}
	return d
}

func (d *desk) complete(ctx context.Context, job *queue.Job[note]) error {
	err := d.store.Write(ctx, func(tx store.Tx) error { return job.Complete(ctx, tx) })
	if err == nil {
		d.mu.Lock()
		defer d.mu.Unlock()
		d.done = append(d.done, job.Args.Name)
	}
	return err
}

func (d *desk) start() {
	d.Helper()
	if err := d.Start(d.Context()); err != nil {
		d.Fatal(err)
	}
	d.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		if err := d.Stop(ctx); err != nil {
			d.Error(err)
		}
	})
}

func (d *desk) add(organization string, p queue.Priority, names ...string) {
	d.Helper()
	err := d.store.Write(d.Context(), func(tx store.Tx) error {
		if _, err := store.Exec(d.Context(), tx, `INSERT INTO organizations (id, name, created) VALUES ($1, $1, 0) ON CONFLICT DO NOTHING`, organization); err != nil {
			return err
		}
		var jobs []river.JobArgs
		for _, name := range names {
			jobs = append(jobs, note{name})
		}
		return d.Add(d.Context(), tx, organization, line, p, jobs...)
	})
	if err != nil {
		d.Fatal(err)
	}
}

// wait returns what was done once it is n jobs.
func (d *desk) wait(n int) []string {
	d.Helper()
	for until := time.Now().Add(20 * time.Second); ; time.Sleep(5 * time.Millisecond) {
		d.mu.Lock()
		done := slices.Clone(d.done)
		d.mu.Unlock()
		if len(done) >= n {
			return done
		}
		if time.Now().After(until) {
			d.Fatalf("%d jobs of %d were done: %v", len(done), n, done)
		}
	}
}

func names(prefix string, n int) []string {
	var all []string
	for i := range n {
		all = append(all, fmt.Sprint(prefix, i+1))
	}
	return all
}

func TestUrgentJobsOvertakeBulk(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		d := newDesk(t, c, 1)
		d.add("a", queue.Bulk, "archive")
		d.add("a", queue.Normal, "hand-ins")
		d.add("a", queue.Urgent, "single")
		d.start()
		if got := strings.Join(d.wait(3), " "); got != "single hand-ins archive" {
			t.Errorf("order: %s", got)
		}
	})
}

// A job that takes the work of three has the turns of three: who sends small jobs gets
// as much done meanwhile as who sends large ones.
func TestTurnsCountTheWorkOfJobs(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		d := newDesk(t, c, 1)
		d.add("a", queue.Bulk, "large1", "large2", "large3")
		d.add("b", queue.Bulk, names("b", 7)...)
		d.start()
		// b begins while large1 is on, in turn 3; large2 has turn 6, large3 turn 9.
		if got := strings.Join(d.wait(10), " "); got != "large1 b1 b2 large2 b3 b4 b5 large3 b6 b7" {
			t.Errorf("order: %s", got)
		}
	})
}

func TestOrganizationsTakeTurns(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		d := newDesk(t, c, 1)
		d.add("a", queue.Bulk, names("a", 5)...)
		d.add("b", queue.Bulk, names("b", 3)...)
		d.start()
		if got := strings.Join(d.wait(8), " "); got != "a1 a2 b1 a3 b2 a4 b3 a5" {
			t.Errorf("order: %s", got)
		}
		// What an organization had in quiet times does not put it behind later,
		// and what another had does not put it ahead.
		d.mu.Lock()
		d.done = nil
		d.mu.Unlock()
		hold := make(chan struct{})
		d.work = func(ctx context.Context, job *queue.Job[note]) error {
			<-hold
			return d.complete(ctx, job)
		}
		d.add("a", queue.Bulk, "first")
		time.Sleep(100 * time.Millisecond)
		d.add("b", queue.Bulk, names("b", 2)...)
		d.add("a", queue.Bulk, names("a", 2)...)
		close(hold)
		got := d.wait(5)
		if got[0] != "first" || slices.Equal(got[1:3], []string{"b1", "b2"}) || slices.Equal(got[1:3], []string{"a1", "a2"}) {
			t.Errorf("order: %v", got)
		}
	})
}

func TestJobIsAddedWithItsTransactionOnly(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		d := newDesk(t, c, 1)
		stop := errors.New("stop")
		err := d.store.Write(t.Context(), func(tx store.Tx) error {
			return errors.Join(d.Add(t.Context(), tx, store.SingleUser, line, queue.Urgent, note{"ghost"}), stop)
		})
		if !errors.Is(err, stop) {
			t.Fatal(err)
		}
		d.start()
		d.add("a", queue.Bulk, "real")
		if got := d.wait(1); got[0] != "real" {
			t.Errorf("done: %v", got)
		}
	})
}

func TestFailedJobIsTriedAgain(t *testing.T) {
	if testing.Short() {
		t.Skip("waits for the retry")
	}
	storetest.Each(t, func(t *testing.T, c store.Config) {
		d := newDesk(t, c, 1)
		faults := make(chan int, 10)
		d.work = func(ctx context.Context, job *queue.Job[note]) error {
			faults <- job.Faults()
			if job.Faults() == 0 {
				return errors.New("the database is gone")
			}
			return d.complete(ctx, job)
		}
		d.add("a", queue.Urgent, "patient")
		d.start()
		d.wait(1)
		if first, second := <-faults, <-faults; first != 0 || second != 1 {
			t.Errorf("faults %d, then %d", first, second)
		}
	})
}

func TestStopWaitsForWhatRuns(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		d := newDesk(t, c, 1)
		running := make(chan struct{})
		d.work = func(ctx context.Context, job *queue.Job[note]) error {
			close(running)
			time.Sleep(200 * time.Millisecond)
			return d.complete(ctx, job)
		}
		d.add("a", queue.Urgent, "one", "two")
		if err := d.Start(t.Context()); err != nil {
			t.Fatal(err)
		}
		<-running
		if err := d.Stop(t.Context()); err != nil {
			t.Fatal(err)
		}
		if got := d.wait(1); len(got) != 1 || got[0] != "one" {
			t.Errorf("done: %v; the second had not begun", got)
		}
	})
}

// A process that is killed leaves its jobs running in the table. The next one on
// the data directory takes them up at once; on PostgreSQL only those of a process
// that stopped saying that it lives.
func TestJobsOfTheDeadAreTakenUp(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		dead := newDesk(t, c, 0)
		dead.add("a", queue.Bulk, "interrupted", "untouched")
		if _, err := execute(dead.store, `INSERT INTO workers (id, seen) VALUES ('alive', 9000000000000000), ('gone', 1)`); err != nil {
			t.Fatal(err)
		}
		array := `'{dead, gone}'`
		other := `'{gone, alive}'`
		if dead.store.SQLite() != nil {
			array, other = `'["gone"]'`, `'["gone"]'`
		}
		if _, err := execute(dead.store, `UPDATE river_job SET state = 'running', attempt = 1, attempted_at = created_at, attempted_by = `+array+` WHERE scheduled_at = (SELECT min(scheduled_at) FROM river_job)`); err != nil {
			t.Fatal(err)
		}
		dead.add("a", queue.Bulk, "elsewhere")
		if _, err := execute(dead.store, `UPDATE river_job SET state = 'running', attempt = 1, attempted_at = created_at, attempted_by = `+other+` WHERE scheduled_at = (SELECT max(scheduled_at) FROM river_job)`); err != nil {
			t.Fatal(err)
		}
		want := "interrupted untouched"
		if dead.store.SQLite() != nil {
			want += " elsewhere"
		}
		if err := dead.store.Close(); err != nil {
			t.Fatal(err)
		}
		d := newDesk(t, c, 1)
		d.start()
		got := strings.Join(d.wait(strings.Count(want, " ")+1), " ")
		time.Sleep(50 * time.Millisecond)
		if got != want {
			t.Errorf("done: %s, want %s", got, want)
		}
	})
}

// A job can stand in the table as running here and run nowhere: the database was
// gone when it was handed out, or when its error was to be written. It is taken up
// again while the process lives, and not counted as if the process had ended; what
// really runs is let alone, however long it takes.
func TestStrayJobsAreTakenUp(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		d := newDesk(t, c, 2)
		var begun sync.Map
		d.work = func(ctx context.Context, job *queue.Job[note]) error {
			n, _ := begun.LoadOrStore(job.Args.Name, new(atomic.Int64))
			n.(*atomic.Int64).Add(1)
			if job.Deaths() != 0 || job.Faults() != 0 {
				t.Errorf("%s: %d deaths, %d faults", job.Args.Name, job.Deaths(), job.Faults())
			}
			if job.Args.Name == "slow" {
				time.Sleep(2 * time.Second) // several times as long as a stray is watched
			}
			return d.complete(ctx, job)
		}
		d.add("a", queue.Bulk, "stray")
		mine := `'{` + d.ID() + `}'`
		if d.store.SQLite() != nil {
			mine = `'["` + d.ID() + `"]'`
		}
		d.start()
		d.wait(1)
		time.Sleep(300 * time.Millisecond) // River looks once more at what it has done
		if n, err := execute(d.store, `UPDATE river_job SET state = 'running', finalized_at = NULL, attempt = 1, attempted_by = `+mine); n != 1 || err != nil {
			t.Fatalf("%d jobs were lost, %v", n, err)
		}
		d.add("a", queue.Bulk, "slow")
		got := d.wait(3)
		if strings.Join(got, " ") != "stray stray slow" {
			t.Errorf("done: %v", got)
		}
		if n, _ := begun.Load("slow"); n.(*atomic.Int64).Load() != 1 {
			t.Errorf("a job that ran was begun %d times", n.(*atomic.Int64).Load())
		}
	})
}

func execute(s *store.Store, statement string) (n int64, err error) {
	ctx := context.Background()
	err = s.Write(ctx, func(tx store.Tx) error {
		n, err = store.Exec(ctx, tx, statement)
		return err
	})
	return n, err
}

func TestBacklogs(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		d := newDesk(t, c, 0)
		d.add("a", queue.Bulk, names("n", 3)...)
		d.add("a", queue.Urgent, "single")
		time.Sleep(20 * time.Millisecond)
		got, err := d.Backlogs(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		found := map[string]int64{}
		for _, b := range got {
			found[b.Line+" "+b.Priority.String()] = b.Jobs
			if b.Oldest <= 0 || b.Oldest > time.Minute {
				t.Errorf("the oldest of %v is %v old", b.Priority, b.Oldest)
			}
		}
		if len(found) != 2 || found["test bulk"] != 3 || found["test urgent"] != 1 {
			t.Errorf("backlogs %v", found)
		}
	})
}
