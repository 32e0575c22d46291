package worst

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"mime/multipart"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"partwright/worker/request"
)

// service is the program at work, as an operator would start it.
type service struct {
	command        *exec.Cmd
	addr, operator string
	log            bytes.Buffer
	ended          chan error
}

func freeAddress(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0") //nolint:noctx // a test
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = l.Close() }()
	return l.Addr().String()
}

// startService builds the program and starts it with two workers and children.
func startService(t *testing.T, flags ...string) *service {
	t.Helper()
	if _, err := os.Stat("/proc/self/stat"); err != nil {
		t.Skip("processes are looked at in /proc, which this system has not")
	}
	program := filepath.Join(t.TempDir(), "partwright")
	if out, err := exec.Command("go", "build", "-buildvcs=false", "-o", program, "../..").CombinedOutput(); err != nil { //nolint:gosec,noctx // a test
		t.Fatalf("%v: %s", err, out)
	}
	s := &service{addr: freeAddress(t), operator: freeAddress(t), ended: make(chan error, 1)}
	s.command = exec.Command(program, append([]string{"serve", "--addr", s.addr, "--operator-addr", s.operator, "--data-dir", t.TempDir(), "--workers", "2", "--drain-delay", "0s"}, flags...)...) //nolint:gosec,noctx // a test
	s.command.Stderr = &s.log
	if err := s.command.Start(); err != nil {
		t.Fatal(err)
	}
	go func() { s.ended <- s.command.Wait() }()
	t.Cleanup(func() { _ = s.command.Process.Kill() })
	for until := time.Now().Add(30 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		answer, err := http.Get("http://" + s.operator + "/readyz") //nolint:noctx // a test
		if err == nil {
			_ = answer.Body.Close()
			if answer.StatusCode == http.StatusOK {
				return s
			}
		}
		if time.Now().After(until) {
			t.Fatalf("the service is not ready: %s", s.log.String())
		}
	}
}

// children lists the processes that work for the service.
func (s *service) children() (pids []int) {
	all, _ := filepath.Glob("/proc/[0-9]*/stat")
	for _, name := range all {
		text, err := os.ReadFile(name)
		if err != nil {
			continue
		}
		_, rest, _ := strings.Cut(string(text), ") ")
		fields := strings.Fields(rest)
		if len(fields) > 1 && fields[0] != "Z" && fields[1] == strconv.Itoa(s.command.Process.Pid) {
			pid, _ := strconv.Atoi(filepath.Base(filepath.Dir(name)))
			pids = append(pids, pid)
		}
	}
	return pids
}

// resident is how many bytes of memory the service and its children have.
func (s *service) resident() (bytes int64) {
	for _, pid := range append(s.children(), s.command.Process.Pid) {
		text, err := os.ReadFile(fmt.Sprintf("/proc/%d/statm", pid))
		if err != nil {
			continue
		}
		fields := strings.Fields(string(text))
		pages, _ := strconv.ParseInt(fields[1], 10, 64)
		bytes += pages * int64(os.Getpagesize())
	}
	return bytes
}

// metric is a figure of the service, -1 where it cannot be had.
func (s *service) metric(name string) float64 {
	answer, err := http.Get("http://" + s.operator + "/metrics") //nolint:noctx // a test
	if err != nil {
		return -1
	}
	defer func() { _ = answer.Body.Close() }()
	for lines := bufio.NewScanner(answer.Body); lines.Scan(); {
		if value, ok := strings.CutPrefix(lines.Text(), name+" "); ok {
			n, _ := strconv.ParseFloat(value, 64)
			return n
		}
	}
	return -1
}

var paths = map[request.Job]string{
	request.JobCheck: "/v1/checks", request.JobMend: "/v1/mendings", request.JobVoice: "/v1/voicings", request.JobContinue: "/v1/continuations", request.JobClean: "/v1/cleanings",
}

// form is a case as the body of a request.
func (c *Case) form(size int) (contentType string, body []byte) {
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	field := func(name, file string, data []byte) {
		var part io.Writer
		var err error
		if file != "" {
			part, err = w.CreateFormFile(name, file)
		} else {
			part, err = w.CreateFormField(name)
		}
		if err == nil {
			_, _ = part.Write(data)
		}
	}
	for name, text := range c.Said {
		field(name, "", []byte(text))
	}
	if c.Text != nil {
		file := c.Field + ".yaml"
		if c.Field == "progression" {
			file = ""
		}
		field(c.Field, file, []byte(c.Text(min(size, 200<<10))))
	}
	if c.Score != nil {
		field("score", "worst.musicxml", c.Score(size))
	}
	_ = w.Close()
	return w.FormDataContentType(), b.Bytes()
}

var client = &http.Client{Timeout: 3 * time.Minute, Transport: &http.Transport{MaxIdleConnsPerHost: 64}}

// post sends a body and returns the status and the answer.
func (s *service) post(path, contentType string, body []byte) (status int, answer []byte, err error) {
	r, err := client.Post("http://"+s.addr+path, contentType, bytes.NewReader(body)) //nolint:noctx // a test
	if err != nil {
		return 0, nil, err
	}
	defer func() { _ = r.Body.Close() }()
	answer, err = io.ReadAll(r.Body)
	return r.StatusCode, answer, err
}

const musicXML = "application/vnd.recordare.musicxml+xml"

func handIn(t *testing.T) []byte {
	t.Helper()
	data, err := os.ReadFile("../../testdata/class/hand-in.musicxml")
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// plain checks one ordinary score again and again until done is closed, and returns how
// long each answer took. Whatever is not its right answer is an error.
func (s *service) plain(t *testing.T, score []byte, done <-chan struct{}) (took []time.Duration, busy int) {
	var want []byte
	for {
		select {
		case <-done:
			return took, busy
		default:
		}
		began := time.Now()
		status, answer, err := s.post("/v1/checks", musicXML, score)
		switch {
		case err != nil:
			t.Errorf("a plain check: %v", err)
		case status == http.StatusServiceUnavailable:
			busy++
			time.Sleep(50 * time.Millisecond)
		case status != http.StatusOK:
			t.Errorf("a plain check: %d %.300s", status, answer)
		case want == nil:
			want = answer
		case !bytes.Equal(want, answer):
			t.Errorf("a plain check was answered otherwise: %.300s", answer)
		}
		took = append(took, time.Since(began))
	}
}

func share(all []time.Duration, part float64) time.Duration {
	if len(all) == 0 {
		return 0
	}
	slices.Sort(all)
	return all[min(int(float64(len(all))*part), len(all)-1)].Round(time.Millisecond)
}

// Eight at once of each worst case, beside plain checks: how long until the workers are
// free again, how much memory that takes, and what the plain checks notice. SIGTERM in
// the middle of the last ends it well. Without -worst it is one case of a small size.
func TestWorstCasesAtAService(t *testing.T) {
	if testing.Short() {
		t.Skip("a service is started")
	}
	deadline, sizes, cases := 2*time.Second, []int{64 << 10}, Cases()
	if *long {
		// Of 64 MB, the service takes none at its default limits: that is measured too.
		sizes = []int{64 << 10, 1 << 20, 15 << 20, 64 << 20}
	} else {
		cases = slices.DeleteFunc(cases, func(c Case) bool { return c.Name != "mend sixty voices" })
		deadline = time.Second
	}
	cases = slices.DeleteFunc(cases, func(c Case) bool { return !strings.Contains(c.Name, *only) })
	s := startService(t, "--timeout", deadline.String())
	score := handIn(t)
	quietDone := make(chan struct{})
	time.AfterFunc(time.Second, func() { close(quietDone) })
	quiet, _ := s.plain(t, score, quietDone)
	t.Logf("quiet: p99 of %d plain checks %s, %d MiB", len(quiet), share(quiet, 0.99), s.resident()>>20)
	var most int64
	var beside []time.Duration
	for _, size := range sizes {
		for i := range cases {
			c := &cases[i]
			kind, body := c.form(size)
			done := make(chan struct{})
			var sending, others sync.WaitGroup
			var busy int
			var took []time.Duration
			others.Go(func() { took, busy = s.plain(t, score, done) })
			statuses := make(chan int, 8)
			began := time.Now()
			for range 8 {
				sending.Go(func() {
					status, answer, err := s.post(paths[c.Job], kind, body)
					if err != nil && size > 16<<20 {
						return // the service ends the connection of what is too large (RFC 9110, 15.5.14)
					}
					if err != nil || status >= 500 && status != http.StatusServiceUnavailable {
						t.Errorf("%s of %d bytes: %d %v %.300s", c.Name, size, status, err, answer)
					}
					statuses <- status
				})
			}
			peak, stop := int64(0), make(chan struct{})
			others.Go(func() {
				for {
					select {
					case <-stop:
						return
					case <-time.After(50 * time.Millisecond):
						peak = max(peak, s.resident())
					}
				}
			})
			sending.Wait()
			answered := time.Since(began)
			close(done)
			free := time.Now()
			for s.metric("partwright_pool_overrunning") > 0 && time.Since(free) < 10*time.Second {
				time.Sleep(10 * time.Millisecond)
			}
			late := time.Since(free)
			close(stop)
			others.Wait()
			close(statuses)
			counts := map[int]int{}
			for status := range statuses {
				counts[status]++
			}
			most, beside = max(most, peak), append(beside, took...)
			t.Logf("%8d %-32s %v, answered after %s, free %s later, %d MiB, p99 of %d plain checks %s, %d busy",
				size, c.Name, counts, answered.Round(time.Millisecond), late.Round(time.Millisecond), peak>>20, len(took), share(took, 0.99), busy)
			if *long && late > patient {
				t.Errorf("%s of %d bytes keeps a worker for %s past its deadline", c.Name, size, late)
			}
		}
	}
	t.Logf("most memory %d MiB, p99 of plain checks beside %s", most>>20, share(beside, 0.99))
	if *long && most > 1<<30 {
		t.Errorf("%d MiB were taken", most>>20)
	}
	kind, body := cases[len(cases)-1].form(64 << 10)
	for range 8 {
		go func() { _, _, _ = s.post(paths[cases[len(cases)-1].Job], kind, body) }()
	}
	time.Sleep(200 * time.Millisecond)
	s.end(t, deadline)
}

// end sends SIGTERM: the service has to end by itself, well, in its time.
func (s *service) end(t *testing.T, deadline time.Duration) {
	t.Helper()
	began := time.Now()
	if err := s.command.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	select {
	case err := <-s.ended:
		if err != nil {
			t.Errorf("after SIGTERM the service ended with %v: %s", err, s.log.String())
		}
		t.Logf("drained in %s", time.Since(began).Round(time.Millisecond))
	case <-time.After(deadline + 60*time.Second):
		t.Error("after SIGTERM the service goes on")
	}
	if left := s.children(); len(left) > 0 {
		t.Errorf("%d children are left", len(left))
	}
}

// reported is what a batch says of one score.
type reported struct {
	File    string `json:"file"`
	Failure *struct {
		File string `json:"file"`
		Code string `json:"code"`
	} `json:"failure"`
}

// batches makes batches until done is closed, and looks at each that every score is
// answered once.
func (s *service) batches(t *testing.T, score []byte, done <-chan struct{}) (made int) {
	worstCases := Cases()
	for {
		select {
		case <-done:
			return made
		default:
		}
		var b bytes.Buffer
		w := multipart.NewWriter(&b)
		names := map[string]int{}
		for i := range 12 {
			name, data := fmt.Sprintf("%d-%d.musicxml", made, i), score
			switch i {
			case 3:
				data = []byte("<no score")
			case 7:
				if c := &worstCases[rand.N(len(worstCases))]; c.Score != nil { //nolint:gosec // a choice
					data = c.Score(64 << 10)
				}
			}
			part, err := w.CreateFormFile("score", name)
			if err == nil {
				_, err = part.Write(data)
			}
			if err != nil {
				t.Error(err)
			}
			names[name] = 0
		}
		_ = w.Close()
		status, answer, err := s.post("/v1/batches?marks=false", w.FormDataContentType(), b.Bytes())
		if status == http.StatusServiceUnavailable {
			time.Sleep(time.Second)
			continue
		}
		var batch struct{ ID, State string }
		if err == nil {
			err = json.Unmarshal(answer, &batch)
		}
		if err != nil || status != http.StatusAccepted {
			t.Errorf("a batch: %d %v %.300s", status, err, answer)
			return made
		}
		made++
		for until := time.Now().Add(4 * time.Minute); batch.State != "finished"; time.Sleep(200 * time.Millisecond) {
			if text, err := s.get("/v1/batches/" + batch.ID); err == nil {
				_ = json.Unmarshal(text, &batch)
			}
			if time.Now().After(until) {
				t.Errorf("batch %s is %s after four minutes", batch.ID, batch.State)
				return made
			}
		}
		text, err := s.get("/v1/batches/" + batch.ID + "/findings.ndjson")
		if err != nil {
			t.Error(err)
		}
		for line := range strings.Lines(string(text)) {
			var r reported
			if err := json.Unmarshal([]byte(line), &r); err != nil {
				t.Error(err)
			}
			if r.Failure != nil {
				r.File = r.Failure.File
				// A score whose process is killed three times over is lost, and says so.
				if r.Failure.Code == "fault" {
					t.Errorf("a score of a batch failed by a fault of ours: %s", line)
				}
			}
			names[r.File]++
		}
		for name, n := range names {
			if n != 1 {
				t.Errorf("%s was answered %d times", name, n)
			}
		}
	}
}

func (s *service) get(path string) ([]byte, error) {
	r, err := client.Get("http://" + s.addr + path) //nolint:noctx // a test
	if err != nil {
		return nil, err
	}
	defer func() { _ = r.Body.Close() }()
	text, err := io.ReadAll(r.Body)
	if err == nil && r.StatusCode != http.StatusOK {
		err = fmt.Errorf("%s: %d %.200s", path, r.StatusCode, text)
	}
	return text, err
}

// rude sends what is broken, breaks off, or comes slowly.
func (s *service) rude(t *testing.T, score []byte, done <-chan struct{}) (sent int) {
	for ; ; sent++ {
		select {
		case <-done:
			return sent
		default:
		}
		conn, err := net.Dial("tcp", s.addr) //nolint:noctx // a test
		if err != nil {
			t.Error(err)
			return sent
		}
		fmt.Fprintf(conn, "POST /v1/checks HTTP/1.1\r\nHost: %s\r\nContent-Type: %s\r\nContent-Length: %d\r\n\r\n", s.addr, musicXML, len(score))
		part := score[:rand.N(len(score))] //nolint:gosec // a choice
		for len(part) > 0 {
			n := min(len(part), 1+rand.N(2000)) //nolint:gosec // a choice
			if _, err := conn.Write(part[:n]); err != nil {
				break
			}
			part = part[n:]
			if sent%2 == 0 {
				time.Sleep(20 * time.Millisecond)
			}
		}
		_ = conn.Close()
		time.Sleep(50 * time.Millisecond)
	}
}

// TestChaos sends everything at once for as long as -chaos says: plain, worst, broken
// and slow requests, and batches, while children are killed. Nothing is lost, nothing is
// answered twice, no answer is a fault of ours, and the memory stays what it was.
func TestChaos(t *testing.T) {
	if testing.Short() {
		t.Skip("a service is started")
	}
	s := startService(t, "--timeout", "3s")
	score := handIn(t)
	done := make(chan struct{})
	var running sync.WaitGroup
	var plain, worstSent, broken, killed, batches, busy int
	var took []time.Duration
	var firstMost, lastMost, most int64
	statuses := map[int]int{}
	running.Go(func() { took, busy = s.plain(t, score, done); plain = len(took) })
	running.Go(func() { batches = s.batches(t, score, done) })
	running.Go(func() { broken = s.rude(t, score, done) })
	var mu sync.Mutex
	for range 2 {
		running.Go(func() {
			for cases := Cases(); ; {
				select {
				case <-done:
					return
				default:
				}
				c := &cases[rand.N(len(cases))]             //nolint:gosec // a choice
				kind, body := c.form(1 << (12 + rand.N(9))) //nolint:gosec // up to 1 MB
				status, answer, err := s.post(paths[c.Job], kind, body)
				if err != nil || status >= 500 && status != http.StatusServiceUnavailable {
					t.Errorf("%s of %d bytes: %d %v %.300s", c.Name, len(body), status, err, answer)
				}
				mu.Lock()
				statuses[status]++
				worstSent++
				mu.Unlock()
				if status == http.StatusServiceUnavailable {
					time.Sleep(200 * time.Millisecond)
				}
			}
		})
	}
	running.Go(func() {
		for {
			select {
			case <-done:
				return
			case <-time.After(2 * time.Second):
			}
			if all := s.children(); len(all) > 0 {
				if err := syscall.Kill(all[rand.N(len(all))], syscall.SIGKILL); err == nil || errors.Is(err, syscall.ESRCH) { //nolint:gosec // a choice
					killed++
				}
			}
		}
	})
	began := time.Now()
	for time.Since(began) < *chaos {
		time.Sleep(100 * time.Millisecond)
		now := s.resident()
		most = max(most, now)
		if since := time.Since(began); since < *chaos/5 {
			firstMost = max(firstMost, now)
		} else if since > *chaos*4/5 {
			lastMost = max(lastMost, now)
		}
	}
	close(done)
	running.Wait()
	t.Logf("%s: %d plain checks (p50 %s, p99 %s, %d busy), %d worst ones %v, %d broken or slow, %d batches of 12, %d kills; memory at most %d MiB, %d in the first fifth, %d in the last; children begun %.0f, ended early %.0f",
		*chaos, plain, share(took, 0.5), share(took, 0.99), busy, worstSent, statuses, broken, batches, killed, most>>20, firstMost>>20, lastMost>>20,
		s.metric("partwright_children_begun_total"), s.metric("partwright_children_ended_total"))
	if plain == 0 || worstSent == 0 {
		t.Error("nothing was sent")
	}
	if *chaos >= time.Minute && lastMost > firstMost*3/2+64<<20 {
		t.Errorf("memory grew from %d to %d MiB", firstMost>>20, lastMost>>20)
	}
	s.end(t, 3*time.Second)
}
