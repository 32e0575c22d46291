package api

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"regexp"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"golang.org/x/time/rate"

	"partwright/api/page"
	"partwright/worker/pool"
)

// Server serves checks over HTTP, and metrics and health to the operator.
type Server struct {
	handlers *handlers
	public   *http.Server
	operator *http.Server
}

// NewServer returns a server that works on a pool and registers its metrics, with
// those of the process, in a registry of its own. Begin with [Server.Run].
func NewServer(config Config, pool *pool.Pool, registry *prometheus.Registry, logger *slog.Logger) (*Server, error) {
	return newServer(config, pool, registry, logger)
}

func newServer(config Config, pool jobs, registry *prometheus.Registry, logger *slog.Logger) (*Server, error) {
	config = config.withDefaults()
	if err := config.validate(); err != nil {
		return nil, err
	}
	contract, err := loadContract()
	if err != nil {
		return nil, err
	}
	site, err := page.New(config.Engraver)
	if err != nil {
		return nil, err
	}
	h := &handlers{
		config: config, pool: pool, contract: contract, page: site, languages: newMatcher(), logger: logger,
		memory: &memory{limit: config.UploadMemory}, drainer: make(drainer, maxDrains), metrics: newMetrics(registry, config.Version),
		tracer: newTracer(config.Tracing),
		meters: newMeters(config.Key), signIns: rate.NewLimiter(signInsASecond, signInsAtOnce), logins: rate.NewLimiter(loginsASecond, loginsAtOnce), crossOrigin: http.NewCrossOriginProtection(),
		stopping: make(chan struct{}),
	}
	h.watchReadiness(registry)
	s := &Server{handlers: h}
	public, err := compressed(h.router())
	if err != nil {
		return nil, err
	}
	s.public = s.httpServer(public)
	s.operator = s.httpServer(h.operatorRoutes(registry))
	return s, nil
}

// httpServer bounds everything that a client can do slowly. Handlers set nearer
// deadlines for bodies; those here are the last resort.
func (s *Server) httpServer(handler http.Handler) *http.Server {
	c := s.handlers.config
	return &http.Server{
		Handler:           handler,
		ReadHeaderTimeout: c.HeaderTimeout,
		ReadTimeout:       c.HeaderTimeout + c.UploadTimeout,
		WriteTimeout:      c.HeaderTimeout + c.UploadTimeout + c.AnswerTimeout + 10*time.Minute,
		IdleTimeout:       c.IdleTimeout,
		MaxHeaderBytes:    c.MaxHeaderBytes,
		ErrorLog:          slog.NewLogLogger(&withoutAddresses{s.handlers.logger.Handler()}, slog.LevelWarn),
	}
}

// Run listens and serves until ctx is done, then finishes running work and
// returns. An error is one of listening, serving, or of work that did not finish
// within the drain timeout.
func (s *Server) Run(ctx context.Context) error {
	public, err := listenAt(ctx, s.handlers.config.Addr)
	if err != nil {
		return fmt.Errorf("listening for clients: %w", err)
	}
	if public != nil {
		err = s.guarded(public.Addr())
	}
	var operator net.Listener
	if err == nil {
		if operator, err = listenAt(ctx, s.handlers.config.OperatorAddr); err != nil {
			err = fmt.Errorf("listening for the operator: %w", err)
		}
	}
	if err != nil {
		if public != nil {
			_ = public.Close()
		}
		return err
	}
	return s.Serve(ctx, public, operator)
}

// listenAt listens at an address; nil for "off".
func listenAt(ctx context.Context, addr string) (net.Listener, error) {
	if addr == "off" {
		return nil, nil
	}
	var listen net.ListenConfig
	return listen.Listen(ctx, "tcp", addr)
}

// guarded refuses to let everybody in by oversight.
func (s *Server) guarded(addr net.Addr) error {
	c := s.handlers.config
	if c.Accounts != nil || c.AllowAnyone {
		return nil
	}
	if tcp, ok := addr.(*net.TCPAddr); ok && tcp.IP.IsLoopback() {
		return nil
	}
	return fmt.Errorf("listening on %s without accounts would let everybody in who reaches it: "+
		"turn accounts on, listen on this machine only (127.0.0.1), or allow anyone if something in front knows who may come", c.Addr)
}

// Serve is [Server.Run] on listeners that are there already; either may be nil. It
// closes them.
func (s *Server) Serve(ctx context.Context, public, operator net.Listener) error {
	s.handlers.onlyHere.Store(s.handlers.config.Accounts == nil && !s.handlers.config.AllowAnyone)
	failed := make(chan error, 2)
	attrs := []any{"accounts", s.handlers.config.Accounts != nil}
	if public != nil {
		go func() { failed <- s.public.Serve(public) }()
		attrs = append(attrs, "addr", public.Addr().String(), "page", "http://"+public.Addr().String()+"/")
	}
	if operator != nil {
		go func() { failed <- s.operator.Serve(operator) }()
		attrs = append(attrs, "operator_addr", operator.Addr().String())
	}
	s.handlers.logger.InfoContext(ctx, "serving", attrs...)
	if s.handlers.config.Accounts == nil && public != nil {
		s.handlers.logger.InfoContext(ctx, "single-user mode: there are no accounts, whoever reaches the address may use the service")
	}
	select {
	case err := <-failed:
		_ = s.public.Close()
		_ = s.operator.Close()
		return fmt.Errorf("serving: %w", err)
	case <-ctx.Done():
		return s.drain(context.WithoutCancel(ctx))
	}
}

// drain announces the end, closes the door, and waits for what is inside.
func (s *Server) drain(ctx context.Context) error {
	h := s.handlers
	h.draining.Store(true)
	h.logger.InfoContext(ctx, "draining")
	if h.config.DrainDelay > 0 {
		time.Sleep(h.config.DrainDelay)
	}
	ctx, cancel := context.WithTimeout(ctx, h.config.DrainTimeout)
	defer cancel()
	close(h.stopping) // what would never end by itself
	err := s.drainRequests(ctx)
	if h.config.Drain != nil {
		if drainErr := h.config.Drain(ctx); drainErr != nil {
			err = errors.Join(err, fmt.Errorf("some durable work did not end within %s and will be begun again: %w", h.config.DrainTimeout, drainErr))
		}
	}
	if poolErr := h.pool.Drain(ctx); poolErr != nil {
		err = errors.Join(err, fmt.Errorf("some scores did not end within %s: %w", h.config.DrainTimeout, poolErr))
	}
	_ = s.operator.Close()
	h.logger.InfoContext(ctx, "stopped", "clean", err == nil)
	return err
}

// drainRequests waits for requests, which come first: an upload under way is still
// taken and answered. One that half the time is too short for is refused, and none
// takes the last quarter, in which jobs end that were begun.
func (s *Server) drainRequests(ctx context.Context) error {
	h := s.handlers
	closing := time.Now().Add(h.config.DrainTimeout / 2)
	h.closing.Store(&closing)
	most := h.config.DrainTimeout / 4 * 3
	ctx, cancel := context.WithTimeout(ctx, most)
	defer cancel()
	if err := s.public.Shutdown(ctx); err != nil {
		return fmt.Errorf("some requests did not end within %s: %w", most, errors.Join(err, s.public.Close()))
	}
	return nil
}

// withoutAddresses keeps clients' addresses, which are personal data, out of the
// log lines that net/http writes itself.
type withoutAddresses struct{ slog.Handler }

var address = regexp.MustCompile(`\[?[0-9a-fA-F.:%]{2,}\]?:\d+`)

// Handle implements [slog.Handler].
func (w *withoutAddresses) Handle(ctx context.Context, r slog.Record) error {
	clean := slog.NewRecord(r.Time, r.Level, address.ReplaceAllString(r.Message, "(address)"), r.PC)
	return w.Handler.Handle(ctx, clean)
}
