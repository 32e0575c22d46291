package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/spf13/pflag"

	"partwright/api"
	"partwright/api/webhook"
	"partwright/worker"
	"partwright/worker/batch"
	"partwright/worker/queue"
	"partwright/worker/store"
)

// Parts of the service that a process can be.
const (
	onlyHTTP    = "http"
	onlyWorkers = "workers"
)

// batchFlags are the settings of partwright serve that concern batches.
type batchFlags struct {
	only    string
	keepFor time.Duration
	hooks   bool
	config  batch.Config
}

func addBatches(flags *pflag.FlagSet, f *batchFlags, c *api.Config) {
	flags.StringVar(&f.only, "only", "", "http to take batches and leave the work to others, workers to work and take none; both need --database-url")
	flags.DurationVar(&f.keepFor, "keep-for", 0, "how long a batch is kept after its end where its organization says nothing else; 0 until it is deleted")
	flags.BoolVar(&f.hooks, "webhooks", true, "tell organizations of events where they asked for it")
	flags.IntVar(&f.config.ChunkScores, "chunk-scores", 32, "most scores of a batch in one job")
	flags.Int64Var(&f.config.ChunkBytes, "chunk-bytes", 2<<20, "most bytes of scores in one job")
	flags.Int64Var(&c.MaxBatchUpload, "max-batch-upload", c.MaxBatchUpload, "largest body of a batch in bytes")
	flags.DurationVar(&c.BatchUploadTimeout, "batch-upload-timeout", c.BatchUploadTimeout, "longest time for the upload of a whole batch")
	flags.StringVar(&c.SpoolDir, "spool-dir", c.SpoolDir, "folder in which an upload of a batch waits until its scores are stored (default: the system's for temporary files)")
	flags.Int64Var(&c.MinFree, "min-free", c.MinFree, "room on the disk of the data directory in bytes below which the service is not ready")
}

func (f *batchFlags) validate(s *store.Config) error {
	switch f.only {
	case "":
		return nil
	case onlyHTTP, onlyWorkers:
		if s.URL == "" {
			return fmt.Errorf("--only %s needs --database-url: one process has a data directory to itself", f.only)
		}
		return nil
	}
	return fmt.Errorf("--only %s: say http or workers", f.only)
}

// openBatches starts what answers batches until stop is called. It must be called
// while the context of the drain lasts.
func openBatches(
	ctx context.Context, f *batchFlags, data *store.Store, pool *worker.Pool, slots int,
	registry *prometheus.Registry, logger *slog.Logger,
) (s *batch.Service, hooks *webhook.Service, stop func(context.Context) error, err error) {
	c := f.config
	c.Store, c.Workers, c.Version, c.KeepFor = data, slots, version(), f.keepFor
	c.Metrics, c.Logger = batch.NewMetrics(registry), logger
	if f.only != onlyHTTP {
		c.Pool = pool
	}
	if f.hooks {
		hooks = webhook.New(webhook.Config{Store: data, Metrics: webhook.NewMetrics(registry), Logger: logger})
		c.Kinds = queue.NewKinds()
		hooks.Handle(c.Kinds)
		c.Lines = map[string]int{webhook.Line: 8}
	}
	if s, err = batch.Open(ctx, c); err != nil {
		return nil, nil, nil, err
	}
	house, cancel := context.WithCancel(context.WithoutCancel(ctx))
	if hooks != nil {
		hooks.Use(s.Queue())
		go hooks.Run(house)
	}
	if err := s.Start(ctx); err != nil {
		cancel()
		return nil, nil, nil, err
	}
	return s, hooks, func(ctx context.Context) error {
		cancel()
		return s.Stop(ctx)
	}, nil
}

// stopBatches lets chunks end that are being worked on.
func stopBatches(stop func(context.Context) error, within time.Duration, logger *slog.Logger) error {
	ctx, cancel := context.WithTimeout(context.Background(), within)
	defer cancel()
	err := stop(ctx)
	if errors.Is(err, context.DeadlineExceeded) {
		logger.WarnContext(ctx, "some chunks did not end in time and will be begun again", "within", within.String())
		return nil
	}
	return err
}
