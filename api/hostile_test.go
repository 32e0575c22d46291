package api

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	runtimemetrics "runtime/metrics"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"partwright/worker/pool"
)

const (
	hostileFolder = "../../shared/data/hostile"
	// residentLimit is what the whole process may hold while every trap is
	// worked on at once.
	residentLimit = 512 << 20
)

// trap is one file that wants to do harm, and what must come of it.
type trap struct{ file, expect, path string }

func traps(t *testing.T) []trap {
	t.Helper()
	if testing.Short() {
		t.Skip("posts every hostile file")
	}
	table, err := os.Open(filepath.Join(hostileFolder, "EXPECT.tsv"))
	if err != nil {
		t.Skipf("no hostile files to post: %v", err)
	}
	defer func() { _ = table.Close() }()
	reader := csv.NewReader(table)
	reader.Comma, reader.LazyQuotes, reader.FieldsPerRecord = '\t', true, -1
	rows, err := reader.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	large := largeTraps(t)
	var all []trap
	for _, row := range rows[1:] {
		path := filepath.Join(hostileFolder, row[0])
		if row[2] == "generate" {
			if large == "" {
				continue
			}
			path = filepath.Join(large, row[0])
		}
		all = append(all, trap{file: row[0], expect: row[3], path: path})
	}
	if len(all) == 0 {
		t.Fatal("the table of hostile files is empty")
	}
	return all
}

// largeTraps generates the large files when PARTWRIGHT_LARGE is set.
func largeTraps(t *testing.T) string {
	t.Helper()
	if os.Getenv("PARTWRIGHT_LARGE") == "" {
		return ""
	}
	dir := t.TempDir()
	script := filepath.Join(hostileFolder, "gen_hostile.py")
	if out, err := exec.CommandContext(t.Context(), "python3", script, "--big", dir).CombinedOutput(); err != nil {
		t.Skipf("the large files could not be generated: %v\n%s", err, out)
	}
	return dir
}

// listen counts connections to the address that some traps name.
func listen(t *testing.T) *atomic.Int32 {
	t.Helper()
	var arrived atomic.Int32
	listener, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:18999")
	if err != nil {
		t.Logf("the address that some files name is not watched: %v", err)
		return &arrived
	}
	t.Cleanup(func() { _ = listener.Close() })
	go func() {
		for {
			conn, err := listener.Accept()
			if err != nil {
				return
			}
			arrived.Add(1)
			_ = conn.Close()
		}
	}()
	return &arrived
}

// resident is what the process holds and has not given back to the system.
func resident() uint64 {
	samples := []runtimemetrics.Sample{
		{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"},
	}
	runtimemetrics.Read(samples)
	return samples[0].Value.Uint64() - samples[1].Value.Uint64()
}

// peak watches resident memory until stop is called, and returns the most.
func peak() (stop func() uint64) {
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan uint64, 1)
	go func() {
		ticker := time.NewTicker(2 * time.Millisecond)
		defer ticker.Stop()
		most := resident()
		for {
			select {
			case <-ticker.C:
				most = max(most, resident())
			case <-ctx.Done():
				done <- max(most, resident())
				return
			}
		}
	}()
	return func() uint64 {
		cancel()
		return <-done
	}
}

// Every trap is posted several times at once. None may hurt the service, show a
// file of its machine, or make it open a connection.
func TestHostileScores(t *testing.T) {
	all := traps(t)
	canary, err := os.ReadFile(filepath.Join(hostileFolder, "canary.txt"))
	if err != nil {
		t.Fatal(err)
	}
	arrived := listen(t)
	s := newService(t, enginePool(t, nil, pool.Config{Queue: 10_000, Wait: 10 * time.Minute}), Config{})
	stop := peak()
	// Checks come twice, so that one score is worked on two times at once.
	ways := []string{"/v1/checks", "/v1/checks", "/v1/checks?marks=true&fixes=2&analysis=true", "/v1/mendings", "/v1/voicings", "/v1/cleanings"}
	var posting sync.WaitGroup
	for _, address := range ways {
		for _, trap := range all {
			data, err := os.ReadFile(trap.path)
			if err != nil {
				t.Fatal(err)
			}
			posting.Go(func() {
				r := post(address, string(data), "Content-Type", "application/octet-stream",
					"Content-Disposition", `attachment; filename="`+trap.file+`"`)
				w := newRecorder(s.server.Handler(), r)
				s.conforms(r, w.Code, w.Header(), w.Body.Bytes())
				judge(t, address, trap, w.Code, w.Body.Bytes(), canary)
			})
		}
	}
	posting.Wait()
	most := stop()
	t.Logf("%d posts of %d files at once; at most %d MB resident", len(ways)*len(all), len(all), most>>20)
	if most > residentLimit {
		t.Errorf("%d MB resident, the limit is %d MB", most>>20, residentLimit>>20)
	}
	if n := arrived.Load(); n > 0 {
		t.Errorf("%d connections were opened to an address that a score names", n)
	}
	if left := s.server.handlers.memory.claimed.Load(); left != 0 {
		t.Errorf("%d bytes of uploads are still counted", left)
	}
}

func judge(t *testing.T, address string, trap trap, status int, body, canary []byte) {
	t.Helper()
	if status >= 500 {
		t.Errorf("%s to %s: %d %s", trap.file, address, status, body)
	}
	if bytes.Contains(body, bytes.TrimSpace(canary)) || bytes.Contains(body, []byte("root:")) {
		t.Errorf("%s: the answer shows a file of the machine", trap.file)
	}
	if bytes.Contains(body, []byte("goroutine ")) || bytes.Contains(body, []byte(".go:")) {
		t.Errorf("%s: the answer shows a stack: %s", trap.file, body)
	}
	refused := status >= 400
	switch trap.expect {
	case "refuse", "batch": // an archive is no single score
		if !refused {
			t.Errorf("%s was read by %s", trap.file, address)
		}
	case "accept":
		if refused {
			t.Errorf("%s was refused by %s: %s", trap.file, address, body)
		}
	case "flag":
		// A cleaning takes marks off and says nothing of the music.
		said := bytes.Contains(body, []byte(`"notices":[`)) && !bytes.Contains(body, []byte(`"notices":[]`))
		if !refused && !said && address != "/v1/cleanings" {
			t.Errorf("%s was read by %s and nothing said", trap.file, address)
		}
	}
	if refused {
		var p Problem
		if err := json.Unmarshal(body, &p); err != nil || p.File != trap.file || p.Detail == "" || p.Advice == "" {
			t.Errorf("%s: the refusal does not name the file, the cause and what to do: %s", trap.file, body)
		}
	}
}

// Names of uploads that want to do harm.
func TestHostileNames(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(hostileFolder, "UPLOAD_NAMES.json"))
	if err != nil {
		t.Skipf("no hostile names to send: %v", err)
	}
	var names []struct{ Name, Expect, What string }
	if err := json.Unmarshal(text, &names); err != nil || len(names) == 0 {
		t.Fatalf("%d names, %v", len(names), err)
	}
	s := newService(t, enginePool(t, nil, pool.Config{}), Config{})
	for _, n := range names {
		w := s.do(form(t, "/v1/checks", field{"score", n.Name, string(demo(t, "model.musicxml"))}))
		var report struct{ File string }
		if err := json.Unmarshal(w.Body.Bytes(), &report); err != nil || w.Code != http.StatusOK {
			t.Errorf("%s: %d %v", n.What, w.Code, err)
		}
		if strings.ContainsAny(report.File, "/\\\n\t") || len(report.File) > maxFileName || report.File == "" {
			t.Errorf("%s: came back as %q", n.What, report.File)
		}
	}
}
