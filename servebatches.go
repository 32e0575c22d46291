package main

import (
	"errors"
	"fmt"
	"os"

	"github.com/spf13/pflag"

	"partwright/api"
	"partwright/worker/store"
)

// Parts of the service that a process can be.
const (
	onlyHTTP    = "http"
	onlyWorkers = "workers"
)

// batchFlags are the settings of partwright serve that concern batches.
type batchFlags struct {
	only        string
	chunkScores int
	chunkBytes  int64
}

func addBatches(flags *pflag.FlagSet, f *batchFlags, c *api.Config) {
	flags.StringVar(&f.only, "only", "", "http to take batches and leave the work to others, workers to work and take none; both need --database-url")
	flags.IntVar(&f.chunkScores, "chunk-scores", 32, "most scores of a batch in one job")
	flags.Int64Var(&f.chunkBytes, "chunk-bytes", 2<<20, "most bytes of scores in one job")
	flags.Int64Var(&c.MaxBatchUpload, "max-batch-upload", c.MaxBatchUpload, "largest body of a batch in bytes")
	flags.DurationVar(&c.BatchUploadTimeout, "batch-upload-timeout", c.BatchUploadTimeout, "longest time for the upload of a whole batch")
	flags.StringVar(&c.SpoolDir, "spool-dir", c.SpoolDir, "folder in which an upload of a batch waits until its scores are stored (default: the system's for temporary files)")
	flags.Int64Var(&c.MinFree, "min-free", c.MinFree, "room on the disk of the data directory in bytes below which the service is not ready")
}

func (f *batchFlags) validate(s *store.Config, c *api.Config) error {
	switch {
	case f.only != "" && f.only != onlyHTTP && f.only != onlyWorkers:
		return fmt.Errorf("--only %s: say http or workers", f.only)
	case f.only != "" && s.URL == "":
		return fmt.Errorf("--only %s needs --database-url: one process has a data directory to itself", f.only)
	case f.only == onlyWorkers, s.URL == "" && s.Dir == "":
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
