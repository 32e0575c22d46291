package batch_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"partwright/worker/batch"
	"partwright/worker/queue"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// answeredOnce waits for the end of a batch of good scores and fails the test
// unless each of them has one answer, its own.
func (b *bench) answeredOnce(id string, sent []string) {
	b.Helper()
	status := b.wait(id, store.BatchFinished)
	if status.Done != int64(len(sent)) || status.Failed != 0 {
		b.Errorf("counts %+v", status.Counts)
	}
	all := b.results(id)
	if len(all) != len(sent) {
		b.Fatalf("%d answers to %d scores", len(all), len(sent))
	}
	for i, r := range all {
		text := string(must(r.Report.Unpack())(b.T))
		if r.Number != int64(i+1) || !strings.Contains(text, `"`+sent[i]+`"`) {
			b.Errorf("answer %d is numbered %d: %s", i+1, r.Number, text)
		}
	}
}

func texts(n int) []string {
	var all []string
	for i := range n {
		all = append(all, fmt.Sprintf("score %d.", i+1))
	}
	return all
}

// small is a folder on a disk of its own, of so many MiB; the test is skipped where
// this process may not make one.
func small(t *testing.T, mebibytes int) string {
	t.Helper()
	dir := t.TempDir()
	size := fmt.Sprintf("size=%dm", mebibytes)
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", size, "tmpfs", dir).CombinedOutput(); err != nil { // #nosec G204 -- the test's own words
		t.Skipf("no small disk can be made here: %v: %s", err, out)
	}
	t.Cleanup(func() {
		if out, err := exec.Command("umount", "--lazy", dir).CombinedOutput(); err != nil { // #nosec G204 -- the same
			t.Errorf("%v: %s", err, out)
		}
	})
	return dir
}

func TestDiskThatIsFullForAWhile(t *testing.T) {
	disk := small(t, 8)
	b := newBench(t, store.Config{Dir: filepath.Join(disk, "data")}, nil)
	b.pool.hold = make(chan struct{})
	b.start()
	all := texts(30)
	before := b.create(asked(), all...)

	rest := filepath.Join(disk, "rest")
	// A log that is emptied just then makes room again.
	for tries := 0; b.Writable(t.Context()) == nil; tries++ {
		if tries == 10 {
			t.Fatal("the database takes writes on a full disk")
		}
		fill(t, rest)
	}
	if _, err := b.Create(t.Context(), batch.Order{Organization: org, Request: asked(), Items: scores(texts(3)...)}); err == nil {
		t.Error("a batch was accepted on a full disk")
	}
	close(b.pool.hold) // answers come, and cannot be kept
	time.Sleep(500 * time.Millisecond)
	if status, err := b.Status(t.Context(), org, before.ID); err == nil && status.State == store.BatchFinished {
		t.Error("the batch is finished on a full disk: the disk was not full")
	}

	if err := os.Remove(rest); err != nil {
		t.Fatal(err)
	}
	b.answeredOnce(before.ID, all)
	after := b.create(asked(), "one", "another")
	b.answeredOnce(after.ID, []string{"one", "another"})
}

// fill takes all the room that is left.
func fill(t *testing.T, file string) {
	t.Helper()
	f, err := os.OpenFile(file, os.O_CREATE|os.O_WRONLY|os.O_APPEND, 0o600) // #nosec G304 -- the test's own
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	for size := 1 << 20; size > 0; size /= 2 {
		for err = nil; err == nil; {
			_, err = f.Write(make([]byte, size))
		}
	}
}

func TestDataDirectoryThatCannotBeWritten(t *testing.T) {
	disk := small(t, 8)
	if out, err := exec.Command("mount", "-o", "remount,ro", disk).CombinedOutput(); err != nil { // #nosec G204 -- the test's own words
		t.Skipf("the disk cannot be made read-only: %v: %s", err, out)
	}
	dir := filepath.Join(disk, "data")
	if _, err := store.Open(t.Context(), store.Config{Dir: dir}); err == nil || !strings.Contains(err.Error(), dir) {
		t.Errorf("the error does not say which directory: %v", err)
	}
}

// Clocks are set. What is late by one clock and early by another is answered once.
func TestClockThatJumps(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		var ahead atomic.Int64
		c.Now = func() time.Time { return time.Now().Add(time.Duration(ahead.Load())) }
		b := newBench(t, c, func(c *batch.Config) {
			c.Queue = queue.Config{FetchPoll: 20 * time.Millisecond, Heartbeat: 50 * time.Millisecond, Dead: 300 * time.Millisecond}
		})
		b.pool.hold = make(chan struct{})
		b.start()
		all := texts(20)
		made := b.create(asked(), all...)
		for _, jump := range []time.Duration{48 * time.Hour, -48 * time.Hour, time.Second} {
			ahead.Store(int64(jump))
			for range 3 {
				b.pool.hold <- struct{}{}
			}
			time.Sleep(150 * time.Millisecond) // some heartbeats by the new time
		}
		close(b.pool.hold)
		b.answeredOnce(made.ID, all)
	})
}

// wire stands between the service and its database, and can be cut.
type wire struct {
	net.Listener
	to string

	mu  sync.Mutex
	cut bool
	// frozen lets nothing through while it is held.
	frozen sync.RWMutex
	ends   []net.Conn
	tasks  sync.WaitGroup
}

func newWire(t *testing.T, to string) *wire {
	t.Helper()
	var listen net.ListenConfig
	l, err := listen.Listen(t.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	w := &wire{Listener: l, to: to}
	w.tasks.Go(w.accept)
	t.Cleanup(func() {
		_ = l.Close()
		w.set(true)
		w.tasks.Wait()
	})
	return w
}

func (w *wire) accept() {
	for {
		near, err := w.Accept()
		if err != nil {
			return
		}
		far, err := (&net.Dialer{}).DialContext(context.Background(), "tcp", w.to)
		w.mu.Lock()
		if err != nil || w.cut {
			_ = near.Close()
			if err == nil {
				_ = far.Close()
			}
			w.mu.Unlock()
			continue
		}
		w.ends = append(w.ends, near, far)
		w.mu.Unlock()
		for _, way := range [][2]net.Conn{{near, far}, {far, near}} {
			w.tasks.Go(func() {
				_, _ = io.Copy(thawed{way[0], &w.frozen}, way[1])
				_ = way[0].Close()
			})
		}
	}
}

func (w *wire) set(cut bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.cut = cut
	if cut {
		for _, end := range w.ends {
			_ = end.Close()
		}
		w.ends = nil
	}
}

// newWired is a bench whose database is behind a wire.
func newWired(t *testing.T, c store.Config) (*bench, *wire) {
	t.Helper()
	u, err := url.Parse(storetest.EmptyPostgres(t))
	if err != nil {
		t.Fatal(err)
	}
	w := newWire(t, u.Host)
	u.Host = w.Addr().String()
	c.URL = u.String()
	return newBench(t, c, func(c *batch.Config) { c.Queue = fastQueue }), w
}

// thawed writes when the wire is not frozen.
type thawed struct {
	io.Writer
	frozen *sync.RWMutex
}

func (t thawed) Write(p []byte) (int, error) {
	t.frozen.RLock()
	defer t.frozen.RUnlock()
	return t.Writer.Write(p)
}

// A database that says nothing any more, as one does whose machine is gone, is not
// waited for: who asks is told, and work goes on when there is one again.
func TestDatabaseThatFallsSilent(t *testing.T) {
	b, w := newWired(t, store.Config{Patience: time.Second})
	all := texts(40)
	made := b.begun(all, 10)
	w.frozen.Lock()
	close(b.pool.hold) // answers come, and cannot be kept
	for range 12 {     // more than there are connections
		if _, err := b.Status(t.Context(), org, made.ID); !errors.Is(err, store.ErrDown) {
			t.Errorf("asked for the batch: %v", err)
		}
	}
	w.frozen.Unlock()
	b.back(made.ID)
	b.answeredOnce(made.ID, all)
}

// back waits until the database answers again: the connections that were silent are
// found broken one by one, and each says so once.
func (b *bench) back(id string) {
	b.Helper()
	for until := time.Now().Add(20 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		_, err := b.Status(b.Context(), org, id)
		if err == nil {
			return
		}
		if !errors.Is(err, store.ErrDown) || time.Now().After(until) {
			b.Fatal(err)
		}
	}
}

// begun is a batch of which so many scores have been worked on; the others are when the
// pool is let go.
func (b *bench) begun(all []string, worked int) *store.Batch {
	b.Helper()
	b.pool.hold = make(chan struct{})
	b.start()
	made := b.create(asked(), all...)
	for range worked {
		b.pool.hold <- struct{}{}
	}
	return made
}

// outageTime is the variable that says how long the database is gone.
const outageTime = "PARTWRIGHT_TEST_OUTAGE"

// Jobs in hand when the database goes away cannot even be given back; whoever works
// on them goes on by himself when it returns, however long that took.
func TestDatabaseThatIsGoneForAWhile(t *testing.T) {
	if testing.Short() {
		t.Skip("takes the database away for seconds")
	}
	outage := 2 * time.Second
	if text := os.Getenv(outageTime); text != "" {
		var err error
		if outage, err = time.ParseDuration(text); err != nil {
			t.Fatalf("%s: %v", outageTime, err)
		}
	}
	b, w := newWired(t, store.Config{})
	all := texts(40)
	made := b.begun(all, 10)
	w.set(true)
	if err := b.Writable(t.Context()); err == nil {
		t.Error("the database takes writes while it is gone")
	}
	close(b.pool.hold) // answers come, and cannot be kept
	time.Sleep(outage)
	w.set(false)
	for until := time.Now().Add(20 * time.Second); b.Writable(t.Context()) != nil; time.Sleep(50 * time.Millisecond) {
		if time.Now().After(until) {
			t.Fatal("the database did not come back")
		}
	}
	b.answeredOnce(made.ID, all)
}
