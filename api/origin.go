package api

import (
	"net"
	"net/netip"
	"strings"

	"github.com/gin-gonic/gin"
)

// sameMachine keeps the pages of other sites out of a service that trusts whoever
// reaches it on this machine: the browser that shows them does.
func (h *handlers) sameMachine(c *gin.Context) {
	if !h.onlyHere.Load() {
		return
	}
	// A name that a site lets mean this machine carries the site's own host (DNS
	// rebinding); the host alone says what is meant (RFC 9110, 7.4).
	if !namesThisMachine(c.Request.Host) {
		fail(c, refuse(wrongHost))
		return
	}
	// A browser says what comes from a page of another origin (W3C, Fetch
	// Metadata); reading is safe, since the page does not see the answer.
	if err := h.crossOrigin.Check(c.Request); err != nil {
		fail(c, refuse(crossOrigin))
	}
}

// namesThisMachine reports whether a Host header is an address, or localhost and
// what is below it (RFC 6761, 6.3).
func namesThisMachine(host string) bool {
	name, address := hostOf(host)
	return address.IsValid() || name == "localhost" || strings.HasSuffix(name, ".localhost")
}

// loopback reports whether it names this machine as seen from itself.
func loopback(host string) bool {
	name, address := hostOf(host)
	return address.IsLoopback() || name == "localhost" || strings.HasSuffix(name, ".localhost")
}

// hostOf reads a Host header: its name, and its address if it is one.
func hostOf(host string) (string, netip.Addr) {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	host = strings.ToLower(strings.TrimSuffix(strings.Trim(host, "[]"), "."))
	address, err := netip.ParseAddr(host)
	if err != nil {
		return host, netip.Addr{}
	}
	return host, address
}
