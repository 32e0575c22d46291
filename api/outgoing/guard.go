// Package outgoing makes requests to addresses that others have chosen, and never into
// the network of whoever operates the service, unless he lets a block of it through.
package outgoing

import (
	"errors"
	"fmt"
	"net/netip"
	"net/url"
	"strconv"
	"syscall"
)

// ErrForbidden is returned for an address inside of some network.
var ErrForbidden = errors.New("the address is not one of the public internet")

// inside lists the blocks that are not the public internet, and those through
// which it could be left again (IANA IPv4 and IPv6 Special-Purpose Address
// Registries, RFC 6890, with multicast and the embeddings of IPv4).
var inside = []netip.Prefix{
	netip.MustParsePrefix("0.0.0.0/8"),       // this network
	netip.MustParsePrefix("10.0.0.0/8"),      // private
	netip.MustParsePrefix("100.64.0.0/10"),   // shared by carriers
	netip.MustParsePrefix("127.0.0.0/8"),     // this machine
	netip.MustParsePrefix("169.254.0.0/16"),  // link; metadata of clouds
	netip.MustParsePrefix("172.16.0.0/12"),   // private
	netip.MustParsePrefix("192.0.0.0/24"),    // protocols
	netip.MustParsePrefix("192.0.2.0/24"),    // documentation
	netip.MustParsePrefix("192.88.99.0/24"),  // relays of 6to4
	netip.MustParsePrefix("192.168.0.0/16"),  // private
	netip.MustParsePrefix("198.18.0.0/15"),   // benchmarks
	netip.MustParsePrefix("198.51.100.0/24"), // documentation
	netip.MustParsePrefix("203.0.113.0/24"),  // documentation
	netip.MustParsePrefix("224.0.0.0/4"),     // multicast
	netip.MustParsePrefix("240.0.0.0/4"),     // reserved, and broadcast
}

// public is the part of IPv6 that is given out (RFC 4291, 2.4); its exceptions
// follow.
var public = netip.MustParsePrefix("2000::/3")

var insideIPv6 = []netip.Prefix{
	netip.MustParsePrefix("2001::/23"),     // protocols, Teredo among them
	netip.MustParsePrefix("2001:db8::/32"), // documentation
	netip.MustParsePrefix("2002::/16"),     // 6to4: holds any IPv4 address
	netip.MustParsePrefix("3fff::/20"),     // documentation
}

// Guard decides what may be connected to.
type Guard struct {
	// Allowed are blocks that the operator lets through, inside or not.
	Allowed []netip.Prefix
}

// Admits reports whether an address may be connected to.
func (g Guard) Admits(addr netip.Addr) bool {
	addr = addr.Unmap().WithZone("")
	for _, p := range g.Allowed {
		if p.Contains(addr) {
			return true
		}
	}
	blocks := inside
	if addr.Is6() {
		if !public.Contains(addr) {
			return false
		}
		blocks = insideIPv6
	}
	for _, p := range blocks {
		if p.Contains(addr) {
			return false
		}
	}
	return addr.IsValid()
}

// control is called with the address that a name was resolved to, before it is
// connected to: a name that means another address the next time is of no use.
func (g Guard) control(_, address string, _ syscall.RawConn) error {
	host, err := netip.ParseAddrPort(address)
	if err != nil || !g.Admits(host.Addr()) {
		return ErrForbidden
	}
	return nil
}

// CheckURL refuses what cannot be sent to; plain lets addresses begin with http:// too.
// The error is a sentence for whoever gave the address. A name is not resolved: what it means
// counts when it is connected to.
func (g Guard) CheckURL(text string, plain bool) error {
	u, err := url.Parse(text)
	switch {
	case err != nil:
		return errors.New("the address cannot be read")
	case u.Scheme != "https" && (!plain || u.Scheme != "http"):
		return errors.New("the address must begin with https://")
	case u.Hostname() == "":
		return errors.New("the address names no host")
	case !isPort(u.Port()):
		return errors.New("the address has a port that cannot be: there are 1 to 65535")
	case u.User != nil:
		return errors.New("the address must not hold a user or password")
	case u.Fragment != "":
		return errors.New("the address must not have a fragment")
	}
	addr, err := netip.ParseAddr(u.Hostname())
	switch {
	case err != nil:
		return g.checkName(u.Hostname())
	case !g.Admits(addr):
		return ErrForbidden
	}
	return nil
}

// isPort reports whether text can be the port of an address; "" is the usual one.
func isPort(text string) bool {
	port, err := strconv.ParseUint(text, 10, 16)
	return text == "" || err == nil && port > 0
}

// ParseBlocks reads the blocks that an operator lets through, such as 10.1.0.0/16.
func ParseBlocks(texts []string) ([]netip.Prefix, error) {
	var all []netip.Prefix
	for _, text := range texts {
		p, err := netip.ParsePrefix(text)
		if err != nil {
			return nil, fmt.Errorf("%q is no block of addresses such as 10.1.0.0/16", text)
		}
		all = append(all, p.Masked())
	}
	return all, nil
}
