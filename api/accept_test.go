package api

import (
	"strings"
	"testing"
)

// RFC 9110, 12.5.1, gives the table of qualities that belongs to this header.
func TestQualitiesOfTheStandard(t *testing.T) {
	ranges := parseAccept("text/*;q=0.3, text/plain;q=0.7, text/plain;format=flowed, text/plain;format=fixed;q=0.4, */*;q=0.5")
	for offer, want := range map[string]float64{
		"text/html": 0.3, "image/jpeg": 0.5, "text/plain": 0.7,
	} {
		if got := qualityOf(ranges, offer); got != want {
			t.Errorf("%s: quality %v, want %v", offer, got, want)
		}
	}
}

func TestNegotiateKeepsOurOrder(t *testing.T) {
	for _, tt := range []struct{ header, want string }{
		{"", "a/b"}, {"*/*", "a/b"}, {"c/d, a/b", "a/b"}, {"c/*", "c/d"}, {"C/D", "c/d"},
		{"a/b;q=0.1, c/d;q=0.2", "c/d"}, {"a/b;q=0", ""}, {"a/b;q=2, c/d", "c/d"}, {"e/f", ""}, {"a", ""},
	} {
		got, ok := negotiate(tt.header, []string{"a/b", "c/d"})
		if got != tt.want || ok != (tt.want != "") {
			t.Errorf("%q: %q %v, want %q", tt.header, got, ok, tt.want)
		}
	}
}

func FuzzAccept(f *testing.F) {
	for _, s := range []string{"*/*", "a/b;q=0.5,c/d", ";", "a/b;q=", strings.Repeat("a/b,", 1000), `a/b;x="`} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, header string) {
		offers := []string{typeJSON, typeMusicXML}
		got, ok := negotiate(header, offers)
		if ok != (got != "") || (ok && got != typeJSON && got != typeMusicXML) {
			t.Errorf("%q: %q %v", header, got, ok)
		}
		if len(parseAccept(header)) > maxRanges {
			t.Errorf("%d ranges", len(parseAccept(header)))
		}
	})
}
