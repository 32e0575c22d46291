package outgoing

import (
	"net/netip"
	"strings"
	"testing"
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
		if got := (Guard{}).Admits(netip.MustParseAddr(c.addr)); got != c.fine {
			t.Errorf("%s: %v; it is %s", c.addr, got, c.why)
		}
	}
	allowed, err := ParseBlocks([]string{"10.1.0.0/16"})
	if err != nil {
		t.Fatal(err)
	}
	g := Guard{allowed}
	if !g.Admits(netip.MustParseAddr("10.1.2.3")) || !g.Admits(netip.MustParseAddr("::ffff:10.1.2.3")) || g.Admits(netip.MustParseAddr("10.2.0.1")) {
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
		if err := (Guard{}).CheckURL(text, false); (err == nil) != fine {
			t.Errorf("%s: %v", text, err)
		}
	}
	if err := (Guard{}).CheckURL("http://example.org/", true); err != nil {
		t.Errorf("plain, where that is Allowed: %v", err)
	}
}

// An operator who lets a block of his network through has names in it.
func TestNamesInsideWhereThatIsAllowed(t *testing.T) {
	g := Guard{Allowed: []netip.Prefix{netip.MustParsePrefix("10.0.0.0/8")}}
	for text, fine := range map[string]bool{
		"https://intranet/": true, "https://hooks.internal/": true, "https://hook.invalid/": false, "https://127.1/": false,
	} {
		if err := g.CheckURL(text, false); (err == nil) != fine {
			t.Errorf("%s: %v", text, err)
		}
	}
}
