package main

import (
	"context"
	"errors"
	"log/slog"
	"math"
	"os"
	"runtime/debug"
	"strings"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"partwright/api"
	"partwright/api/command"
	"partwright/api/gradebook"
	"partwright/api/lti"
	"partwright/api/outgoing"
	"partwright/api/webhook"
	"partwright/worker"
	"partwright/worker/account"
	"partwright/worker/batch"
	"partwright/worker/classroom/classbook"
	"partwright/worker/pool"
	"partwright/worker/queue"
	"partwright/worker/store"
	"partwright/worker/wall"
)

// serve runs the service: a pool of workers, batches and accounts where there is a
// database for them, and the server before them.
func serve(ctx context.Context, c *command.ServeConfig) error {
	tracing, err := newTracing(ctx, os.Getenv, c.Logger)
	if err != nil {
		return err
	}
	defer tracing.flush(ctx)
	registry := prometheus.NewRegistry()
	metrics := pool.NewMetrics(registry)
	engine, ended, err := newEngine(c, metrics, registry)
	if err != nil {
		return command.Failed(err)
	}
	defer ended()
	workers, err := pool.New(c.Pool, engine, metrics, c.Logger)
	if err != nil {
		return err
	}
	settings := &c.Server
	settings.Archives.Bytes, settings.Archives.Ratio = c.Limits.MaxBytes, c.Limits.MaxRatio
	if c.Batches.Only == command.OnlyWorkers {
		settings.Addr = "off"
	}
	settings.Version, settings.Tracing = version(), tracing.provider
	var data *store.Store
	if c.Store.Dir != "" || c.Store.URL != "" {
		c.Store.Name = strings.TrimSpace("partwright " + c.Batches.Only)
		if data, err = store.Open(ctx, c.Store); err != nil {
			return command.Failed(err)
		}
		defer func() { _ = data.Close() }()
		durable, err := openDurable(ctx, data, workers, c, registry)
		if err != nil {
			return err
		}
		defer durable.abandon(ctx)
		settings.Classes = classbook.New(data, workers)
		settings.Gradebook = gradebook.New(gradebook.Config{
			Store: data, Classes: settings.Classes, Webhooks: durable.webhooks, Tool: durable.lti, Publisher: durable.scores,
		})
		settings.Batches, settings.Webhooks, settings.Drain, settings.LTI = durable.batches, durable.webhooks, durable.close, durable.lti
	}
	if c.Accounts {
		keeper, stop, err := keepAccounts(ctx, data, c.Logger)
		if err != nil {
			return err
		}
		defer stop()
		settings.Accounts = keeper
	}
	server, err := api.NewServer(*settings, workers, registry, c.Logger)
	if err != nil {
		return err
	}
	if err := server.Run(ctx); err != nil {
		return command.Failed(err)
	}
	return nil
}

// newEngine is what does the jobs: an engine here, or in processes of their own until
// ended is called.
func newEngine(c *command.ServeConfig, metrics *pool.Metrics, registry prometheus.Registerer) (e pool.Engine, ended func(), err error) {
	// What searches keep is estimated; the rest is left to the scores themselves.
	memory := c.Work.JobMemory / 2
	if !c.Work.Apart {
		return &worker.Engine{Version: version(), Limits: c.Limits, Memory: memory, Observe: metrics.ObserveStage}, func() {}, nil
	}
	w, err := wall.New(wall.Config{
		Version: version(), Limits: c.Limits, Memory: memory, Room: c.Work.JobMemory, Ready: c.Pool.Size + 1, // one more than work, for one that is killed
		Observe: metrics.ObserveStage, Logger: c.Logger,
	})
	if err != nil {
		return nil, nil, err
	}
	wall.Register(registry, w)
	boundMemory(c.Server.UploadMemory)
	return w, w.Close, nil
}

// besideUploads is what a service takes beside uploads where scores are worked on
// elsewhere: answers on their way out most of all.
const besideUploads = 128 << 20

// boundMemory lets garbage be collected in time: an upload leaves as much behind as it has
// bytes, which by default may lie about until it takes as much again as is in use. What
// the environment says of it (GOMEMLIMIT) goes before.
func boundMemory(uploads int64) {
	if debug.SetMemoryLimit(-1) == math.MaxInt64 {
		debug.SetMemoryLimit(uploads + besideUploads)
	}
}

// keepAccounts starts what accounts need until stop is called.
func keepAccounts(ctx context.Context, s *store.Store, logger *slog.Logger) (k *account.Keeper, stop func(), err error) {
	if s == nil {
		return nil, nil, errors.New("--accounts needs a place to keep them: --data-dir or --database-url")
	}
	k = account.New(s, logger)
	ctx, cancel := context.WithCancel(context.WithoutCancel(ctx))
	var running sync.WaitGroup
	running.Go(func() { k.Run(ctx) })
	return k, func() {
		cancel()
		running.Wait()
	}, nil
}

// durable is what a service does that has a database: batches, and telling of
// them.
type durable struct {
	batches  *batch.Service
	webhooks *webhook.Service
	lti      *lti.Tool      // nil for none
	scores   *lti.Publisher // nil for none
	stop     context.CancelFunc
	running  sync.WaitGroup
	end      sync.Once
	endErr   error
}

// openDurable starts work on what is in the database.
func openDurable(ctx context.Context, data *store.Store, workers *pool.Pool, c *command.ServeConfig, registry *prometheus.Registry) (*durable, error) {
	allowed, err := outgoing.ParseBlocks(c.Webhooks.Allow)
	if err != nil {
		return nil, err
	}
	d := &durable{webhooks: webhook.New(webhook.Config{
		Store: data, Allowed: allowed, Plain: c.Webhooks.Plain, Workers: c.Webhooks.Workers,
		Metrics: webhook.NewMetrics(registry), Logger: c.Logger,
	})}
	kinds := queue.NewKinds()
	d.webhooks.Handle(kinds)
	lines := map[string]int{webhook.Line: c.Webhooks.Workers}
	scores, err := d.answerLearningSystems(data, c, registry)
	if err != nil {
		return nil, err
	}
	if scores != nil {
		scores.Handle(kinds)
		lines[lti.Line] = c.Webhooks.Workers
	}
	config := batch.Config{
		Store: data, Workers: c.Pool.Size, Version: version(), KeepFor: c.Batches.KeepFor,
		ChunkScores: c.Batches.ChunkScores, ChunkBytes: c.Batches.ChunkBytes, ChunkTime: c.Batches.ChunkTime,
		Search: c.Batches.Search, Kinds: kinds, Lines: lines,
		Queue:   queue.Config{Tracing: c.Server.Tracing},
		Metrics: batch.NewMetrics(registry), Logger: c.Logger,
	}
	if c.Batches.Only != command.OnlyHTTP {
		config.Pool = workers
	}
	if d.batches, err = batch.Open(ctx, config); err != nil {
		return nil, command.Failed(err)
	}
	d.webhooks.Use(d.batches.Queue())
	if scores != nil {
		scores.Use(d.batches.Queue())
		d.scores = scores
	}
	if err := d.batches.Start(ctx); err != nil {
		return nil, command.Failed(err)
	}
	ctx, d.stop = context.WithCancel(context.WithoutCancel(ctx))
	d.running.Go(func() { d.webhooks.Run(ctx) })
	return d, nil
}

// platformTime bounds one request to a learning system.
const platformTime = 20 * time.Second

// answerLearningSystems makes what answers learning systems and publishes scores to them,
// where the service has a name for them; nil where it has none.
func (d *durable) answerLearningSystems(data *store.Store, c *command.ServeConfig, registry *prometheus.Registry) (*lti.Publisher, error) {
	metrics := lti.NewMetrics(registry)
	if c.LTI.URL == "" {
		return nil, nil
	}
	allowed, err := outgoing.ParseBlocks(c.LTI.Allow)
	if err != nil {
		return nil, err
	}
	guard := outgoing.Guard{Allowed: allowed}
	d.lti, err = lti.New(lti.Config{
		Store: lti.Keep(data), Base: c.LTI.URL, Guard: guard, Plain: c.LTI.Plain, Client: outgoing.NewClient(guard, nil, platformTime),
	})
	if err != nil {
		return nil, err
	}
	return lti.NewPublisher(d.lti, data, metrics), nil
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
