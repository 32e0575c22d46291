package webhook

import (
	"context"
	"crypto/tls"
	"errors"
	"io"
	"net"
	"net/http"
	"strconv"
	"strings"
	"time"

	standardwebhooks "github.com/standard-webhooks/standard-webhooks/libraries/go"

	"partwright/api/outgoing"
	"partwright/worker/store"
)

// Bounds on one attempt. Standard Webhooks 1.0.0 recommends 15 to 30 s.
const (
	attemptTime = 20 * time.Second
	maxAnswer   = 16 << 10 // read so that the connection ends well; nobody looks at it
	maxRetry    = 24 * time.Hour
)

// outcome is what came of an attempt.
type outcome struct {
	store.Attempt
	// gone means that the receiver wants no more.
	gone bool
	// wait is how long the receiver asks to wait at least.
	wait time.Duration
}

// send makes one attempt. What goes wrong is a word of a closed set: texts of
// errors would reveal the operator's network.
func send(ctx context.Context, client *http.Client, w *store.Webhook, d *store.Delivery, now time.Time) (outcome, error) {
	payload := []byte(d.Payload)
	signature, err := signatures(w, d.Message, now, payload)
	if err != nil {
		return outcome{}, err
	}
	o := outcome{Attempt: store.Attempt{Begun: now}}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, w.URL, strings.NewReader(d.Payload))
	if err != nil {
		o.Failure = "unreadable-address"
		return o, nil
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("User-Agent", "partwright-webhooks/1")
	r.Header.Set(standardwebhooks.HeaderWebhookID, d.Message)
	r.Header.Set(standardwebhooks.HeaderWebhookTimestamp, strconv.FormatInt(now.Unix(), 10))
	r.Header.Set(standardwebhooks.HeaderWebhookSignature, signature)
	start := time.Now()
	response, err := client.Do(r)
	o.Took = time.Since(start)
	if err != nil {
		o.Failure = failureOf(err)
		return o, ctx.Err()
	}
	defer func() { _ = response.Body.Close() }()
	_, _ = io.CopyN(io.Discard, response.Body, maxAnswer)
	o.Took, o.Status = time.Since(start), response.StatusCode
	if o.Status < 200 || o.Status > 299 {
		o.Failure = "refused"
	}
	o.gone = o.Status == http.StatusGone
	o.wait = retryAfter(response.Header.Get("Retry-After"), now)
	return o, nil
}

// failureOf says in a word why there was no answer.
func failureOf(err error) string {
	var name *net.DNSError
	var certificate *tls.CertificateVerificationError
	var timeout net.Error
	switch {
	case errors.Is(err, outgoing.ErrForbidden):
		return "forbidden-address"
	case errors.As(err, &timeout) && timeout.Timeout():
		return "timeout"
	case errors.As(err, &name):
		return "unknown-host"
	case errors.As(err, &certificate):
		return "certificate"
	}
	return "no-connection"
}

// retryAfter reads seconds or a date (RFC 9110, 10.2.3); what cannot be read asks
// for nothing.
func retryAfter(header string, now time.Time) time.Duration {
	wait := time.Duration(0)
	if seconds, err := strconv.ParseInt(header, 10, 32); err == nil {
		wait = time.Duration(seconds) * time.Second
	} else if date, err := http.ParseTime(header); err == nil {
		wait = date.Sub(now)
	}
	return min(max(wait, 0), maxRetry)
}
