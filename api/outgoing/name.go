package outgoing

import (
	"errors"
	"slices"
	"strings"
)

// Names that mean nothing anywhere (RFC 6761 and 7686), and those that mean something
// only inside of a network: this machine (RFC 6761), a link (RFC 6762), a home (RFC 8375),
// a private network (ICANN, resolution 2024.07.29.06, from memory).
var (
	nowhere    = []string{"invalid", "test", "example", "onion"}
	insideOnly = []string{"localhost", "local", "home.arpa", "internal"}
)

// checkName refuses names that no name server can have an address for. Where the operator
// lets some block through, names may be those of his network.
func (g Guard) checkName(name string) error {
	name = strings.ToLower(strings.TrimSuffix(name, "."))
	labels := strings.Split(name, ".")
	last := labels[len(labels)-1]
	under := func(domain string) bool { return name == domain || strings.HasSuffix(name, "."+domain) }
	switch {
	case len(name) > 253 || slices.ContainsFunc(labels, func(label string) bool { return label == "" || len(label) > 63 }):
		return errors.New("the host is no name: its parts have 1 to 63 letters, and all together 253") // RFC 1035, 2.3.4
	case isNumber(last):
		return errors.New("the host is neither a name nor an address of four numbers")
	case slices.ContainsFunc(nowhere, under):
		return errors.New("the host has a name that is kept for examples and never found")
	case len(g.Allowed) == 0 && (len(labels) == 1 || slices.ContainsFunc(insideOnly, under)):
		return ErrForbidden
	}
	return nil
}

// isNumber tells what programs read as a part of an IPv4 address, decimal or hexadecimal
// (WHATWG URL Standard, "ends in a number"); no top-level domain is one (RFC 3696, 2).
func isNumber(label string) bool {
	if rest, hex := strings.CutPrefix(label, "0x"); hex {
		return strings.Trim(rest, "0123456789abcdef") == ""
	}
	return strings.Trim(label, "0123456789") == ""
}
