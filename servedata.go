package main

import (
	"context"
	"errors"
	"log/slog"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/spf13/pflag"

	"partwright/api/webhook"
	"partwright/worker"
	"partwright/worker/batch"
	"partwright/worker/queue"
	"partwright/worker/store"
)

// webhookFlags are the settings of what is sent to webhooks.
type webhookFlags struct {
	allow   []string
	plain   bool
	workers int
	keep    time.Duration
}

func (f *webhookFlags) add(flags *pflag.FlagSet) {
	flags.DurationVar(&f.keep, "retention", 0, "how long a batch is kept in which nothing happens any more, where its organization says nothing else; 0 for ever")
	flags.StringSliceVar(&f.allow, "webhook-allow", nil, "blocks of addresses inside your own network to which webhooks may be sent, such as 10.1.0.0/16")
	flags.BoolVar(&f.plain, "webhook-plain", false, "let the addresses of webhooks begin with http:// too")
	flags.IntVar(&f.workers, "webhook-workers", 4, "messages sent to webhooks at once")
}

// durable is what a service does that has a database: batches, and telling of
// them.
type durable struct {
	batches  *batch.Service
	webhooks *webhook.Service
	stop     context.CancelFunc
	running  sync.WaitGroup
	end      sync.Once
	endErr   error
}

// openDurable starts work on what is in the database.
func openDurable(ctx context.Context, data *store.Store, pool *worker.Pool, flags *serveFlags, registry *prometheus.Registry, logger *slog.Logger) (*durable, error) {
	f := &flags.webhooks
	allowed, err := webhook.ParseBlocks(f.allow)
	if err != nil {
		return nil, err
	}
	if f.keep%time.Second != 0 {
		return nil, errors.New("--retention: say whole seconds")
	}
	if f.workers < 1 {
		return nil, errors.New("--webhook-workers: at least 1 is needed")
	}
	d := &durable{webhooks: webhook.New(webhook.Config{
		Store: data, Allowed: allowed, Plain: f.plain, Workers: f.workers, Metrics: webhook.NewMetrics(registry), Logger: logger,
	})}
	kinds := queue.NewKinds()
	d.webhooks.Handle(kinds)
	config := batch.Config{
		Store: data, Workers: flags.pool.Size, Version: version(), KeepFor: f.keep,
		ChunkScores: flags.batches.chunkScores, ChunkBytes: flags.batches.chunkBytes,
		Kinds: kinds, Lines: map[string]int{webhook.Line: f.workers},
		Queue:   queue.Config{Tracing: flags.server.Tracing},
		Metrics: batch.NewMetrics(registry), Logger: logger,
	}
	if flags.batches.only != onlyHTTP {
		config.Pool = pool
	}
	if d.batches, err = batch.Open(ctx, config); err != nil {
		return nil, &status{exitUnreadable, err}
	}
	d.webhooks.Use(d.batches.Queue())
	if err := d.batches.Start(ctx); err != nil {
		return nil, &status{exitUnreadable, err}
	}
	ctx, d.stop = context.WithCancel(context.WithoutCancel(ctx))
	d.running.Go(func() { d.webhooks.Run(ctx) })
	return d, nil
}

// close takes no further work and waits for what runs until ctx is done; the rest
// is begun again by the next process. Closing again changes nothing.
func (d *durable) close(ctx context.Context) error {
	d.end.Do(func() {
		d.stop()
		d.running.Wait()
		d.endErr = d.batches.Stop(ctx)
	})
	return d.endErr
}

// abandon closes what a server that never ran did not.
func (d *durable) abandon(ctx context.Context) {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 2*time.Second)
	defer cancel()
	_ = d.close(ctx) // what it would say was said, or is said by the error that led here
}
