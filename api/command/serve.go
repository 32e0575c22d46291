package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"time"

	"github.com/spf13/cobra"

	"partwright/api"
	"partwright/musicxml"
	"partwright/worker/pool"
	"partwright/worker/store"
)

// ServeConfig is what the flags of partwright serve ask for.
type ServeConfig struct {
	Server   api.Config
	Pool     pool.Config
	Limits   musicxml.Limits
	Store    store.Config // empty for none
	Accounts bool
	Webhooks WebhookConfig
	LTI      LTIConfig
	Batches  BatchConfig
	Work     WorkConfig
	Logger   *slog.Logger
}

func newServe(serve func(context.Context, *ServeConfig) error) *cobra.Command {
	f := ServeConfig{Server: api.DefaultConfig(), Pool: pool.DefaultConfig()}
	f.Pool.HeavySize, f.Pool.HeavyQueue = 0, 0 // they follow from the others
	var logFormat, logLevel string
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Serve checks over HTTP",
		Long: `Serve takes scores over HTTP and answers with findings and marked scores. The
contract is at /v1/openapi.yaml, a page for browsers at /. Metrics and health are on a
port of their own.

Without --accounts there is a single user: whoever reaches the address. It therefore
listens on this machine only, unless --allow-anyone says otherwise. Scores are held
in memory while they are worked on and nowhere else. Nothing of them is logged.

With --data-dir, or a PostgreSQL at --database-url that several machines may share,
it takes batches as well. These are stored until they are deleted, and every score
is answered, whatever happens to the process.

It ends on SIGTERM or SIGINT once running work is answered. Every flag can be set
in the environment as well: PARTWRIGHT_ADDR for --addr, and so on.

Traces are sent by OpenTelemetry's protocol over HTTP where its variables name a
place: OTEL_EXPORTER_OTLP_ENDPOINT=http://127.0.0.1:4318, and so on.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) (err error) {
			if err := f.validate(); err != nil {
				return err
			}
			if f.Logger, err = newLogger(cmd.ErrOrStderr(), logFormat, logLevel); err != nil {
				return err
			}
			// No error: another program may have set it, such as Kubernetes for a service.
			for _, name := range unknownVariables(cmd.Root(), os.Environ()) {
				f.Logger.WarnContext(cmd.Context(), "a variable in the environment belongs to no flag and is ignored", "variable", name)
			}
			return serve(cmd.Context(), &f)
		},
	}
	flags, c := cmd.Flags(), &f.Server
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
	flags.DurationVar(&c.DrainDelay, "drain-delay", c.DrainDelay, "time between announcing the end in /readyz and refusing connections")
	flags.DurationVar(&c.DrainTimeout, "drain-timeout", c.DrainTimeout, "time in which running work may finish after that")
	flags.StringVar(&c.Engraver, "engraver", "", "folder with another copy of the engraver that the page uses: verovio-module.mjs and verovio.mjs")
	addStore(flags, &f.Store)
	flags.StringVar(&f.Store.Blobs, "blobs", "", "folder, or s3://BUCKET/PREFIX, where the scores and answers of batches are kept instead of in the database; the same for all processes on it, and no other database's")
	addAccounts(flags, &f.Accounts, c)
	addWebhooks(flags, &f.Webhooks, &f.Batches)
	addLTI(flags, &f.LTI)
	addBatches(flags, &f.Batches, c)
	addArchiveLimits(flags, &c.Archives)
	flags.IntVar(&f.Pool.Size, "workers", f.Pool.Size, "scores worked on at once")
	flags.IntVar(&f.Pool.Queue, "queue", f.Pool.Queue, "scores that may wait")
	flags.DurationVar(&f.Pool.Heavy, "heavy-from", f.Pool.Heavy, "estimated time from which a score is a heavy one")
	flags.IntVar(&f.Pool.HeavySize, "heavy-workers", 0, "heavy scores worked on at once (default: half of the workers, at least 1)")
	flags.IntVar(&f.Pool.HeavyQueue, "heavy-queue", 0, "heavy scores that may wait (default: a quarter of the queue)")
	flags.DurationVar(&f.Pool.Deadline, "timeout", f.Pool.Deadline, "longest time for one score")
	addWork(flags, &f.Work)
	flags.StringVar(&logFormat, "log-format", "json", "json or text")
	flags.StringVar(&logLevel, "log-level", "info", "debug, info, warn or error")
	addLimits(flags, &f.Limits)
	return cmd
}

func (c *ServeConfig) validate() error {
	if err := oneStore(&c.Store); err != nil {
		return err
	}
	if c.Store.Blobs != "" && c.Store.Dir == "" && c.Store.URL == "" {
		return errors.New("--blobs needs a database beside it: --data-dir or --database-url")
	}
	if c.Batches.KeepFor%time.Second != 0 {
		return errors.New("--retention: say whole seconds")
	}
	if c.Webhooks.Workers < 1 {
		return errors.New("--webhook-workers: at least 1 is needed")
	}
	if err := c.LTI.validate(&c.Store); err != nil {
		return err
	}
	if err := c.Work.settle(c.Accounts || c.Server.AllowAnyone || c.Store.Dir != "" || c.Store.URL != ""); err != nil {
		return err
	}
	return c.Batches.validate(&c.Store, &c.Server)
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
