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

	"partwright/worker/store"
)

// The blocks are those of the IANA IPv4 and IPv6 Special-Purpose Address
// Registries; the addresses of public services are from memory.
func TestGuard(t *testing.T) {
	for _, c := range []struct {
		addr string
		fine bool
		why  string
	}{
		{"1.1.1.1", true, "a public resolver"},
		{"2606:4700:4700::1111", true, "a public resolver"},
		{"127.0.0.1", false, "this machine"},
		{"127.255.255.254", false, "this machine"},
		{"0.0.0.0", false, "on many systems this machine"},
		{"10.0.0.1", false, "private (RFC 1918)"},
		{"172.16.0.1", false, "private (RFC 1918)"},
		{"172.31.255.255", false, "private (RFC 1918)"},
		{"172.32.0.1", true, "past the end of the private block"},
		{"192.168.1.1", false, "private (RFC 1918)"},
		{"169.254.169.254", false, "metadata of clouds"},
		{"100.64.0.1", false, "shared address space (RFC 6598)"},
		{"100.128.0.1", true, "past its end"},
		{"198.18.0.1", false, "benchmarks (RFC 2544)"},
		{"224.0.0.1", false, "multicast"},
		{"255.255.255.255", false, "broadcast"},
		{"::1", false, "this machine"},
		{"::", false, "unspecified"},
		{"::ffff:127.0.0.1", false, "IPv4 in IPv6"},
		{"::ffff:10.1.2.3", false, "IPv4 in IPv6"},
		{"::127.0.0.1", false, "IPv4 in IPv6, the old way"},
		{"64:ff9b::a00:1", false, "10.0.0.1 through NAT64 (RFC 6052)"},
		{"64:ff9b:1::1", false, "local NAT64 (RFC 8215)"},
		{"2002:7f00:1::", false, "127.0.0.1 through 6to4 (RFC 3056)"},
		{"2001:0:1::1", false, "Teredo (RFC 4380)"},
		{"fc00::1", false, "unique local (RFC 4193)"},
		{"fd12:3456::1", false, "unique local (RFC 4193)"},
		{"fe80::1%eth0", false, "link-local"},
		{"fec0::1", false, "site-local (RFC 3879)"},
		{"ff02::1", false, "multicast"},
		{"2001:db8::1", false, "documentation (RFC 3849)"},
	} {
		if got := (guard{}).admits(netip.MustParseAddr(c.addr)); got != c.fine {
			t.Errorf("%s: %v; it is %s", c.addr, got, c.why)
		}
	}
	allowed, err := ParseBlocks([]string{"10.1.0.0/16"})
	if err != nil {
		t.Fatal(err)
	}
	g := guard{allowed}
	if !g.admits(netip.MustParseAddr("10.1.2.3")) || !g.admits(netip.MustParseAddr("::ffff:10.1.2.3")) || g.admits(netip.MustParseAddr("10.2.0.1")) {
		t.Error("the block that the operator lets through is not what gets through")
	}
	if _, err := ParseBlocks([]string{"10.1"}); err == nil {
		t.Error("10.1 passed for a block")
	}
}

func TestCheckURL(t *testing.T) {
	for text, fine := range map[string]bool{
		"https://example.org/hook?x=1":                 true,
		"https://example.org:8443/":                    true,
		"http://example.org/":                          false,
		"ftp://example.org/":                           false,
		"https://user:pw@example.org/":                 false,
		"https:///path":                                false,
		"https://127.0.0.1/":                           false,
		"https://[::1]/":                               false,
		"https://169.254.169.254/":                     false,
		"https://example.org/#part":                    false,
		"://":                                          false,
		"https://example.org:65535/":                   true,
		"https://example.org:65536/":                   false,
		"https://example.org:0/":                       false,
		"file:///etc/passwd":                           false,
		"https://localhost/":                           false,
		"https://LOCALHOST.:8443/":                     false,
		"https://a.localhost/":                         false,
		"https://printer.local/":                       false,
		"https://db.internal/":                         false,
		"https://intranet/":                            false,
		"https://hook.invalid/":                        false,
		"https://hook.test/":                           false,
		"https://hook.example/":                        false,
		"https://2130706433/":                          false,
		"https://127.1/":                               false,
		"https://0x7f.0.0.1/":                          false,
		"https://1.2.3.4.5/":                           false,
		"https://a..example.org/":                      false,
		"https://example.org./":                        true,
		"https://localhost.org/":                       true,
		"https://1and1.org/":                           true,
		"https://xn--bcher-kva.org/":                   true,
		"https://" + strings.Repeat("a", 64) + ".org/": false,
		"https://[2606:4700::1]/":                      true,
	} {
		if err := (guard{}).checkURL(text, false); (err == nil) != fine {
			t.Errorf("%s: %v", text, err)
		}
	}
	if err := (guard{}).checkURL("http://example.org/", true); err != nil {
		t.Errorf("plain, where that is allowed: %v", err)
	}
}

// An operator who lets a block of his network through has names in it.
func TestNamesInsideWhereThatIsAllowed(t *testing.T) {
	g := guard{allowed: []netip.Prefix{netip.MustParsePrefix("10.0.0.0/8")}}
	for text, fine := range map[string]bool{
		"https://intranet/": true, "https://hooks.internal/": true, "https://hook.invalid/": false, "https://127.1/": false,
	} {
		if err := g.checkURL(text, false); (err == nil) != fine {
			t.Errorf("%s: %v", text, err)
		}
	}
}

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
	if err := (guard{}).checkURL(w.URL, true); err != nil {
		t.Fatalf("the address itself is refused: %v", err)
	}
	d := &store.Delivery{Message: "msg_1", Payload: "{}"}
	o, err := send(t.Context(), newClient(guard{}, resolver), w, d, time.Now())
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
	open := guard{[]netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")}}
	if o, err := send(t.Context(), newClient(open, resolver), w, d, time.Now()); err != nil || o.Failure != "" || !reached.Load() {
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
	client := newClient(guard{[]netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")}}, nil)
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
	client := newClient(guard{[]netip.Prefix{netip.MustParsePrefix("127.0.0.0/8")}}, nil)
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
