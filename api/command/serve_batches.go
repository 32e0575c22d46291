package command

import (
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/spf13/pflag"

	"partwright/api"
	"partwright/worker/store"
)

// Parts of the service that a process can be.
const (
	OnlyHTTP    = "http"
	OnlyWorkers = "workers"
)

// BatchConfig says which part of the work on batches a service does, and in what
// pieces.
type BatchConfig struct {
	Only        string // OnlyHTTP, OnlyWorkers, or "" for both
	ChunkScores int
	ChunkBytes  int64
	ChunkTime   time.Duration
	// KeepFor is how long a batch is kept after its last event; 0 for ever.
	KeepFor time.Duration
	// Search keeps what was found as rows that can be asked for across batches.
	Search bool
}

func addBatches(flags *pflag.FlagSet, f *BatchConfig, c *api.Config) {
	flags.StringVar(&f.Only, "only", "", "http to take batches and leave the work to others, workers to work and take none; both need --database-url")
	flags.IntVar(&f.ChunkScores, "chunk-scores", 32, "most scores of a batch in one job")
	flags.Int64Var(&f.ChunkBytes, "chunk-bytes", 2<<20, "most bytes of scores in one job")
	flags.DurationVar(&f.ChunkTime, "chunk-time", time.Second, "longest time for one job, but for the score that is on then: what is left waits for its turn again")
	flags.BoolVar(&f.Search, "search", true, "keep what is found in batches as rows, for /v1/findings, /v1/harmonies and /v1/scores")
	flags.Int64Var(&c.MaxBatchUpload, "max-batch-upload", c.MaxBatchUpload, "largest body of a batch in bytes")
	flags.DurationVar(&c.BatchUploadTimeout, "batch-upload-timeout", c.BatchUploadTimeout, "longest time for the upload of a whole batch")
	flags.StringVar(&c.SpoolDir, "spool-dir", c.SpoolDir, "folder in which an upload of a batch waits until its scores are stored (default: the system's for temporary files)")
	flags.Int64Var(&c.MinFree, "min-free", c.MinFree, "free bytes on the disk of the data directory below which the service is not ready")
}

func (f *BatchConfig) validate(s *store.Config, c *api.Config) error {
	switch {
	case f.Only != "" && f.Only != OnlyHTTP && f.Only != OnlyWorkers:
		return fmt.Errorf("--only %s: say http or workers", f.Only)
	case f.Only != "" && s.URL == "":
		return fmt.Errorf("--only %s needs --database-url: one process has a data directory to itself", f.Only)
	case f.Only == OnlyWorkers, s.URL == "" && s.Dir == "":
		return nil
	}
	return spoolable(c.SpoolDir)
}

// spoolable tries whether uploads can wait in a folder: without it every one would fail.
func spoolable(dir string) error {
	f, err := os.CreateTemp(dir, "upload-*")
	if err != nil {
		return fmt.Errorf("--spool-dir: uploads of batches could not be kept: %w", err)
	}
	return errors.Join(f.Close(), os.Remove(f.Name()))
}
