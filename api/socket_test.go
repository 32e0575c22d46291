package api

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/pool"
	"partwright/worker/request"
)

// live is a service on sockets of its own.
type live struct {
	*service
	addr, operator string
	stop           context.CancelFunc
	stopped        chan error
}

func serve(t *testing.T, p jobs, config Config) *live {
	t.Helper()
	l := &live{service: newService(t, p, config), stopped: make(chan error, 1)}
	var listeners [2]net.Listener
	for i := range listeners {
		var err error
		if listeners[i], err = (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0"); err != nil {
			t.Fatal(err)
		}
	}
	l.addr, l.operator = listeners[0].Addr().String(), listeners[1].Addr().String()
	ctx, cancel := context.WithCancel(context.Background())
	l.stop = cancel
	go func() { l.stopped <- l.server.Serve(ctx, listeners[0], listeners[1]) }()
	t.Cleanup(func() {
		cancel()
		if err, open := <-l.stopped; open && err != nil {
			t.Errorf("stopping: %v", err)
		}
	})
	return l
}

// wire is a connection on which a test writes byte for byte.
type wire struct {
	net.Conn
	t *testing.T
	r *bufio.Reader
}

func (l *live) dial(t *testing.T) *wire {
	t.Helper()
	conn, err := (&net.Dialer{}).DialContext(t.Context(), "tcp", l.addr)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close() })
	if err := conn.SetDeadline(time.Now().Add(20 * time.Second)); err != nil {
		t.Fatal(err)
	}
	return &wire{conn, t, bufio.NewReader(conn)}
}

func (w *wire) send(text string) {
	w.t.Helper()
	if _, err := io.WriteString(w, strings.ReplaceAll(text, "\n", "\r\n")); err != nil {
		w.t.Fatal(err)
	}
}

func (w *wire) answer() *http.Response {
	w.t.Helper()
	response, err := http.ReadResponse(w.r, nil)
	if err != nil {
		w.t.Fatal(err)
	}
	return response
}

func (w *wire) closes() {
	w.t.Helper()
	if _, err := w.r.ReadByte(); !errors.Is(err, io.EOF) && !isReset(err) {
		w.t.Errorf("the connection is still open: %v", err)
	}
}

func isReset(err error) bool {
	return err != nil && strings.Contains(err.Error(), "reset")
}

const head = "POST /v1/checks HTTP/1.1\nHost: localhost\nContent-Type: application/xml\n"

func TestSlowHeadersAreCutOff(t *testing.T) {
	l := serve(t, &fakePool{}, Config{HeaderTimeout: 100 * time.Millisecond})
	w := l.dial(t)
	w.send("POST /v1/checks HTTP/1.1\nHost: local")
	w.closes()
}

func TestIdleConnectionsAreClosed(t *testing.T) {
	l := serve(t, &fakePool{}, Config{IdleTimeout: 100 * time.Millisecond})
	w := l.dial(t)
	w.send("GET /healthz HTTP/1.1\nHost: localhost\n\n")
	response := w.answer()
	_, _ = io.Copy(io.Discard, response.Body)
	w.closes()
}

func TestStalledUploadIsAnswered(t *testing.T) {
	for name, config := range map[string]Config{
		"nothing comes":         {StallTimeout: 100 * time.Millisecond},
		"all of it takes long":  {UploadTimeout: 100 * time.Millisecond},
		"as part of a form too": {StallTimeout: 100 * time.Millisecond},
	} {
		t.Run(name, func(t *testing.T) {
			l := serve(t, &fakePool{}, config)
			w := l.dial(t)
			if strings.Contains(name, "form") {
				w.send("POST /v1/checks HTTP/1.1\nHost: localhost\nContent-Type: multipart/form-data; boundary=b\nContent-Length: 1000\n\n--b\nContent-Disposition: form-data; name=score\n\n<sco")
			} else {
				w.send(head + "Content-Length: 1000\n\n<score")
			}
			response := w.answer()
			body, _ := io.ReadAll(response.Body)
			if response.StatusCode != http.StatusRequestTimeout {
				t.Fatalf("%d %s", response.StatusCode, body)
			}
			l.isProblem(response.StatusCode, response.Header, body)
			w.closes()
		})
	}
}

func TestSlowClientsDoNotBlockOthers(t *testing.T) {
	l := serve(t, enginePool(t, nil, pool.Config{}), Config{})
	for i := range 300 {
		w := l.dial(t)
		if i%2 == 0 {
			w.send("POST /v1/checks HTTP/1.1\nHost: local")
		} else {
			w.send(head + "Content-Length: 1000\n\n<score")
		}
	}
	w := l.dial(t)
	score := demo(t, "hand-in.musicxml")
	w.send(head + fmt.Sprintf("Content-Length: %d\n\n", len(score)))
	if _, err := w.Write(score); err != nil {
		t.Fatal(err)
	}
	if response := w.answer(); response.StatusCode != http.StatusOK {
		t.Errorf("%d beside 300 clients that send nothing more", response.StatusCode)
	}
	if n := l.series("partwright_http_requests_in_flight"); n < 100 {
		t.Errorf("only %v slow requests under way: the test shows nothing", n)
	}
}

// A score may take longer than an upload may stall: the deadline of reading must
// not end the request while the client waits for its answer.
func TestPatientClientGetsItsAnswer(t *testing.T) {
	const form = "--b\r\nContent-Disposition: form-data; name=score\r\n\r\n" + tinyScore + "\r\n--b--\r\n"
	for name, sent := range map[string]string{
		"a plain body": head + fmt.Sprintf("Content-Length: %d\n\n%s", len(tinyScore), tinyScore),
		"a form": "POST /v1/checks HTTP/1.1\nHost: localhost\nContent-Type: multipart/form-data; boundary=b\n" +
			fmt.Sprintf("Content-Length: %d\n\n", len(form)) + strings.ReplaceAll(form, "\r\n", "\n"),
	} {
		t.Run(name, func(t *testing.T) {
			release := make(chan struct{})
			l := serve(t, &fakePool{submit: func(ctx context.Context, in worker.Input, _ *request.CheckPlan) (*answer.Answer, error) {
				select {
				case <-release:
					return emptyResult(in), nil
				case <-ctx.Done():
					return nil, ctx.Err()
				}
			}}, Config{StallTimeout: 200 * time.Millisecond, UploadTimeout: 200 * time.Millisecond})
			w := l.dial(t)
			w.send(sent)
			timer := time.AfterFunc(500*time.Millisecond, func() { close(release) })
			defer timer.Stop()
			response := w.answer()
			body, _ := io.ReadAll(response.Body)
			if response.StatusCode != http.StatusOK || !strings.Contains(string(body), "summary") {
				t.Errorf("%d %q", response.StatusCode, body)
			}
		})
	}
}

func TestClientThatHangsUpCancelsItsScore(t *testing.T) {
	started, canceled := make(chan struct{}), make(chan error, 1)
	l := serve(t, &fakePool{submit: func(ctx context.Context, _ worker.Input, _ *request.CheckPlan) (*answer.Answer, error) {
		close(started)
		<-ctx.Done()
		canceled <- ctx.Err()
		return nil, ctx.Err()
	}}, Config{})
	w := l.dial(t)
	w.send(head + fmt.Sprintf("Content-Length: %d\n\n%s", len(tinyScore), tinyScore))
	<-started
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if err := <-canceled; !errors.Is(err, context.Canceled) {
		t.Errorf("the work saw %v", err)
	}
}

func TestClientThatDoesNotReadIsLeft(t *testing.T) {
	done := make(chan struct{})
	large := strings.Repeat("x", 32<<20)
	l := serve(t, &fakePool{clean: []byte(large)}, Config{StallTimeout: 100 * time.Millisecond})
	inner := l.server.public.Handler
	l.server.public.Handler = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer close(done)
		inner.ServeHTTP(w, r)
	})
	w := l.dial(t)
	w.send(strings.Replace(head, "checks", "cleanings", 1) + fmt.Sprintf("Content-Length: %d\n\n%s", len(tinyScore), tinyScore))
	select {
	case <-done: // without a byte of the answer being read
	case <-time.After(15 * time.Second):
		t.Fatal("the answer still waits for a client that does not read it")
	}
}

// RFC 9110, 10.1.1: a client may ask before it sends the body.
func TestExpectContinue(t *testing.T) {
	l := serve(t, &fakePool{}, Config{MaxUpload: 100})
	w := l.dial(t)
	w.send(head + fmt.Sprintf("Content-Length: %d\nExpect: 100-continue\n\n", len(tinyScore)))
	if response := w.answer(); response.StatusCode != http.StatusContinue {
		t.Fatalf("%d, want 100", response.StatusCode)
	}
	w.send(tinyScore)
	if response := w.answer(); response.StatusCode != http.StatusOK {
		t.Errorf("%d, want 200", response.StatusCode)
	}
	for name, header := range map[string]string{
		"too large":          "Content-Length: 101\n",
		"not acceptable":     "Content-Length: 50\nAccept: image/png\n",
		"a query of no kind": "Content-Length: 50\nContent-Encoding: br\n",
	} {
		refused := l.dial(t)
		refused.send(head + header + "Expect: 100-continue\n\n")
		if response := refused.answer(); response.StatusCode < 400 {
			t.Errorf("%s: %d; the body should never be asked for", name, response.StatusCode)
		}
	}
}

func TestBodyPastTheLimitWithoutALength(t *testing.T) {
	l := serve(t, &fakePool{}, Config{MaxUpload: 1 << 10})
	w := l.dial(t)
	w.send(head + "Transfer-Encoding: chunked\n\n")
	for range 3 {
		w.send("400\n" + strings.Repeat("x", 0x400) + "\n")
	}
	response := w.answer()
	body, _ := io.ReadAll(response.Body)
	if p := l.isProblem(response.StatusCode, response.Header, body); p.Status != http.StatusRequestEntityTooLarge {
		t.Errorf("%d %s", p.Status, p.Detail)
	}
	if !response.Close {
		t.Error("the rest of the body would be read as the next request")
	}
}

func TestHeadersPastTheLimit(t *testing.T) {
	l := serve(t, &fakePool{}, Config{MaxHeaderBytes: 2 << 10})
	w := l.dial(t)
	w.send("GET /healthz HTTP/1.1\nHost: localhost\nX-Long: " + strings.Repeat("x", 16<<10) + "\n\n")
	if response := w.answer(); response.StatusCode != http.StatusRequestHeaderFieldsTooLarge {
		t.Errorf("%d, want 431", response.StatusCode)
	}
}
