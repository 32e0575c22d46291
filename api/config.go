package api

import (
	"context"
	"fmt"
	"time"

	"go.opentelemetry.io/otel/trace"

	"partwright/api/gradebook"
	"partwright/api/lti"
	"partwright/api/webhook"
	"partwright/musicxml/archive"
	"partwright/worker/account"
	"partwright/worker/batch"
	"partwright/worker/classroom/classbook"
)

// Config configures a [Server]. The zero value works.
type Config struct {
	// Version is the version of the program, for metrics.
	Version string
	// Tracing makes the spans of requests; nil for none.
	Tracing trace.TracerProvider
	// Addr is where clients connect (default 127.0.0.1:8080); "off" for a process
	// that only works on batches.
	Addr string
	// Accounts knows who may come. Without it there is a single user, whoever
	// reaches the address, which must then be one of this machine.
	Accounts *account.Keeper
	// Engraver is a folder with another copy of the engraver of the page; "" is the
	// one that comes with the program.
	Engraver string
	// AllowAnyone lets the service listen beyond this machine without accounts.
	AllowAnyone bool
	// LTI answers learning systems; nil for a service that does not.
	LTI *lti.Tool
	// Gradebook ties assignments to learning systems; it must be there where LTI is.
	Gradebook *gradebook.Book
	// Webhooks sends events to organizations; nil for a service that does not.
	Webhooks *webhook.Service
	// Drain ends what else works on the pool, after the last request and before the
	// pool itself; nil for nothing.
	Drain func(context.Context) error
	// Key bounds what may be done with one key.
	Key KeyLimits
	// OperatorAddr serves metrics and health (default 127.0.0.1:9464); "off"
	// serves none.
	OperatorAddr string
	// MaxUpload is the largest body in bytes (default 64 MiB). It bounds the
	// bytes as they are sent; what a container may unpack to is the engine's
	// limit.
	MaxUpload int64
	// UploadMemory bounds the bytes of all uploads together that wait or are
	// worked on (default 192 MiB). Past it, clients are refused and may try again.
	UploadMemory int64
	// Batches answers batches; nil for a service without.
	Batches *batch.Service
	// Classes keeps assignments and what is handed in; nil for a service without.
	Classes *classbook.Service
	// MaxBatchUpload is the largest body of a batch in bytes (default 2 GiB), kept
	// in a file in SpoolDir (default that of the system for temporary files) until
	// its scores are stored; BatchUploadTimeout bounds its sending (default 1 h).
	MaxBatchUpload     int64
	SpoolDir           string
	BatchUploadTimeout time.Duration
	// Archives bound what an archive may unpack to.
	Archives archive.Limits
	// MaxFollowers is how many clients may follow events at once (default 1000).
	MaxFollowers int64
	// MinFree is the room on the disk of the data directory, in bytes, below which
	// the service says that it is not ready (default 256 MiB).
	MinFree int64
	// MaxHeaderBytes bounds the request line and headers (default 16 KiB).
	MaxHeaderBytes int
	// HeaderTimeout bounds the time in which the headers of a request must
	// arrive (default 5 s).
	HeaderTimeout time.Duration
	// StallTimeout bounds the time without a byte of an upload, or in which a
	// client must take the next 256 KiB of an answer (default 10 s).
	StallTimeout time.Duration
	// UploadTimeout and AnswerTimeout bound a whole upload and the sending of a
	// whole answer (default 2 min each).
	UploadTimeout, AnswerTimeout time.Duration
	// IdleTimeout is how long a connection is kept without a request (default
	// 60 s).
	IdleTimeout time.Duration
	// DrainDelay is the time between announcing the end in /readyz and closing
	// the door, so that a load balancer can look elsewhere (default none).
	DrainDelay time.Duration
	// DrainTimeout bounds the time in which running work may finish after that
	// (default 45 s, of which requests get three quarters, more than the time limit
	// of a score).
	DrainTimeout time.Duration
}

func orDefault[T comparable](value *T, fallback T) {
	var zero T
	if *value == zero {
		*value = fallback
	}
}

func (c Config) withDefaults() Config {
	orDefault(&c.Version, "unknown")
	orDefault(&c.Addr, "127.0.0.1:8080")
	orDefault(&c.OperatorAddr, "127.0.0.1:9464")
	c.Key = c.Key.withDefaults()
	orDefault(&c.MaxUpload, 64<<20)
	orDefault(&c.UploadMemory, 192<<20)
	orDefault(&c.MaxBatchUpload, 2<<30)
	orDefault(&c.BatchUploadTimeout, time.Hour)
	orDefault(&c.Archives.Bytes, archive.DefaultBytes)
	orDefault(&c.MaxFollowers, 1000)
	orDefault(&c.MinFree, 256<<20)
	orDefault(&c.MaxHeaderBytes, 16<<10)
	orDefault(&c.HeaderTimeout, 5*time.Second)
	orDefault(&c.StallTimeout, 10*time.Second)
	orDefault(&c.UploadTimeout, 2*time.Minute)
	orDefault(&c.AnswerTimeout, 2*time.Minute)
	orDefault(&c.IdleTimeout, time.Minute)
	orDefault(&c.DrainTimeout, 45*time.Second)
	return c
}

// validate expects defaults to be filled in.
func (c Config) validate() error {
	for _, f := range []struct {
		name  string
		value int64
	}{
		{"MaxBatchUpload", c.MaxBatchUpload}, {"BatchUploadTimeout", int64(c.BatchUploadTimeout)},
		{"MaxFollowers", c.MaxFollowers}, {"MinFree", c.MinFree},
		{"MaxUpload", c.MaxUpload}, {"UploadMemory", c.UploadMemory}, {"MaxHeaderBytes", int64(c.MaxHeaderBytes)},
		{"Key.Rate", int64(c.Key.Rate)}, {"Key.Burst", int64(c.Key.Burst)}, {"Key.Concurrent", int64(c.Key.Concurrent)}, {"Key.Bytes", c.Key.Bytes},
		{"HeaderTimeout", int64(c.HeaderTimeout)}, {"StallTimeout", int64(c.StallTimeout)},
		{"UploadTimeout", int64(c.UploadTimeout)}, {"AnswerTimeout", int64(c.AnswerTimeout)},
		{"IdleTimeout", int64(c.IdleTimeout)}, {"DrainDelay", int64(c.DrainDelay)}, {"DrainTimeout", int64(c.DrainTimeout)},
	} {
		if f.value < 0 {
			return fmt.Errorf("%s is %d; it must not be negative", f.name, f.value)
		}
	}
	if c.UploadMemory < c.MaxUpload {
		return fmt.Errorf("UploadMemory (%d) is less than MaxUpload (%d): the largest upload could never be taken", c.UploadMemory, c.MaxUpload)
	}
	return nil
}

// DefaultConfig returns the zero configuration with its defaults filled in.
func DefaultConfig() Config { return Config{}.withDefaults() }
