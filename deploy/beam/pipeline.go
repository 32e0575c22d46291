package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"sync"

	"github.com/apache/beam/sdks/v2/go/pkg/beam"
	"github.com/apache/beam/sdks/v2/go/pkg/beam/register"

	"partwright/musicxml"
	"partwright/worker/address"
	"partwright/worker/report"
	"partwright/worker/request"
	"partwright/worker/shard"
)

func init() {
	register.DoFn3x0[context.Context, []byte, func(int)](&numbers{})
	register.DoFn4x1[context.Context, int, func(string), func(string, string), error](&answers{})
	register.DoFn3x1[context.Context, string, func(*string) bool, error](&keep{})
	register.Emitter1[int]()
	register.Emitter1[string]()
	register.Emitter2[string, string]()
	register.Iter1[string]()
}

// Task is what workers need to know. It travels to them as JSON.
type Task struct {
	Engine        string
	Wish          request.Wish
	Manifest, Out string
	// Of is how many shards there are, Scores how many scores a process works on at once.
	Of, Scores int
	GiveUp     bool
}

// made are the runners of this process: bundles that run at the same time share one, and so
// no more scores are held than it allows.
var made struct {
	sync.Mutex
	by map[string]*shard.Runner
}

func (t *Task) runner() (*shard.Runner, error) {
	key, err := json.Marshal(t)
	if err != nil {
		return nil, err
	}
	made.Lock()
	defer made.Unlock()
	if r := made.by[string(key)]; r != nil {
		return r, nil
	}
	r, err := shard.New(shard.Config{
		Version: t.Engine, Limits: musicxml.DefaultLimits(), Workers: t.Scores,
		Storage: address.Open(address.Config{}), Wish: t.Wish,
	})
	if err != nil {
		return nil, err
	}
	if made.by == nil {
		made.by = map[string]*shard.Runner{}
	}
	made.by[string(key)] = r
	return r, nil
}

// Answer answers all shards of a task and returns the failures of this run, each a line
// of JSON under one key. Shards that were there add none: theirs are among their answers.
//
// A runner may run a shard twice or at the same time on two machines. That changes
// nothing, since the first that is whole is the one that counts.
func Answer(s beam.Scope, t *Task) beam.PCollection {
	s = s.Scope("partwright.Answer")
	// Numbers, not scores, go through the runner: it has nothing to copy or to hold.
	all := beam.ParDo(s, &numbers{Of: t.Of}, beam.Impulse(s))
	_, failures := beam.ParDo2(s, &answers{Task: *t}, beam.Reshuffle(s, all))
	return failures
}

// numbers yields the numbers of the shards.
type numbers struct{ Of int }

// ProcessElement implements beam's DoFn.
func (f *numbers) ProcessElement(_ context.Context, _ []byte, emit func(int)) {
	for n := range f.Of {
		emit(n)
	}
}

// answers runs shards.
type answers struct {
	Task   Task
	runner *shard.Runner
}

// Setup implements beam's DoFn.
func (f *answers) Setup() (err error) {
	f.runner, err = f.Task.runner()
	return err
}

// ProcessElement implements beam's DoFn. It emits the name of the answers, and failures.
func (f *answers) ProcessElement(ctx context.Context, number int, done func(string), failed func(string, string)) error {
	var failures []string
	counts, err := f.runner.Shard(ctx, shard.Shard{
		Number: number, Of: f.Task.Of, Manifest: f.Task.Manifest, Out: f.Task.Out, GiveUp: f.Task.GiveUp,
		Failed: func(failure *report.Failure) {
			var b bytes.Buffer
			_ = report.EncodeNDJSON(&b).Failure(failure) // strings and numbers in memory
			failures = append(failures, b.String())
		},
	})
	if err != nil {
		return fmt.Errorf("shard %d: %w", number, err)
	}
	count(ctx, "shards", 1)
	if counts.There {
		count(ctx, "there", 1)
	} else {
		for _, line := range failures {
			failed("", line)
		}
	}
	count(ctx, "answered", int64(counts.Answered))
	count(ctx, "failed", int64(counts.Failed))
	count(ctx, "bytes", counts.Bytes)
	done(shard.Name(number, f.Task.Of))
	return nil
}

func count(ctx context.Context, name string, n int64) {
	beam.NewCounter("partwright", name).Inc(ctx, n)
}

// Keep writes failures to an address where nothing is yet.
func Keep(s beam.Scope, failures beam.PCollection, at string) {
	s = s.Scope("partwright.Keep")
	beam.ParDo0(s, &keep{At: at}, beam.GroupByKey(s, failures))
}

// keep writes lines.
type keep struct{ At string }

// ProcessElement implements beam's DoFn.
func (f *keep) ProcessElement(ctx context.Context, _ string, lines func(*string) bool) error {
	part, err := address.Open(address.Config{}).Create(ctx, f.At)
	if err != nil {
		return err
	}
	defer part.Discard()
	var line string
	for lines(&line) {
		if _, err := part.WriteString(line); err != nil {
			return err
		}
	}
	_, err = part.Commit(ctx)
	return err
}
