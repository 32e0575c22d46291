package shard

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"iter"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"partwright/musicxml"
	"partwright/worker"
	"partwright/worker/address"
	"partwright/worker/report"
	"partwright/worker/request"
)

const class = "../../testdata/class"

// wish asks for a check as the command line does.
func wish(t *testing.T) request.Wish {
	t.Helper()
	var c request.Check
	if err := request.Bind(&c, nil); err != nil {
		t.Fatal(err)
	}
	plan, err := c.Plan()
	if err != nil {
		t.Fatal(err)
	}
	return plan.Wish()
}

func runner(t *testing.T, s address.Storage, version string) *Runner {
	t.Helper()
	r, err := New(Config{Version: version, Limits: musicxml.DefaultLimits(), Workers: 2, Storage: s, Wish: wish(t)})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// copies writes scores of the class under many names, and a list of them.
func copies(t *testing.T, n int) (manifest string, addresses []string) {
	t.Helper()
	dir := t.TempDir()
	scores, err := filepath.Glob(class + "/*.musicxml")
	if err != nil || len(scores) == 0 {
		t.Fatalf("%d scores, %v", len(scores), err)
	}
	for i := range n {
		data, err := os.ReadFile(scores[i%len(scores)])
		at := filepath.Join(dir, fmt.Sprintf("%03d.musicxml", (i*7)%n))
		if err == nil {
			err = os.WriteFile(at, data, 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
		addresses = append(addresses, at)
	}
	return list(t, dir, addresses), addresses
}

func list(t *testing.T, dir string, addresses []string) string {
	t.Helper()
	at := filepath.Join(dir, "list")
	if err := os.WriteFile(at, []byte(strings.Join(addresses, "\n")+"\r\n\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	return at
}

// plainly answers scores one by one by the engine itself.
func plainly(t *testing.T, addresses []string) map[string]string {
	t.Helper()
	w := wish(t)
	plan, err := w.Plan()
	if err != nil {
		t.Fatal(err)
	}
	engine := &worker.Engine{Version: "test", Limits: musicxml.DefaultLimits()}
	all := map[string]string{}
	for _, at := range addresses {
		data, err := os.ReadFile(at)
		if err != nil {
			t.Fatal(err)
		}
		a, err := engine.Do(context.Background(), worker.Input{Name: at, Data: data}, plan)
		if err != nil {
			t.Fatal(err)
		}
		line, err := a.Line()
		if err != nil {
			t.Fatal(err)
		}
		all[at] = string(line)
	}
	return all
}

// answers are all lines in a folder, by file.
func answers(t *testing.T, out string) map[string]string {
	t.Helper()
	all := map[string]string{}
	names, err := filepath.Glob(filepath.Join(out, "answers-*"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		last := ""
		for line := range strings.Lines(string(text)) {
			var r struct {
				File    string
				Failure *report.Failure
			}
			if err := json.Unmarshal([]byte(line), &r); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if r.Failure != nil {
				r.File = r.Failure.File
			}
			if _, twice := all[r.File]; twice || r.File <= last {
				t.Errorf("%s: %s stands there twice, or after %s", name, r.File, last)
			}
			last = r.File
			all[r.File] = strings.TrimSuffix(line, "\n")
		}
	}
	return all
}

// Every score is answered once, with the bytes of a plain check, however often and in
// whatever order shards are run; what broke off has left nothing.
func TestShardsAnswerEachScoreOnce(t *testing.T) {
	manifest, scores := copies(t, 40)
	out := filepath.Join(t.TempDir(), "answers")
	const of = 5
	total := Counts{}
	for round := range 3 {
		for n := range of {
			number := (n*3 + round) % of
			ctx, cancel := context.WithCancel(context.Background())
			storage := address.Open(address.Config{})
			breaks := round == 0 && n%2 == 0
			if breaks {
				storage = &stops{Storage: storage, after: 3, stop: cancel, except: manifest}
			}
			c, err := runner(t, storage, "test").Shard(ctx, Shard{Number: number, Of: of, Manifest: manifest, Out: out})
			cancel()
			if breaks {
				if !errors.Is(err, context.Canceled) {
					t.Fatalf("shard %d was not broken off: %+v, %v", number, c, err)
				}
				if _, err := os.Stat(filepath.Join(out, Name(number, of))); !errors.Is(err, fs.ErrNotExist) {
					t.Errorf("shard %d was broken off and is there", number)
				}
				continue
			}
			if err != nil {
				t.Fatal(err)
			}
			if round == 2 && !c.There {
				t.Errorf("shard %d was answered again", number)
			}
			total.Add(c)
		}
	}
	want := plainly(t, scores)
	if got := answers(t, out); !maps.Equal(got, want) {
		t.Errorf("%d answers, want %d with the same bytes", len(got), len(want))
	}
	if total.Scores != 40 || total.Answered != 40 || total.Failed != 0 {
		t.Errorf("counts are %+v", total)
	}
	if parts, _ := filepath.Glob(filepath.Join(out, ".part-*")); len(parts) != 0 {
		t.Errorf("left behind: %q", parts)
	}
}

// stops ends the run after some reads.
type stops struct {
	address.Storage
	after  int32
	reads  atomic.Int32
	stop   func()
	except string
}

func (s *stops) Read(ctx context.Context, at string, limit int64) ([]byte, error) {
	if at != s.except && filepath.Ext(at) == ".musicxml" && s.reads.Add(1) == s.after {
		s.stop()
	}
	return s.Storage.Read(ctx, at, limit)
}

// Two that run the same shard at once leave one whole set of answers.
func TestTwoMayRunAShardAtOnce(t *testing.T) {
	manifest, scores := copies(t, 8)
	out := t.TempDir()
	var all sync.WaitGroup
	var written atomic.Int32
	for range 4 {
		all.Go(func() {
			c, err := runner(t, address.Open(address.Config{}), "test").Shard(context.Background(), Shard{Of: 1, Manifest: manifest, Out: out})
			if err != nil {
				t.Error(err)
			}
			if !c.There {
				written.Add(1)
			}
		})
	}
	all.Wait()
	if got := answers(t, out); !maps.Equal(got, plainly(t, scores)) || written.Load() != 1 {
		t.Errorf("%d answers, %d wrote them", len(got), written.Load())
	}
}

// unreachable has addresses that cannot be read just now.
type unreachable struct {
	address.Storage
	at string
}

func (u *unreachable) Read(ctx context.Context, at string, limit int64) ([]byte, error) {
	if at == u.at {
		return nil, &address.Error{Address: at, Retryable: true, Err: errors.New("busy")}
	}
	return u.Storage.Read(ctx, at, limit)
}

func TestFailuresAreOfTheirOwnKinds(t *testing.T) {
	_, scores := copies(t, 4)
	dir := filepath.Dir(scores[0])
	gone := filepath.Join(dir, "gone.musicxml")
	broken := filepath.Join(dir, "broken.musicxml")
	if err := os.WriteFile(broken, []byte("<score-partwise>"), 0o600); err != nil {
		t.Fatal(err)
	}
	manifest := list(t, dir, append(scores, gone, broken, gone))
	storage := &unreachable{Storage: address.Open(address.Config{}), at: scores[1]}
	var failures []*report.Failure
	s := Shard{Of: 1, Manifest: manifest, Out: t.TempDir(), Failed: func(f *report.Failure) { failures = append(failures, f) }}
	_, err := runner(t, storage, "test").Shard(context.Background(), s)
	if err == nil || !strings.Contains(err.Error(), scores[1]) {
		t.Errorf("a shard with an address that cannot be read just now: %v", err)
	}
	if there, _ := filepath.Glob(s.Out + "/*answers*"); len(there) != 0 {
		t.Errorf("it left %q", there)
	}
	s.GiveUp, failures = true, nil
	c, err := runner(t, storage, "test").Shard(context.Background(), s)
	if err != nil || c.Answered != 3 || c.Failed != 3 || c.Scores != 6 || len(failures) != 3 {
		t.Errorf("%+v and %d failures, %v", c, len(failures), err)
	}
	codes := map[string]string{}
	for _, f := range failures {
		codes[f.File] = f.Code
	}
	if codes[scores[1]] != report.CodeUnreachable || codes[gone] != "not-accessible" || codes[broken] == "" || codes[broken] == report.CodeFault {
		t.Errorf("codes are %v", codes)
	}
	if got := answers(t, s.Out); len(got) != 6 || !strings.HasPrefix(got[gone], `{"failure":`) {
		t.Errorf("%d answers, for the missing one %s", len(got), got[gone])
	}
}

// Answers of another version, list or number of shards do not come beside these.
func TestAFolderIsForOneRun(t *testing.T) {
	manifest, scores := copies(t, 4)
	out := t.TempDir()
	storage := address.Open(address.Config{})
	if _, err := runner(t, storage, "test").Shard(context.Background(), Shard{Of: 2, Manifest: manifest, Out: out}); err != nil {
		t.Fatal(err)
	}
	other := list(t, t.TempDir(), scores[1:])
	for name, run := range map[string]func() error{
		"version": func() error {
			_, err := runner(t, storage, "later").Shard(context.Background(), Shard{Of: 2, Manifest: manifest, Out: out})
			return err
		},
		"shards": func() error {
			_, err := runner(t, storage, "test").Shard(context.Background(), Shard{Of: 3, Manifest: manifest, Out: out})
			return err
		},
		"list": func() error {
			_, err := runner(t, storage, "test").Shard(context.Background(), Shard{Of: 2, Manifest: other, Out: out})
			return err
		},
	} {
		if err := run(); !errors.As(err, new(*OtherRunError)) {
			t.Errorf("another %s: %v", name, err)
		}
	}
	if _, err := runner(t, storage, "test").Shard(context.Background(), Shard{Number: 2, Of: 2, Manifest: manifest, Out: out}); err == nil {
		t.Error("there is a shard 2 of 2")
	}
}

func TestShardsTakeAllAddressesBetweenThem(t *testing.T) {
	var want []string
	for i := range 1000 {
		want = append(want, fmt.Sprintf("s3://scores/%d.mxl", i))
	}
	slices.Sort(want)
	manifest := []byte(strings.Join(append(slices.Clone(want), want[:50]...), "\n"))
	const of = 7
	var got []string
	for n := range of {
		mine := addresses(manifest, n, of)
		if !slices.IsSorted(mine) {
			t.Errorf("shard %d is not sorted", n)
		}
		// Even parts: 1000/7 within six standard deviations of the binomial distribution.
		if len(mine) < 143-66 || len(mine) > 143+66 {
			t.Errorf("shard %d has %d of 1000 addresses", n, len(mine))
		}
		got = append(got, mine...)
	}
	slices.Sort(got)
	if !slices.Equal(got, want) {
		t.Errorf("%d addresses of %d", len(got), len(want))
	}
}

func TestWhatIsNoCheckIsRefused(t *testing.T) {
	if _, err := New(Config{Wish: request.Wish{Job: request.JobClean}}); err == nil {
		t.Error("a cleaning was taken for a check")
	}
}

// Answers come in the order of the questions, and no more is read than is taken.
func TestAnswersWaitToBeTaken(t *testing.T) {
	_, scores := copies(t, 60)
	var asked atomic.Int32
	sources := iter.Seq[Source](func(yield func(Source) bool) {
		for source := range named(scores) {
			asked.Add(1)
			if !yield(source) {
				return
			}
		}
	})
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	taken := 0
	for line := range runner(t, address.Open(address.Config{}), "test").Answers(ctx, sources) {
		if !bytes.Contains(line.Text, []byte(scores[taken])) {
			t.Fatalf("answer %d is not that to %s", taken, scores[taken])
		}
		if taken++; taken == 5 {
			break
		}
	}
	// 2 workers and 8 readers, each held twice at most, beside one on its way at each.
	if n := asked.Load(); n > 5+2*(2+8)+2 {
		t.Errorf("%d were read for 5 that were taken", n)
	}
}
