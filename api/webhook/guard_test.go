package webhook

import (
	"context"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"golang.org/x/net/dns/dnsmessage"

	"partwright/api/outgoing"
	"partwright/worker/store"
)

// rebinding is a name server for which a name means a public address when it is
// first asked, and this machine from then on.
func rebinding(t *testing.T) (*net.Resolver, *atomic.Int32) {
	t.Helper()
	server, err := net.ListenPacket("udp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = server.Close() })
	var asked atomic.Int32
	go func() {
		buffer := make([]byte, 1500)
		for {
			n, from, err := server.ReadFrom(buffer)
			if err != nil {
				return
			}
			var m dnsmessage.Message
			if m.Unpack(buffer[:n]) != nil {
				continue
			}
			m.Response, m.Additionals = true, nil
			if q := m.Questions[0]; q.Type == dnsmessage.TypeA {
				body := &dnsmessage.AResource{A: [4]byte{192, 88, 98, 1}}
				if asked.Add(1) > 1 {
					body.A = [4]byte{127, 0, 0, 1}
				}
				m.Answers = []dnsmessage.Resource{{Header: dnsmessage.ResourceHeader{Name: q.Name, Type: q.Type, Class: q.Class}, Body: body}}
			}
			if answer, err := m.Pack(); err == nil {
				_, _ = server.WriteTo(answer, from)
			}
		}
	}()
	resolver := &net.Resolver{PreferGo: true}
	dialer := &net.Dialer{}
	resolver.Dial = func(ctx context.Context, _, _ string) (net.Conn, error) {
		return dialer.DialContext(ctx, "udp", server.LocalAddr().String())
	}
	return resolver, &asked
}

// A name that was harmless when somebody looked means this machine when it is
// connected to.
func TestNameThatChangesItsMeaning(t *testing.T) {
	resolver, asked := rebinding(t)
	var reached atomic.Bool
	secret := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { reached.Store(true) }))
	defer secret.Close()
	addrs, err := resolver.LookupHost(t.Context(), "hook.example.org.")
	if err != nil || len(addrs) != 1 || addrs[0] != "192.88.98.1" {
		t.Fatalf("at first it means %v, %v", addrs, err)
	}
	_, port, _ := net.SplitHostPort(secret.Listener.Addr().String())
	w := &store.Webhook{URL: "http://hook.example.org.:" + port + "/", Secret: newSecret()}
	if err := (outgoing.Guard{}).CheckURL(w.URL, true); err != nil {
		t.Fatalf("the address itself is refused: %v", err)
	}
	d := &store.Delivery{Message: "msg_1", Payload: "{}"}
	o, err := send(t.Context(), outgoing.NewClient(outgoing.Guard{}, resolver, attemptTime), w, d, time.Now())
	if err != nil || o.Failure != "forbidden-address" || o.Status != 0 {
		t.Errorf("the attempt came to %+v, %v", o, err)
	}
	if reached.Load() {
		t.Error("this machine was reached")
	}
	if asked.Load() < 2 {
		t.Error("the name was not looked up again; the test shows nothing")
	}
	// Without the guard it is reached: what stopped it was the guard.
	open := outgoing.Guard{Allowed: []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")}}
	if o, err := send(t.Context(), outgoing.NewClient(open, resolver, attemptTime), w, d, time.Now()); err != nil || o.Failure != "" || !reached.Load() {
		t.Errorf("let through it came to %+v, %v", o, err)
	}
}

func TestNoProxyAndNoRedirect(t *testing.T) {
	t.Setenv("HTTP_PROXY", "http://192.0.2.1:1")
	t.Setenv("HTTPS_PROXY", "http://192.0.2.1:1")
	var reached atomic.Bool
	inner := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { reached.Store(true) }))
	defer inner.Close()
	outer := httptest.NewServer(http.RedirectHandler(inner.URL, http.StatusTemporaryRedirect))
	defer outer.Close()
	client := outgoing.NewClient(outgoing.Guard{Allowed: []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")}}, nil, attemptTime)
	if client.Transport.(*http.Transport).Proxy != nil {
		t.Error("there is a proxy")
	}
	o, err := send(t.Context(), client, &store.Webhook{URL: outer.URL, Secret: newSecret()}, &store.Delivery{Message: "m"}, time.Now())
	if err != nil || o.Status != http.StatusTemporaryRedirect || o.Failure != "refused" || reached.Load() {
		t.Errorf("a redirect came to %+v, %v; followed: %v", o, err, reached.Load())
	}
}

func TestAnswerWithoutEndAndSilence(t *testing.T) {
	endless := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		for r.Context().Err() == nil {
			if _, err := w.Write([]byte(strings.Repeat("x", 1<<10))); err != nil {
				return
			}
		}
	}))
	defer endless.Close()
	silent := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) { <-r.Context().Done() }))
	defer silent.Close()
	client := outgoing.NewClient(outgoing.Guard{Allowed: []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")}}, nil, attemptTime)
	o, err := send(t.Context(), client, &store.Webhook{URL: endless.URL, Secret: newSecret()}, &store.Delivery{Message: "m"}, time.Now())
	if err != nil || o.Failure != "" || o.Took > attemptTime/2 {
		t.Errorf("an answer without end came to %+v, %v", o, err)
	}
	client.Timeout = 50 * time.Millisecond
	o, err = send(t.Context(), client, &store.Webhook{URL: silent.URL, Secret: newSecret()}, &store.Delivery{Message: "m"}, time.Now())
	if err != nil || o.Failure != "timeout" {
		t.Errorf("silence came to %+v, %v", o, err)
	}
	silent.CloseClientConnections()
}
