package api

import (
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"partwright/worker/pool"
)

// A client that is refused while it sends reads the answer, and goes on over the same
// connection; it would not where the connection is closed over unread bytes.
func TestRefusedClientReadsTheAnswer(t *testing.T) {
	busy := &fakePool{busy: &pool.BusyError{RetryAfter: 3 * time.Second}}
	for name, size := range map[string]int{"a small score": 12 << 10, "a large score": 8 << 20} {
		t.Run(name, func(t *testing.T) {
			l := serve(t, busy, Config{})
			w := l.dial(t)
			for range 2 {
				w.send(head + fmt.Sprintf("Content-Length: %d\n\n", size))
				part := strings.Repeat("x", size/64)
				for range 64 { // as over a network: the answer could come in between
					w.send(part)
					time.Sleep(time.Millisecond)
				}
				response := w.answer()
				body, err := io.ReadAll(response.Body)
				if err != nil || response.StatusCode != http.StatusServiceUnavailable || response.Header.Get("Retry-After") != "3" {
					t.Fatalf("%d, Retry-After %q, %v", response.StatusCode, response.Header.Get("Retry-After"), err)
				}
				l.isProblem(response.StatusCode, response.Header, body)
			}
		})
	}
}

// A client cannot hold a connection by sending slowly to be drained.
func TestSlowClientThatIsRefusedIsAnswered(t *testing.T) {
	l := serve(t, &fakePool{busy: &pool.BusyError{RetryAfter: time.Second}}, Config{})
	w := l.dial(t)
	w.send(head + "Content-Length: 100000\n\n<score")
	stop := make(chan struct{})
	defer close(stop)
	go func() {
		for {
			select {
			case <-stop:
				return
			case <-time.After(50 * time.Millisecond):
				if _, err := io.WriteString(w, "x"); err != nil {
					return
				}
			}
		}
	}()
	response, err := http.ReadResponse(w.r, nil)
	if err != nil || response.StatusCode != http.StatusServiceUnavailable {
		t.Fatalf("%v, %v", response, err)
	}
	_, _ = io.Copy(io.Discard, response.Body)
	w.closes()
}
