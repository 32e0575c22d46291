// Command beam answers a list of addresses in shards as a pipeline of Apache Beam. It is
// the worker of that pipeline too: a runner starts the same program.
//
// It is a module of its own, which the program partwright knows nothing of. See
// ../ARCHIVES.md for the flags of runners.
package main

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"net/url"
	"os"
	"strings"

	"github.com/apache/beam/sdks/v2/go/pkg/beam"
	"github.com/apache/beam/sdks/v2/go/pkg/beam/core/metrics"
	"github.com/apache/beam/sdks/v2/go/pkg/beam/runners"
	// The runners: one in this process, which also knows the way to those elsewhere.
	_ "github.com/apache/beam/sdks/v2/go/pkg/beam/runners/prism"

	"partwright/worker/request"
	"partwright/worker/shard"
)

// release is set by the linker, as in partwright: -X main.release=v1.2.3.
var release = "unreleased"

// settings are the flags of the pipeline, beside those of Beam.
type settings struct {
	manifest, out, failures, options string
	shards, workers                  int
	giveUp                           bool
}

func main() {
	var s settings
	flag.StringVar(&s.manifest, "manifest", "", "the address of the list of addresses")
	flag.StringVar(&s.out, "out", "", "folder for answers, or s3://BUCKET/PREFIX")
	flag.StringVar(&s.failures, "failures", "", "an address for the failures of this submission, which must not be there yet")
	flag.StringVar(&s.options, "ask", "", "what to ask for, as in a query over HTTP: rules=bach&analysis=true")
	flag.IntVar(&s.shards, "shards", 40, "how many shards the list falls into")
	flag.IntVar(&s.workers, "scores", 0, "scores worked on at once in a process, 0 for as many as there are processors")
	flag.BoolVar(&s.giveUp, "give_up", false, "answer addresses that cannot be read just now as failures")
	flag.Parse()
	beam.Init() // a worker does not come back from here
	if err := run(context.Background(), &s); err != nil {
		fmt.Fprintln(os.Stderr, "beam:", err)
		os.Exit(1)
	}
}

// run submits the pipeline, waits for its end and prints the counts of all shards.
func run(ctx context.Context, s *settings) error {
	if s.manifest == "" || s.out == "" || s.shards < 1 {
		return errors.New("name the list of addresses with -manifest, a folder for answers with -out, and at least one shard")
	}
	wish, err := wishOf(s.options)
	if err != nil {
		return err
	}
	task := Task{
		Engine: release, Wish: wish, Manifest: s.manifest, Out: s.out, Of: s.shards, Scores: s.workers, GiveUp: s.giveUp,
	}
	if _, err := task.runner(); err != nil {
		return err
	}
	p, scope := beam.NewPipelineWithRoot()
	failures := Answer(scope, &task)
	if s.failures != "" {
		Keep(scope, failures, s.failures)
	}
	result, err := beam.Run(ctx, cmp.Or(*runners.Runner, "prism"), p)
	if err != nil {
		return err
	}
	return json.NewEncoder(os.Stdout).Encode(countsOf(result.Metrics()))
}

// wishOf is the check that options ask for.
func wishOf(options string) (request.Wish, error) {
	query, err := url.ParseQuery(options)
	if err != nil {
		return request.Wish{}, fmt.Errorf("-ask: %w", err)
	}
	said := request.Values{}
	for name, values := range query {
		said[name] = request.Source{Text: strings.Join(values, ",")}
	}
	var c request.Check
	if err := request.Bind(&c, said); err != nil {
		return request.Wish{}, fmt.Errorf("-ask: %w", err)
	}
	plan, err := c.Plan()
	if err != nil {
		return request.Wish{}, fmt.Errorf("-ask: %w", err)
	}
	return plan.Wish(), nil
}

// total is what all shards of a submission come to.
type total struct {
	shard.Counts
	// ShardsThere are those that had been answered before.
	ShardsThere int64 `json:"shards_there"`
	Shards      int64 `json:"shards"`
}

// countsOf reads the counts that workers have reported.
func countsOf(m metrics.Results) total {
	var t total
	for _, c := range m.AllMetrics().Counters() {
		n := c.Result()
		switch c.Name() {
		case "shards":
			t.Shards += n
		case "there":
			t.ShardsThere += n
		case "answered":
			t.Answered += int(n)
		case "failed":
			t.Failed += int(n)
		case "bytes":
			t.Bytes += n
		}
	}
	t.Scores = t.Answered + t.Failed
	return t
}
