package outgoing

import (
	"crypto/tls"
	"net"
	"net/http"
	"time"
)

// Bounds on a connection and on the headers of an answer.
const (
	connectTime  = 10 * time.Second
	handshakeFor = 10 * time.Second
	maxHeaders   = 16 << 10
)

// NewClient returns a client that goes where the guard lets it: straight, since a
// proxy would resolve names itself, and no further than the address given, since a
// redirect would be a request that somebody else chose for us. The timeout bounds a
// whole request; the resolver is nil for that of the system.
func NewClient(g Guard, resolver *net.Resolver, timeout time.Duration) *http.Client {
	dialer := &net.Dialer{Timeout: connectTime, Control: g.control, Resolver: resolver}
	return &http.Client{
		Timeout: timeout,
		Transport: &http.Transport{
			Proxy: nil, DialContext: dialer.DialContext, DisableKeepAlives: true,
			TLSClientConfig:     &tls.Config{MinVersion: tls.VersionTLS12},
			TLSHandshakeTimeout: handshakeFor, MaxResponseHeaderBytes: maxHeaders,
		},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
}
