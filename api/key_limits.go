package api

import (
	"fmt"
	"math"
	"net/http"
	"strconv"
	"sync"
	"sync/atomic"
	"time"

	"github.com/gin-gonic/gin"
	"golang.org/x/time/rate"
)

// KeyLimits bound what may be done with one key in one process.
type KeyLimits struct {
	// Rate is how many requests a second are taken in the long run (default 50),
	// Burst how many at once (default 4 times as many).
	Rate, Burst int
	// Concurrent is how many requests are answered at the same time (default 32);
	// a stream of events is one.
	Concurrent int
	// Bytes is how much may be uploaded a minute (default 1 GiB).
	Bytes int64
}

func (l KeyLimits) withDefaults() KeyLimits {
	orDefault(&l.Rate, 50)
	orDefault(&l.Burst, 4*l.Rate)
	orDefault(&l.Concurrent, 32)
	orDefault(&l.Bytes, 1<<30)
	return l
}

// policy is the header RateLimit-Policy (draft-ietf-httpapi-ratelimit-headers-10):
// every limit with its quota, unit and window in seconds.
func (l KeyLimits) policy() string {
	return fmt.Sprintf(`"requests";q=%d;w=%d, "bytes";q=%d;qu="content-bytes";w=60, "concurrent";q=%d;qu="concurrent-requests"`,
		l.Burst, (l.Burst+l.Rate-1)/l.Rate, l.Bytes, l.Concurrent)
}

// meters measure the use of keys. Only keys that were found good have one, so
// strangers take no memory.
type meters struct {
	limits KeyLimits
	policy string
	byKey  sync.Map // of *meter
}

func newMeters(l KeyLimits) *meters { return &meters{limits: l, policy: l.policy()} }

type meter struct {
	requests, bytes *rate.Limiter
	running         atomic.Int64
}

func (m *meters) of(key string) *meter {
	if found, ok := m.byKey.Load(key); ok {
		return found.(*meter)
	}
	l := m.limits
	found, _ := m.byKey.LoadOrStore(key, &meter{
		requests: rate.NewLimiter(rate.Limit(l.Rate), l.Burst),
		bytes:    rate.NewLimiter(rate.Limit(float64(l.Bytes)/60), int(l.Bytes)),
	})
	return found.(*meter)
}

// limit takes a request if the key has something left of every limit, and charges
// it when it is answered.
func (h *handlers) limit(c *gin.Context, key string) {
	m := h.meters.of(key)
	now := time.Now()
	c.Header("RateLimit-Policy", h.meters.policy)
	running := m.running.Add(1)
	defer m.running.Add(-1)
	c.Header("RateLimit", m.left(now))
	switch {
	case running > int64(h.meters.limits.Concurrent):
		fail(c, overLimit("requests at the same time", time.Second))
		return
	// Whoever uploaded much may see what comes of it meanwhile.
	case c.Request.ContentLength != 0 && m.bytes.TokensAt(now) < 1:
		fail(c, overLimit("bytes uploaded", until(m.bytes, now)))
		return
	case !m.requests.AllowN(now, 1):
		fail(c, overLimit("requests a second", until(m.requests, now)))
		return
	}
	c.Header("RateLimit", m.left(now))
	body, counts := c.Request.Body.(*counted)
	c.Next()
	// What was read is known only now; whoever takes more than is left waits the
	// longer for the next.
	if counts {
		charge(m.bytes, body.n)
	}
}

// charge takes tokens that need not be there.
func charge(l *rate.Limiter, n int64) {
	for burst := int64(l.Burst()); n > 0; n -= burst {
		l.ReserveN(time.Now(), int(min(n, burst)))
	}
}

// until is how long it takes until there is a token.
func until(l *rate.Limiter, now time.Time) time.Duration {
	missing := 1 - l.TokensAt(now)
	return time.Duration(missing / float64(l.Limit()) * float64(time.Second))
}

// left is the header RateLimit: what is left of each limit, and in how many
// seconds all of it is back.
func (m *meter) left(now time.Time) string {
	text := ""
	for _, l := range []struct {
		name string
		*rate.Limiter
	}{{"requests", m.requests}, {"bytes", m.bytes}} {
		tokens := l.TokensAt(now)
		back := math.Ceil((float64(l.Burst()) - tokens) / float64(l.Limit()))
		if text != "" {
			text += ", "
		}
		text += fmt.Sprintf(`"%s";r=%d;t=%d`, l.name, int64(max(tokens, 0)), int64(max(back, 0)))
	}
	return text
}

// longestWait bounds what Retry-After says, as the contract does.
const longestWait = 600

func overLimit(what string, wait time.Duration) error {
	return &refusal{kind: keyLimit, detail: "The key has reached its limit of " + what + ".", header: retryIn(wait)}
}

func retryIn(wait time.Duration) http.Header {
	seconds := min(max(int(math.Ceil(wait.Seconds())), 1), longestWait)
	return http.Header{"Retry-After": {strconv.Itoa(seconds)}}
}
