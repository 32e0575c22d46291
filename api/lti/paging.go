package lti

import (
	"context"
	"net/url"
	"slices"
	"strings"
)

// maxPages bounds a list that comes page by page.
const maxPages = 200

// everyPage asks for a list page by page (RFC 8288, rel="next") and lets read read each. A next
// page elsewhere than the first is not asked for: the access token would go there.
func (t *Tool) everyPage(ctx context.Context, r *Registration, c call, read func(body []byte) error) error {
	origin, seen := originOf(c.address), []string{}
	for len(seen) < maxPages {
		answer, err := t.callService(ctx, r, c)
		if err != nil {
			return err
		}
		if err := read(answer.body); err != nil {
			return err
		}
		seen = append(seen, c.address)
		next := nextPage(answer.header.Values("Link"), c.address)
		switch {
		case next == "":
			return nil
		case originOf(next) != origin:
			return PlatformRefuses.Because("The next page of a list lies on another host than the first.")
		case slices.Contains(seen, next):
			return PlatformRefuses.Because("The pages of a list lead in a circle.")
		}
		c.address = next
	}
	return PlatformRefuses.Because("A list has more pages than are read.")
}

// nextPage reads the address of the next page, relative to that of this one; "" for
// none.
func nextPage(headers []string, here string) string {
	for _, header := range headers {
		for rest := header; ; {
			_, after, found := strings.Cut(rest, "<")
			target, parameters, closed := strings.Cut(after, ">")
			if !found || !closed {
				break
			}
			// Parameters end where the next link begins: at a comma before "<".
			own := parameters
			if i := strings.Index(parameters, "<"); i >= 0 {
				own = parameters[:i]
			}
			if isNext(own) {
				return resolve(here, target)
			}
			rest = parameters
		}
	}
	return ""
}

func isNext(parameters string) bool {
	for parameter := range strings.SplitSeq(strings.Trim(parameters, " ,"), ";") {
		name, value, _ := strings.Cut(strings.TrimSpace(parameter), "=")
		value = strings.Trim(strings.Trim(value, " ,"), `"`)
		if strings.EqualFold(strings.TrimSpace(name), "rel") && slices.ContainsFunc(strings.Fields(value), func(one string) bool { return strings.EqualFold(one, "next") }) {
			return true
		}
	}
	return false
}

func resolve(here, target string) string {
	base, err := url.Parse(here)
	if err != nil {
		return ""
	}
	u, err := base.Parse(target)
	if err != nil {
		return ""
	}
	return u.String()
}
