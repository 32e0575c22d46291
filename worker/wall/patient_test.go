package wall

import (
	"context"
	"fmt"
	"os"
	"strings"
	"testing"

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
	for _, ctx := range []context.Context{t.Context(), stage.Patient(t.Context()), t.Context(), stage.Patient(t.Context())} {
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
