package api

import (
	"context"
	"log/slog"
	"net/http"
	"sync/atomic"
	"time"

	"github.com/gin-gonic/gin"
	"go.opentelemetry.io/otel/trace"
	"golang.org/x/time/rate"

	"partwright/api/page"
	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/request"
)

// jobs is what handlers need of a [*pool.Pool].
type jobs interface {
	Do(context.Context, worker.Input, request.Plan) (*answer.Answer, error)
	Parse(context.Context, func() error) error
	Admit(request.Job) error
	Stuck() bool
	Drain(context.Context) error
}

// handlers implement the generated [ServerInterface]; each resource has a file.
type handlers struct {
	config    Config
	pool      jobs
	contract  *contract
	page      *page.Site
	languages matcher
	memory    *memory
	drainer   drainer
	metrics   *metrics
	meters    *meters
	signIns   *rate.Limiter
	logins    *rate.Limiter // of learning systems
	logger    *slog.Logger
	tracer    trace.Tracer
	draining  atomic.Bool
	// closing is when uploads under way are broken off, nil while the service does
	// not drain.
	closing atomic.Pointer[time.Time]
	// onlyHere is set while whoever reaches this machine is the single user.
	onlyHere    atomic.Bool
	crossOrigin *http.CrossOriginProtection
	// stopping is closed when the service drains; followers is how many clients
	// follow events.
	stopping  chan struct{}
	followers atomic.Int64
}

var _ ServerInterface = (*handlers)(nil)

// router lays out the middleware and the routes of the contract.
func (h *handlers) router() http.Handler {
	gin.SetMode(gin.ReleaseMode)
	router := gin.New()
	router.HandleMethodNotAllowed = true
	router.RedirectTrailingSlash = false
	// Nothing here looks at a client's address; without this, gin would believe
	// any X-Forwarded-For.
	if err := router.SetTrustedProxies(nil); err != nil {
		panic(err) // an empty list cannot be wrong
	}
	router.Use(h.trace, h.observe, h.recoverPanics, h.renderErrors, prepare, h.sameMachine, h.identify, h.validate)
	router.NoRoute(func(c *gin.Context) { fail(c, refuse(notFound)) })
	router.NoMethod(func(c *gin.Context) { fail(c, refuse(methodNotAllowed)) })
	RegisterHandlersWithOptions(router, h, GinServerOptions{
		ErrorHandler: func(c *gin.Context, err error, _ int) {
			// The contract was checked before; this is a header sent twice.
			fail(c, refuse(invalidRequest))
		},
	})
	for _, route := range router.Routes() {
		if route.Method == http.MethodGet {
			// RFC 9110, 9.1: a server that knows GET knows HEAD.
			router.HEAD(route.Path, route.HandlerFunc)
			h.contract.routes[http.MethodHead+" "+route.Path] = h.contract.routes[http.MethodGet+" "+route.Path]
			h.contract.needs[http.MethodHead+" "+route.Path] = h.contract.needs[http.MethodGet+" "+route.Path]
		}
	}
	h.pageRoutes(router)
	h.ltiRoutes(router)
	return router
}
