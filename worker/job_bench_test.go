package worker

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/beevik/etree"

	"partwright/musicxml/container"
	"partwright/worker/answer"
	"partwright/worker/request"
	"partwright/worker/stage"
)

// benchScore is one score of a benchmark: as it came, and its bare document.
type benchScore struct {
	name       string
	data, text []byte
}

// benchCorpora are the demo class and, where they are, open chorales: 186 in
// open score, 195 in closed score.
func benchCorpora(b *testing.B) map[string][]benchScore {
	b.Helper()
	corpora := map[string][]benchScore{}
	for name, pattern := range map[string]string{
		"class":           "../testdata/class/*.musicxml",
		"chorales-open":   "../../shared/data/chorales-open/*.mxl",
		"chorales-closed": "../../shared/data/chorales-closed/*.mxl",
	} {
		files, err := filepath.Glob(pattern)
		if err != nil {
			b.Fatal(err)
		}
		for _, file := range files {
			corpora[name] = append(corpora[name], readBenchScore(b, file))
		}
	}
	if len(corpora["class"]) == 0 {
		b.Fatal("the demo class is gone")
	}
	return corpora
}

func readBenchScore(b *testing.B, file string) benchScore {
	b.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		b.Fatal(err)
	}
	s := benchScore{name: filepath.Base(file), data: data, text: data}
	if filepath.Ext(file) == ".mxl" {
		packed, err := container.Open(data, container.Limits{})
		if err != nil {
			b.Fatal(err)
		}
		s.text = packed.Score
	}
	return s
}

// BenchmarkJob is the whole job on one score after the other: read, find voices,
// name the harmony, check, report, mark, write. Beside it stand what others need
// for reading the same bytes alone: etree, and xmllint over all files in one
// process. "packed" is the job on the .mxl as it came, unpacking and packing
// included. The job also says how long each stage took. Run it with -cpu 1 for scores per second and core.
func BenchmarkJob(b *testing.B) {
	for name, scores := range benchCorpora(b) {
		b.Run(name, func(b *testing.B) {
			b.Run("job", func(b *testing.B) {
				spent := map[stage.Name]time.Duration{}
				engine := &Engine{Observe: func(_ context.Context, stage stage.Name, took time.Duration) { spent[stage] += took }}
				benchEach(b, scores, func(s benchScore) error { return wholeJob(engine, s.name, s.text) })
				for _, stage := range stage.All {
					b.ReportMetric(float64(spent[stage].Nanoseconds())/float64(b.N), string(stage)+"-ns/op")
				}
			})
			b.Run("packed", func(b *testing.B) {
				if bytes.Equal(scores[0].data, scores[0].text) {
					b.Skip("these scores are not packed")
				}
				benchEach(b, scores, func(s benchScore) error { return wholeJob(&Engine{}, s.name, s.data) })
			})
			b.Run("etree-read", func(b *testing.B) {
				benchEach(b, scores, func(s benchScore) error { return etree.NewDocument().ReadFromBytes(s.text) })
			})
			b.Run("xmllint-parse", func(b *testing.B) { benchXmllint(b, scores) })
		})
	}
}

func wholeJob(engine *Engine, name string, data []byte) error {
	plan, err := planned(&request.Check{}, "marks", "true")
	if err != nil {
		return err
	}
	result, err := engine.Do(context.Background(), Input{Name: name, Data: data}, plan)
	if err != nil {
		return err
	}
	if len(scoreOf(result, answer.Marked)) == 0 {
		return fmt.Errorf("%s: no marked score", name)
	}
	_, err = result.All()
	return err
}

// benchEach does one score an operation, in turn.
func benchEach(b *testing.B, scores []benchScore, do func(benchScore) error) {
	b.ReportAllocs()
	total, i := 0, 0
	for _, s := range scores {
		total += len(s.text)
	}
	b.SetBytes(int64(total / len(scores)))
	for b.Loop() {
		s := scores[i%len(scores)]
		if err := do(s); err != nil {
			b.Fatal(err)
		}
		i++
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "scores/s")
}

// benchXmllint parses all scores in one process an operation, so that starting it
// hardly counts.
func benchXmllint(b *testing.B, scores []benchScore) {
	xmllint, err := exec.LookPath("xmllint")
	if err != nil {
		b.Skip("xmllint is not installed")
	}
	arguments := []string{"--noout", "--nonet"}
	total := 0
	for i, s := range scores {
		file := filepath.Join(b.TempDir(), fmt.Sprintf("%d.musicxml", i))
		if err := os.WriteFile(file, s.text, 0o600); err != nil {
			b.Fatal(err)
		}
		arguments = append(arguments, file)
		total += len(s.text)
	}
	b.SetBytes(int64(total))
	for b.Loop() {
		if out, err := exec.Command(xmllint, arguments...).CombinedOutput(); err != nil {
			b.Fatalf("%v: %s", err, out)
		}
	}
	b.ReportMetric(float64(b.N*len(scores))/b.Elapsed().Seconds(), "scores/s")
}
