package lti_test

import (
	"testing"

	"partwright/api/lti"
)

// Links as RFC 8288, 3 and 3.5, writes them.
func TestNextPage(t *testing.T) {
	for _, c := range []struct {
		headers []string
		want    string
	}{
		{nil, ""},
		{[]string{`<https://x.org/a?p=2>; rel="next"`}, "https://x.org/a?p=2"},
		{[]string{`<https://x.org/a?p=2>; rel=next`}, "https://x.org/a?p=2"},
		{[]string{`<b?p=2>;rel="prev next"`}, "https://x.org/b?p=2"},
		{[]string{`<a>; rel="prev", </c,d?x=1>; title="a, b"; rel="next"`}, "https://x.org/c,d?x=1"},
		{[]string{`<a>; rel="prev"`, `<b>; rel="next"`}, "https://x.org/b"},
		{[]string{`<a>; rel="nextish"`}, ""},
		{[]string{`<a; rel="next"`}, ""},
		{[]string{`rel="next"`}, ""},
	} {
		if got := lti.NextPage(c.headers, "https://x.org/a"); got != c.want {
			t.Errorf("%q leads to %q, want %q", c.headers, got, c.want)
		}
	}
}

// AGS 3.3.1 and 3.4.1: the path gets longer, and the query stays.
func TestBelow(t *testing.T) {
	for address, want := range map[string]string{
		"https://x.org/1/lineitem":                "https://x.org/1/lineitem/scores",
		"https://x.org/1/lineitem/":               "https://x.org/1/lineitem/scores",
		"https://x.org/1/lineitem?type_id=2&a=%2": "https://x.org/1/lineitem/scores?type_id=2&a=%2",
		"https://x.org/a%2Fb/lineitem?t":          "https://x.org/a%2Fb/lineitem/scores?t",
		"https://x.org":                           "https://x.org/scores",
	} {
		if got, err := lti.Below(address, "scores"); err != nil || got != want {
			t.Errorf("%s leads to %s, %v, want %s", address, got, err, want)
		}
	}
	if _, err := lti.Below("nowhere", "scores"); err == nil {
		t.Error("no address has no scores below")
	}
}
