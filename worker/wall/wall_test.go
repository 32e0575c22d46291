package wall

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/request"
	"partwright/worker/stage"
)

// TestMain is a child where the wall of a test starts it as one.
func TestMain(m *testing.M) {
	if len(os.Args) == 2 && os.Args[1] == Argument {
		if err := Serve(os.Stdin, os.Stdout); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

func newWall(t testing.TB, c Config) *Wall {
	t.Helper()
	c.Version = "test"
	w, err := New(c)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(w.Close)
	return w
}

func plan(t testing.TB, r interface {
	request.Request
}, said request.Values) request.Plan {
	t.Helper()
	if err := request.Bind(r, said); err != nil {
		t.Fatal(err)
	}
	wish := map[string]request.Job{"*request.Check": request.JobCheck, "*request.Mend": request.JobMend, "*request.Voice": request.JobVoice, "*request.Continue": request.JobContinue, "*request.Clean": request.JobClean}
	p, err := (&request.Wish{Job: wish[fmt.Sprintf("%T", r)], Said: said}).Plan()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func scores(t testing.TB) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	for _, pattern := range []string{"../../testdata/class/*xml", "../../testdata/class/*.mxl"} {
		names, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			data, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			out[filepath.Base(name)] = data
		}
	}
	if len(out) < 3 {
		t.Fatalf("%d scores of the demo class were found", len(out))
	}
	return out
}

func said(pairs ...string) request.Values {
	v := request.Values{}
	for i := 0; i < len(pairs); i += 2 {
		v[pairs[i]] = request.Source{Text: pairs[i+1]}
	}
	return v
}

// Every job comes to the same in a child as here, byte for byte: answers, and errors
// with their types.
func TestChildAnswersAsTheEngineDoes(t *testing.T) {
	w := newWall(t, Config{})
	engine := &worker.Engine{Version: "test"}
	class := scores(t)
	class["no score.xml"] = []byte("<html/>")
	class["empty.xml"] = []byte{}
	for _, tt := range []struct {
		name string
		plan request.Plan
	}{
		{"check", plan(t, &request.Check{}, said("analysis", "true", "marks", "true", "voices", "true", "rubric", "hundred", "language", "de"))},
		{"mend", plan(t, &request.Mend{}, said("alternatives", "2"))},
		{"voice", plan(t, &request.Voice{}, said("alternatives", "2"))},
		{"clean", plan(t, &request.Clean{}, nil)},
	} {
		t.Run(tt.name, func(t *testing.T) {
			for name, data := range class {
				in := worker.Input{Name: name, Data: data}
				want, wantErr := engine.Do(t.Context(), in, tt.plan)
				got, err := w.Do(t.Context(), in, tt.plan)
				if fmt.Sprintf("%T %v", err, err) != fmt.Sprintf("%T %v", wantErr, wantErr) {
					t.Errorf("%s: the error is %T %v, here %T %v", name, err, err, wantErr, wantErr)
				}
				if err != nil || wantErr != nil {
					continue
				}
				wantMusic, wantErr := want.MIDI()
				if got.Texture == nil && tt.plan.Job() != request.JobMend {
					wantMusic = nil
				} else if music, err := got.MIDI(); (err == nil) != (wantErr == nil) || !bytes.Equal(music, wantMusic) {
					t.Errorf("%s: other music: %v, here %v", name, err, wantErr)
				}
				a, err := want.Bundle()
				if err != nil {
					t.Fatal(err)
				}
				b, err := got.Bundle()
				if err != nil {
					t.Fatal(err)
				}
				if !bytes.Equal(a, b) {
					t.Errorf("%s: the child's answer of %d bytes is another than that of %d here", name, len(b), len(a))
				}
			}
		})
	}
}

func TestErrorsKeepTheirTypes(t *testing.T) {
	w := newWall(t, Config{})
	engine := &worker.Engine{Version: "test"}
	for _, tt := range []struct {
		name string
		plan request.Plan
		in   worker.Input
	}{
		{"a progression that is none", plan(t, &request.Voice{}, said("progression", "C: I Q V")), worker.Input{}},
		{"notes that are not those of the chord", plan(t, &request.Continue{}, said("chords", "C: I V", "from", "C5 G4 D4 C3")), worker.Input{}},
		{"a voice that is not there", plan(t, &request.Mend{}, said("keep", "Q")), worker.Input{Name: "x.xml", Data: []byte(warmUpScore)}},
		{"a score without a byte", plan(t, &request.Check{}, nil), worker.Input{Name: "x.xml", Data: []byte{}}},
	} {
		_, want := engine.Do(t.Context(), tt.in, tt.plan)
		_, err := w.Do(t.Context(), tt.in, tt.plan)
		if want == nil || fmt.Sprintf("%T %v", err, err) != fmt.Sprintf("%T %v", want, want) {
			t.Errorf("%s: %T %v, here %T %v", tt.name, err, err, want, want)
		}
	}
}

// heavy is a score on which mending goes on for long: faults in many voices and
// measures.
func heavy(voices, measures int) []byte {
	var b strings.Builder
	b.WriteString(`<score-partwise version="4.0"><part-list>`)
	for v := range voices {
		fmt.Fprintf(&b, `<score-part id="P%d"><part-name>V%d</part-name></score-part>`, v, v)
	}
	b.WriteString(`</part-list>`)
	for v := range voices {
		fmt.Fprintf(&b, `<part id="P%d">`, v)
		for m := range measures {
			fmt.Fprintf(&b, `<measure number="%d"><attributes><divisions>1</divisions></attributes>`, m+1)
			for n := range 4 {
				fmt.Fprintf(&b, `<note><pitch><step>%c</step><octave>%d</octave></pitch><duration>1</duration></note>`, "CDEFGAB"[(m*3+n*5+v*4)%7], 2+(voices-v)*4/voices)
			}
			b.WriteString(`</measure>`)
		}
		b.WriteString(`</part>`)
	}
	b.WriteString(`</score-partwise>`)
	return []byte(b.String())
}

// endsByItself tries a job that is to end early, again and again on a machine so busy that
// its child is killed: once it has to end by itself.
func endsByItself(t *testing.T, job func(w *Wall) error) {
	t.Helper()
	w := newWall(t, Config{})
	for range 10 {
		_, before := w.Counts()
		if err := job(w); err != nil {
			t.Fatal(err)
		}
		if _, err := w.Do(t.Context(), worker.Input{Name: "x.xml", Data: []byte(warmUpScore)}, plan(t, &request.Check{}, nil)); err != nil {
			t.Fatal(err)
		}
		if _, after := w.Counts(); after == before {
			return
		}
	}
	t.Error("the child was killed each time: its budget should have ended the job")
}

func TestDeadlineEndsTheJobAndNotTheChild(t *testing.T) {
	p := plan(t, &request.Mend{}, said("all", "true", "severity", "remark", "alternatives", "5"))
	in := worker.Input{Name: "heavy.xml", Data: heavy(24, 60)}
	endsByItself(t, func(w *Wall) error {
		ctx, cancel := context.WithTimeoutCause(t.Context(), 200*time.Millisecond, stage.ErrDeadline)
		defer cancel()
		if _, err := w.Do(ctx, in, p); err != nil && !errors.Is(err, stage.ErrDeadline) {
			return fmt.Errorf("past its deadline the job ended with %w", err)
		}
		return nil
	})
}

func TestCanceledJobEnds(t *testing.T) {
	p := plan(t, &request.Mend{}, said("all", "true", "severity", "remark"))
	in := worker.Input{Name: "heavy.xml", Data: heavy(24, 60)}
	endsByItself(t, func(w *Wall) error {
		ctx, cancel := context.WithCancel(t.Context())
		time.AfterFunc(50*time.Millisecond, cancel)
		if _, err := w.Do(ctx, in, p); !errors.Is(err, context.Canceled) {
			return fmt.Errorf("the job that nobody waits for ended with %w", err)
		}
		return nil
	})
}

// What a child may take is held to by the system: the score that needs more has a
// problem, all others go on.
func TestMemoryOfAChildIsBounded(t *testing.T) {
	bounds(t)
	w := newWall(t, Config{Room: 64 << 20})
	_, err := w.Do(t.Context(), worker.Input{Name: "x.xml", Data: make([]byte, 200<<20)}, plan(t, &request.Check{}, nil))
	var memory *theory.MemoryError
	if !errors.As(err, &memory) {
		t.Errorf("a score of 200 MB in a child that may take 64 more ended with %v", err)
	}
	if _, err := w.Do(t.Context(), worker.Input{Name: "x.xml", Data: []byte(warmUpScore)}, plan(t, &request.Check{}, nil)); err != nil {
		t.Error(err)
	}
}

// A child that is killed from outside takes nothing along: its score is begun again.
func TestKilledChildrenLoseNothing(t *testing.T) {
	w := newWall(t, Config{Ready: 2})
	check := plan(t, &request.Check{}, nil)
	var all sync.WaitGroup
	stop := make(chan struct{})
	var killer sync.WaitGroup
	killer.Go(func() {
		for {
			select {
			case <-stop:
				return
			case <-time.After(400 * time.Millisecond):
				w.killOne()
			}
		}
	})
	var counting sync.Mutex
	lost := 0
	until := time.Now().Add(2 * time.Second)
	for range 2 {
		all.Go(func() {
			for time.Now().Before(until) {
				_, err := w.Do(t.Context(), worker.Input{Name: "x.xml", Data: heavy(4, 8)}, check)
				switch {
				case errors.Is(err, stage.ErrLost):
					counting.Lock()
					lost++
					counting.Unlock()
				case err != nil:
					t.Error(err)
				}
			}
		})
	}
	all.Wait()
	close(stop)
	killer.Wait()
	_, ended := w.Counts()
	if ended == 0 {
		t.Fatal("no child was killed")
	}
	if lost > 2 {
		t.Errorf("%d scores were lost with %d children that were killed", lost, ended)
	}
}

// A child that is killed while it waits is replaced before the next score comes.
func TestIdleChildIsReplaced(t *testing.T) {
	w := newWall(t, Config{})
	w.killOne()
	for until := time.Now().Add(30 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		if begun, ended := w.Counts(); begun == 2 && ended == 1 {
			return
		}
		if time.Now().After(until) {
			t.Fatal("the child that was killed has no successor")
		}
	}
}

// killOne kills a child that works or waits.
func (w *Wall) killOne() {
	w.mu.Lock()
	defer w.mu.Unlock()
	for p := range w.all {
		p.kill()
		return
	}
}

func TestChildrenAreReplaced(t *testing.T) {
	w := newWall(t, Config{Jobs: 3})
	for range 10 {
		if _, err := w.Do(t.Context(), worker.Input{Name: "x.xml", Data: []byte(warmUpScore)}, plan(t, &request.Check{}, nil)); err != nil {
			t.Fatal(err)
		}
	}
	if begun, ended := w.Counts(); begun < 4 || ended != 0 {
		t.Errorf("%d children for ten jobs of three each, %d ended before their time", begun, ended)
	}
}

// The score of a batch is read once for all its jobs.
func TestScoreIsSentOnceForItsJobs(t *testing.T) {
	w := newWall(t, Config{})
	engine := &worker.Engine{Version: "test"}
	in := worker.Input{Name: "x.xml", Data: heavy(4, 8), Read: &worker.Reading{}}
	here := in
	here.Read = &worker.Reading{}
	for _, p := range []request.Plan{plan(t, &request.Check{}, said("analysis", "true")), plan(t, &request.Mend{}, nil), plan(t, &request.Voice{}, nil)} {
		want, wantErr := engine.Do(t.Context(), here, p)
		got, err := w.Do(t.Context(), in, p)
		if fmt.Sprint(err) != fmt.Sprint(wantErr) {
			t.Errorf("%s: %v, here %v", p.Job(), err, wantErr)
			continue
		}
		if err != nil {
			continue
		}
		a, _ := want.Bundle()
		b, _ := got.Bundle()
		if !bytes.Equal(a, b) {
			t.Errorf("%s: other answers", p.Job())
		}
	}
}

func TestLimitsOfTheDocumentReachTheChild(t *testing.T) {
	w := newWall(t, Config{Limits: musicxml.Limits{MaxElements: 3}})
	_, err := w.Do(t.Context(), worker.Input{Name: "x.xml", Data: []byte(warmUpScore)}, plan(t, &request.Check{}, nil))
	var input *musicxml.InputError
	if !errors.As(err, &input) || input.Code != musicxml.CodeLimit {
		t.Errorf("a score of more than three elements ended with %v", err)
	}
}

func TestProgramThatIsNone(t *testing.T) {
	if _, err := New(Config{Program: filepath.Join(t.TempDir(), "none")}); err == nil {
		t.Error("children of no program were begun")
	}
}

// A score whose children are killed as they begin is lost as one whose children are killed
// at work; that no child can be begun is a fault.
func TestChildrenThatEndAsTheyBegin(t *testing.T) {
	ends, err := exec.LookPath("false")
	if err != nil {
		t.Skip("the system has no program that ends at once")
	}
	for program, lost := range map[string]bool{ends: true, filepath.Join(t.TempDir(), "none"): false} {
		w := newWall(t, Config{})
		w.mu.Lock()
		w.config.Program = program
		idle := w.idle[0]
		w.mu.Unlock()
		idle.kill()
		<-idle.ended
		_, err := w.Do(t.Context(), worker.Input{Name: "x.xml", Data: []byte(warmUpScore)}, plan(t, &request.Check{}, nil))
		if err == nil || errors.Is(err, stage.ErrLost) != lost {
			t.Errorf("where children are %s: %v", filepath.Base(program), err)
		}
	}
}

// written writes the report, as a service does that sends it.
func written(a *answer.Answer, err error) error {
	if err == nil {
		_, err = a.Line()
	}
	return err
}

// BenchmarkCheck measures what a child costs beside none, in turn: a hand-in of the demo
// class, and an exercise with hundreds of findings, checked and marked. Processor time is
// that of both processes; the last figure is that with a child over that without.
func BenchmarkCheck(b *testing.B) {
	w := newWall(b, Config{Jobs: 1 << 30}) // a child that is replaced takes its time along
	engine := &worker.Engine{Version: "test"}
	p := plan(b, &request.Check{}, said("marks", "true"))
	for _, tt := range []struct {
		name  string
		score []byte
	}{
		{"hand-in", scores(b)["hand-in.musicxml"]},
		{"large", heavy(4, 16)},
	} {
		in := worker.Input{Name: "x.xml", Data: tt.score}
		b.Run(tt.name, func(b *testing.B) {
			var here, child time.Duration
			timed := func(into *time.Duration, do func() error) {
				began := w.processorTime()
				for range inTurn {
					if err := do(); err != nil {
						b.Fatal(err)
					}
				}
				*into += w.processorTime() - began
			}
			for b.Loop() {
				timed(&here, func() error { return written(engine.Do(b.Context(), in, p)) })
				timed(&child, func() error { return written(w.Do(b.Context(), in, p)) })
			}
			each := float64(b.N * inTurn)
			b.ReportMetric(here.Seconds()*1000/each, "here-cpu-ms/score")
			b.ReportMetric(child.Seconds()*1000/each, "child-cpu-ms/score")
			b.ReportMetric(child.Seconds()/here.Seconds(), "child/here")
		})
	}
}

// inTurn is how many scores are checked before the other way has its turn: time of the
// processor is counted in hundredths of a second.
const inTurn = 100

// processorTime is that of this process and of its children, in hundredths of a second;
// 0 where there is no /proc.
func (w *Wall) processorTime() (total time.Duration) {
	w.mu.Lock()
	defer w.mu.Unlock()
	pids := []int{os.Getpid()}
	for p := range w.all {
		pids = append(pids, p.command.Process.Pid)
	}
	for _, pid := range pids {
		text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
		if err != nil {
			continue
		}
		_, rest, _ := strings.Cut(string(text), ") ")
		fields := strings.Fields(rest) // from the third on: proc(5)
		for _, f := range fields[11:13] {
			ticks, _ := strconv.Atoi(f)
			total += time.Duration(ticks) * 10 * time.Millisecond
		}
	}
	return total
}

// That nobody waits any more for a job may be told when the next one runs: that one
// goes on.
func TestLateCancelEndsNoOtherJob(t *testing.T) {
	w := newWall(t, Config{})
	p := w.idle[0]
	wish := plan(t, &request.Mend{}, nil).Wish()
	score := heavy(4, 8)
	for number := 1; number <= 2; number++ {
		if err := p.line.send(call{Number: number, Wish: wish, HasScore: true, Score: len(score)}, score); err != nil {
			t.Fatal(err)
		}
		if number == 2 {
			if err := p.line.send(call{Cancel: true, Number: 1}); err != nil {
				t.Fatal(err)
			}
		}
		var r reply
		err := p.line.receive(&r)
		if err == nil {
			_, err = p.line.body(r.Bundle + r.Music)
		}
		if err != nil || r.Failed != nil {
			t.Fatalf("job %d: %v, %+v", number, err, r.Failed)
		}
	}
}
