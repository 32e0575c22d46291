package wall

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"partwright/worker"
	"partwright/worker/request"
	"partwright/worker/stage"
)

// niceness is how far a process gives way, from proc_pid_stat(5).
func niceness(t *testing.T, pid int) string {
	t.Helper()
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(text), ") ")
	return strings.Fields(rest)[16]
}

// Long work gives way to short work, which has children of its own.
func TestPatientWorkGivesWay(t *testing.T) {
	if !bounded {
		t.Skip("the system has no /proc")
	}
	w := newWall(t, Config{})
	check := plan(t, &request.Check{}, nil)
	in := worker.Input{Name: "a.musicxml", Data: []byte(warmUpScore)}
	patient, giveWay := stage.Pace(t.Context())
	giveWay()
	for _, ctx := range []context.Context{t.Context(), patient, t.Context(), patient} {
		if _, err := w.Do(ctx, in, check); err != nil {
			t.Fatal(err)
		}
	}
	begun, _ := w.Counts()
	if len(w.idle) != 2 || begun != 2 {
		t.Fatalf("%d children wait, %d were begun", len(w.idle), begun)
	}
	plain := niceness(t, os.Getpid())
	if plain == "19" {
		t.Skip("this process gives way as far as can be")
	}
	for _, p := range w.idle {
		now := niceness(t, p.command.Process.Pid)
		if (now == plain) == p.patient {
			t.Errorf("a child that is patient: %v has the niceness %s, this process %s", p.patient, now, plain)
		}
	}
}

// A job that takes longer than was thought gives way from then on; the children that do
// not are as many as before.
func TestLongJobGivesWay(t *testing.T) {
	if !bounded {
		t.Skip("the system has no /proc")
	}
	if niceness(t, os.Getpid()) == "19" {
		t.Skip("this process gives way as far as can be")
	}
	w := newWall(t, Config{})
	working := w.idle[0]
	before := niceness(t, working.command.Process.Pid)
	ctx, giveWay := stage.Pace(t.Context())
	ctx, cancel := context.WithCancel(ctx)
	done := make(chan error, 1)
	mend := plan(t, &request.Mend{}, said("all", "true", "severity", "remark", "alternatives", "5"))
	go func() {
		_, err := w.Do(ctx, worker.Input{Name: "a.musicxml", Data: heavy(24, 60)}, mend)
		done <- err
	}()
	for until := time.Now().Add(time.Minute); w.waits() > 0; time.Sleep(time.Millisecond) {
		if time.Now().After(until) {
			t.Fatal("the job is not begun")
		}
	}
	// Its child is taken before the wall listens for it: tell it until it has heard.
	for until := time.Now().Add(time.Minute); niceness(t, working.command.Process.Pid) == before; time.Sleep(time.Millisecond) {
		if giveWay(); time.Now().After(until) {
			t.Fatal("the child does not give way")
		}
	}
	for until := time.Now().Add(time.Minute); w.waits() != 1; time.Sleep(time.Millisecond) {
		if time.Now().After(until) {
			t.Fatal("no other child was begun")
		}
	}
	cancel()
	if err := <-done; !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}

// waits is how many children wait for work.
func (w *Wall) waits() int {
	w.mu.Lock()
	defer w.mu.Unlock()
	return len(w.idle)
}
