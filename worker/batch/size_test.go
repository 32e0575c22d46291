//go:build unix

package batch_test

import (
	"archive/zip"
	"bytes"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"partwright/worker"
	"partwright/worker/batch"
	"partwright/worker/files"
	"partwright/worker/pool"
	"partwright/worker/queue"
	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

var (
	sizeScores = flag.Int("size-scores", 0, "how many scores TestSizes stores (0 skips it)")
	sizeSearch = flag.Bool("size-search", true, "whether it keeps what is found as rows")
)

// TestSizes logs how large the database is after a batch of different scores, after the same
// batch again, and after their deletion, with the processor time of each; what the service
// and the embedded database take is one process.
func TestSizes(t *testing.T) {
	if *sizeScores == 0 {
		t.Skip("a measurement: say -size-scores 2000")
	}
	chorales := chorales(t)
	storetest.Each(t, func(t *testing.T, c store.Config) {
		for name, blobs := range map[string]string{"inside": "", "folder": t.TempDir()} {
			t.Run(name, func(t *testing.T) {
				c := c
				if c.Dir != "" {
					c.Dir = t.TempDir()
				} else {
					c.URL = storetest.EmptyPostgres(t)
				}
				c.Blobs = blobs
				measureSizes(t, c, chorales, *sizeScores)
			})
		}
	})
}

func measureSizes(t *testing.T, c store.Config, chorales [][]byte, n int) {
	s := storetest.Open(t, c)
	engine := must(pool.New(pool.Config{Size: 2}, &worker.Engine{Version: "test"}, nil, nil))(t)
	b := must(batch.Open(t.Context(), batch.Config{
		Store: s, Pool: engine, Workers: 2, Version: "test", Search: *sizeSearch, Queue: queue.Config{FetchPoll: 20 * time.Millisecond},
	}))(t)
	bench := &bench{T: t, Service: b, store: s}
	bench.start()
	said := func(after string, begun time.Time, used time.Duration) {
		t.Helper()
		if err := s.Shrink(t.Context()); err != nil {
			t.Fatal(err)
		}
		if err := s.EmptyLog(t.Context()); err != nil {
			t.Fatal(err)
		}
		outside := 0
		if c.Blobs != "" {
			outside = stored(t, c.Blobs)
		}
		t.Logf("%-12s database %6.2f kB a score, %5d files with %6.2f kB a score; processor %5.2f ms, elapsed %5.2f ms a score",
			after, perScore(must(s.Size(t.Context()))(t), n)/1000, outside, perScore(folderSize(t, c.Blobs), n)/1000,
			perScore(int64(processor(t)-used), n)/1e6, perScore(int64(time.Since(begun)), n)/1e6)
	}
	var ids []string
	for _, which := range []string{"first batch", "again"} {
		begun, used := time.Now(), processor(t)
		ids = append(ids, must(b.Create(t.Context(), batch.Order{Organization: org, Request: asked("marks", "true"), Items: different(chorales, n)}))(t).ID)
		if status := bench.waitLong(ids[len(ids)-1]); status.Failed > 0 {
			t.Fatalf("%+v", status.Counts)
		}
		said(which, begun, used)
	}
	for i, which := range []string{"one deleted", "both deleted"} {
		begun, used := time.Now(), processor(t)
		if err := b.Delete(t.Context(), org, ids[i]); err != nil {
			t.Fatal(err)
		}
		said(which, begun, used)
	}
}

func perScore(all int64, n int) float64 { return float64(all) / float64(n) }

// waitLong waits until a batch is finished, however long that takes.
func (b *bench) waitLong(id string) *batch.Status {
	b.Helper()
	for {
		status := must(b.Status(b.Context(), org, id))(b.T)
		if status.State == store.BatchFinished {
			return status
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// chorales are those of the shared data in open score, unpacked.
func chorales(t *testing.T) (all [][]byte) {
	t.Helper()
	names, err := filepath.Glob(filepath.Join("..", "..", "..", "shared", "data", "chorales-open", "*.mxl"))
	if err != nil || len(names) == 0 {
		t.Skip("there are no chorales in ../shared/data")
	}
	for _, name := range names {
		archive := must(zip.OpenReader(name))(t)
		for _, entry := range archive.File {
			if !strings.HasPrefix(entry.Name, "META-INF/") && strings.HasSuffix(entry.Name, "xml") {
				data := must(entry.Open())(t)
				all = append(all, must(io.ReadAll(data))(t))
			}
		}
		if err := archive.Close(); err != nil {
			t.Fatal(err)
		}
	}
	return all
}

// titled are n scores, each made different by a comment.
func different(chorales [][]byte, n int) iter.Seq[files.Item] {
	return func(yield func(files.Item) bool) {
		for i := range n {
			data := chorales[i%len(chorales)]
			end := bytes.Index(data, []byte("<part-list"))
			text := fmt.Appendf(bytes.Clone(data[:end]), "<!-- copy %d -->", i)
			text = append(text, data[end:]...)
			if !yield(files.Item{Name: fmt.Sprintf("%05d.musicxml", i), Read: func() ([]byte, error) { return text, nil }}) {
				return
			}
		}
	}
}

// processor is the time that this process has had.
func processor(t *testing.T) time.Duration {
	t.Helper()
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		t.Fatal(err)
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}

func folderSize(t *testing.T, dir string) (size int64) {
	t.Helper()
	if dir == "" {
		return 0
	}
	err := filepath.WalkDir(dir, func(path string, entry fs.DirEntry, err error) error {
		if err == nil && !entry.IsDir() {
			var info os.FileInfo
			if info, err = entry.Info(); err == nil {
				size += info.Size()
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return size
}
