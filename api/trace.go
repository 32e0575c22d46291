package api

import (
	"strconv"

	"github.com/gin-gonic/gin"
	"go.opentelemetry.io/otel/attribute"
	"go.opentelemetry.io/otel/codes"
	"go.opentelemetry.io/otel/propagation"
	semconv "go.opentelemetry.io/otel/semconv/v1.43.0"
	"go.opentelemetry.io/otel/trace"
	"go.opentelemetry.io/otel/trace/noop"
)

// trace begins the span of a request, as part of the caller's trace if its
// headers name one (W3C Trace Context). Names and attributes are those of
// OpenTelemetry's conventions for HTTP servers, less what may identify a person:
// address, path, query, user agent.
func (h *handlers) trace(c *gin.Context) {
	if isProbe(c.FullPath()) {
		c.Next()
		return
	}
	ctx := propagation.TraceContext{}.Extract(c.Request.Context(), propagation.HeaderCarrier(c.Request.Header))
	method := methodLabel(c.Request.Method)
	name, attributes := method, []attribute.KeyValue{semconv.HTTPRequestMethodKey.String(method)}
	if route := c.FullPath(); route != "" {
		name += " " + route
		attributes = append(attributes, semconv.HTTPRoute(route))
	}
	ctx, span := h.tracer.Start(ctx, name, trace.WithSpanKind(trace.SpanKindServer), trace.WithAttributes(attributes...))
	defer span.End()
	c.Request = c.Request.WithContext(ctx)
	c.Next()
	status := statusOf(c)
	span.SetAttributes(semconv.HTTPResponseStatusCode(status))
	if status >= 500 {
		span.SetAttributes(semconv.ErrorTypeKey.String(strconv.Itoa(status)))
		span.SetStatus(codes.Error, problemCode(c))
	}
}

// traceOf is the id of the trace that a request is kept in, "" for none.
func traceOf(c *gin.Context) string {
	if span := trace.SpanContextFromContext(c.Request.Context()); span.IsSampled() {
		return span.TraceID().String()
	}
	return ""
}

func newTracer(provider trace.TracerProvider) trace.Tracer {
	if provider == nil {
		provider = noop.NewTracerProvider()
	}
	return provider.Tracer("partwright/api")
}
