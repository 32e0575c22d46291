package api

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/request"
)

func TestShutdownFinishesRunningWork(t *testing.T) {
	started, release := make(chan struct{}), make(chan struct{})
	l := serve(t, &fakePool{submit: func(ctx context.Context, in worker.Input, _ *request.CheckPlan) (*answer.Answer, error) {
		close(started)
		<-release
		return emptyResult(in), ctx.Err()
	}}, Config{DrainDelay: 200 * time.Millisecond})
	running := l.dial(t)
	running.send(head + fmt.Sprintf("Content-Length: %d\n\n%s", len(tinyScore), tinyScore))
	<-started
	l.stop()

	// Within the delay the door is open and the service says that it goes.
	for l.status(t, l.addr, "/readyz") == http.StatusOK {
	}
	if got := l.status(t, l.addr, "/readyz"); got != http.StatusServiceUnavailable {
		t.Errorf("/readyz while draining: %d", got)
	}
	if got := l.status(t, l.addr, "/healthz"); got != http.StatusOK {
		t.Errorf("/healthz while draining: %d", got)
	}
	for { // then the door closes
		conn, err := (&net.Dialer{}).DialContext(t.Context(), "tcp", l.addr)
		if err != nil {
			break
		}
		_ = conn.Close()
	}
	if got := l.status(t, l.operator, "/healthz"); got != http.StatusOK {
		t.Errorf("the operator's side closed before the work was done: %d", got)
	}
	close(release)
	if response := running.answer(); response.StatusCode != http.StatusOK {
		t.Errorf("the running score got %d", response.StatusCode)
	}
	if err := <-l.stopped; err != nil {
		t.Errorf("stopping: %v", err)
	}
	close(l.stopped)
}

func TestShutdownSaysWhatDidNotFinish(t *testing.T) {
	started, release := make(chan struct{}), make(chan struct{})
	defer close(release)
	l := serve(t, &fakePool{submit: func(_ context.Context, in worker.Input, _ *request.CheckPlan) (*answer.Answer, error) {
		close(started)
		<-release
		return emptyResult(in), nil
	}}, Config{DrainTimeout: 50 * time.Millisecond})
	w := l.dial(t)
	w.send(head + fmt.Sprintf("Content-Length: %d\n\n%s", len(tinyScore), tinyScore))
	<-started
	l.stop()
	if err := <-l.stopped; !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("got %v, want an error that says so", err)
	}
	close(l.stopped)
}

// An upload that the end of the service is too near for is refused; those that are
// accepted are not cut off for it.
func TestShutdownTurnsAwayWhatIsStillBeingSent(t *testing.T) {
	const drain = time.Second
	l := serve(t, &fakePool{}, Config{DrainTimeout: drain})
	w := l.dial(t)
	w.send(head + "Expect: 100-continue\nContent-Length: 1000000\n\n")
	if got := w.answer().StatusCode; got != http.StatusContinue {
		t.Fatalf("the body was not asked for: %d", got)
	}
	ended := make(chan struct{})
	defer close(ended)
	go func() { // slowly, and never silent
		for {
			select {
			case <-ended:
				return
			case <-time.After(drain / 100):
				_, _ = w.Write([]byte(" "))
			}
		}
	}()
	l.stop()
	response := w.answer()
	if response.StatusCode != http.StatusServiceUnavailable || response.Header.Get("Retry-After") == "" {
		t.Errorf("the upload got %d, Retry-After %q", response.StatusCode, response.Header.Get("Retry-After"))
	}
	var p Problem
	if err := json.NewDecoder(response.Body).Decode(&p); err != nil || p.Code != "shutting-down" {
		t.Errorf("the upload got %q (%v)", p.Code, err)
	}
	_ = w.Close()
	if err := <-l.stopped; err != nil {
		t.Errorf("stopping: %v", err)
	}
	close(l.stopped)
}

func (l *live) status(t *testing.T, addr, path string) int {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, "http://"+addr+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Close = true
	response, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	defer func() { _ = response.Body.Close() }()
	return response.StatusCode
}

func TestRunSaysThatAnAddressIsTaken(t *testing.T) {
	taken, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = taken.Close() }()
	for _, config := range []Config{
		{Addr: taken.Addr().String(), OperatorAddr: "off"},
		{Addr: "127.0.0.1:0", OperatorAddr: taken.Addr().String()},
	} {
		s := newService(t, &fakePool{}, config)
		if err := s.server.Run(t.Context()); err == nil || !strings.Contains(err.Error(), taken.Addr().String()) {
			t.Errorf("%+v: %v", config, err)
		}
	}
}

func TestLogOfTheServerHasNoAddresses(t *testing.T) {
	for message, want := range map[string]string{
		"http: TLS handshake error from 192.0.2.7:50123: EOF": "http: TLS handshake error from (address): EOF",
		"http: panic serving [2001:db8::1]:443: oops":         "http: panic serving (address): oops",
		"http: Accept error: too many open files; retrying":   "http: Accept error: too many open files; retrying",
	} {
		if got := address.ReplaceAllString(message, "(address)"); got != want {
			t.Errorf("%q became %q", message, got)
		}
	}
}

func TestConfig(t *testing.T) {
	if err := (Config{}).withDefaults().validate(); err != nil {
		t.Errorf("the zero value does not work: %v", err)
	}
	for _, c := range []Config{
		{MaxUpload: -1}, {HeaderTimeout: -1}, {StallTimeout: -1}, {DrainTimeout: -1}, {UploadMemory: 1},
	} {
		if c.withDefaults().validate() == nil {
			t.Errorf("%+v was accepted", c)
		}
	}
}
