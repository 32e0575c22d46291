package main

import (
	"fmt"
	"io"
	"log/slog"
	"os"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/spf13/cobra"

	"partwright/api"
	"partwright/musicxml"
	"partwright/worker"
	"partwright/worker/store"
)

// serveFlags are the settings of partwright serve.
type serveFlags struct {
	server    api.Config
	pool      worker.PoolConfig
	limits    musicxml.Limits
	store     store.Config
	accounts  bool
	webhooks  webhookFlags
	batches   batchFlags
	logFormat string
	logLevel  string
}

func newServe() *cobra.Command {
	f := serveFlags{server: api.DefaultConfig(), pool: worker.DefaultPoolConfig()}
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Serve checks over HTTP",
		Long: `Serve takes scores over HTTP and answers with findings and marked scores; the
contract is at /v1/openapi.yaml. Metrics and health are on a port of their own.

Without --accounts there is a single user, whoever reaches the address, so it
listens on this machine only unless --allow-anyone says otherwise. Scores are held
in memory while they are worked on and nowhere else; nothing of them is logged.

With --data-dir, or a PostgreSQL at --database-url that several machines may share,
it takes batches as well: those are stored until they are deleted, and answered
whatever happens to the process.

It ends on SIGTERM or SIGINT once running work is answered. Every flag can be set
in the environment as well: PARTWRIGHT_ADDR for --addr, and so on.

Traces are sent by OpenTelemetry's protocol over HTTP where its variables name a
place: OTEL_EXPORTER_OTLP_ENDPOINT=http://127.0.0.1:4318, and so on.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return serve(cmd, &f) },
	}
	flags, c := cmd.Flags(), &f.server
	flags.StringVar(&c.Addr, "addr", c.Addr, "where clients connect")
	flags.StringVar(&c.OperatorAddr, "operator-addr", c.OperatorAddr, "where metrics and health are; off for nowhere")
	flags.Int64Var(&c.MaxUpload, "max-upload", c.MaxUpload, "largest request body in bytes")
	flags.Int64Var(&c.UploadMemory, "upload-memory", c.UploadMemory, "bytes of all uploads together that wait or are worked on")
	flags.IntVar(&c.MaxHeaderBytes, "max-header-bytes", c.MaxHeaderBytes, "longest request line and headers in bytes")
	flags.DurationVar(&c.HeaderTimeout, "header-timeout", c.HeaderTimeout, "time in which the headers of a request must arrive")
	flags.DurationVar(&c.StallTimeout, "stall-timeout", c.StallTimeout, "longest time without a byte of an upload or answer")
	flags.DurationVar(&c.UploadTimeout, "upload-timeout", c.UploadTimeout, "longest time for a whole upload")
	flags.DurationVar(&c.AnswerTimeout, "answer-timeout", c.AnswerTimeout, "longest time for sending a whole answer")
	flags.DurationVar(&c.IdleTimeout, "idle-timeout", c.IdleTimeout, "how long a connection is kept without a request")
	flags.DurationVar(&c.DrainDelay, "drain-delay", c.DrainDelay, "time between announcing the end in /readyz and closing the door")
	flags.DurationVar(&c.DrainTimeout, "drain-timeout", c.DrainTimeout, "time in which running work may finish after that")
	addStore(flags, &f.store)
	addAccounts(flags, &f.accounts, c)
	f.webhooks.add(flags)
	addBatches(flags, &f.batches, c)
	addArchiveLimits(flags, &c.Archives)
	flags.IntVar(&f.pool.Size, "workers", f.pool.Size, "scores worked on at once")
	flags.IntVar(&f.pool.Queue, "queue", f.pool.Queue, "scores that may wait")
	flags.DurationVar(&f.pool.Deadline, "timeout", f.pool.Deadline, "longest time for one score")
	flags.StringVar(&f.logFormat, "log-format", "json", "json or text")
	flags.StringVar(&f.logLevel, "log-level", "info", "debug, info, warn or error")
	addLimits(flags, &f.limits)
	return cmd
}

func serve(cmd *cobra.Command, f *serveFlags) error {
	if err := oneStore(&f.store); err != nil {
		return err
	}
	if err := f.batches.validate(&f.store, &f.server); err != nil {
		return err
	}
	logger, err := newLogger(cmd.ErrOrStderr(), f.logFormat, f.logLevel)
	if err != nil {
		return err
	}
	// No error: another program may have set it, such as Kubernetes for a service.
	for _, name := range unknownVariables(cmd.Root(), os.Environ()) {
		logger.WarnContext(cmd.Context(), "a variable in the environment is no flag's and passed over", "variable", name)
	}
	tracing, err := newTracing(cmd.Context(), os.Getenv, logger)
	if err != nil {
		return err
	}
	defer tracing.flush(cmd.Context())
	registry := prometheus.NewRegistry()
	metrics := worker.NewMetrics(registry)
	engine := &worker.Engine{Version: version(), Limits: f.limits, Observe: metrics.ObserveStage}
	pool, err := worker.NewPool(f.pool, engine, metrics, logger)
	if err != nil {
		return err
	}
	f.server.Archives.Bytes, f.server.Archives.Ratio = f.limits.MaxBytes, f.limits.MaxRatio
	if f.batches.only == onlyWorkers {
		f.server.Addr = "off"
	}
	f.server.Version, f.server.Tracing = version(), tracing.provider
	var data *store.Store
	if f.store.Dir != "" || f.store.URL != "" {
		if data, err = store.Open(cmd.Context(), f.store); err != nil {
			return &status{exitUnreadable, err}
		}
		defer func() { _ = data.Close() }()
		durable, err := openDurable(cmd.Context(), data, pool, f, registry, logger)
		if err != nil {
			return err
		}
		defer durable.abandon(cmd.Context())
		f.server.Batches, f.server.Webhooks, f.server.Drain = durable.batches, durable.webhooks, durable.close
	}
	if f.accounts {
		keeper, stop, err := keepAccounts(cmd.Context(), data, logger)
		if err != nil {
			return err
		}
		defer stop()
		f.server.Accounts = keeper
	}
	server, err := api.NewServer(f.server, pool, registry, logger)
	if err != nil {
		return err
	}
	if err := server.Run(cmd.Context()); err != nil {
		return &status{exitUnreadable, err}
	}
	return nil
}

func newLogger(w io.Writer, format, level string) (*slog.Logger, error) {
	var options slog.HandlerOptions
	var least slog.Level
	if err := least.UnmarshalText([]byte(level)); err != nil {
		return nil, fmt.Errorf("--log-level %s: say debug, info, warn or error", level)
	}
	options.Level = least
	switch format {
	case "json":
		return slog.New(slog.NewJSONHandler(w, &options)), nil
	case "text":
		return slog.New(slog.NewTextHandler(w, &options)), nil
	}
	return nil, fmt.Errorf("--log-format %s: say json or text", format)
}
