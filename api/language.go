package api

import (
	"strings"

	"github.com/gin-gonic/gin"
	"golang.org/x/text/language"

	"partwright/theory/partwriting"
)

const defaultLanguage = "en"

// matcher chooses among the languages of our catalogs; the first of its tags is
// the default.
type matcher struct {
	tags    []string
	matcher language.Matcher
}

func newMatcher() matcher {
	m := matcher{tags: []string{defaultLanguage}}
	for _, tag := range partwriting.Languages() {
		if tag != defaultLanguage {
			m.tags = append(m.tags, tag)
		}
	}
	parsed := make([]language.Tag, 0, len(m.tags))
	for _, tag := range m.tags {
		parsed = append(parsed, language.Make(tag))
	}
	m.matcher = language.NewMatcher(parsed)
	return m
}

// choose returns the language asked for by name, which must be one of ours, or
// without a name the best for an Accept-Language header (RFC 9110, 12.5.4).
func (m matcher) choose(name, header string) (string, error) {
	if name != "" {
		if _, ok := partwriting.CatalogFor(name); !ok {
			return "", refuse(unknownLanguage, "There are no sentences in the language asked for; there are in: ", strings.Join(m.tags, ", "), ".")
		}
		return name, nil
	}
	wanted, qualities, err := language.ParseAcceptLanguage(header)
	if err != nil {
		return defaultLanguage, nil
	}
	kept := wanted[:0]
	for i, tag := range wanted {
		if qualities[i] > 0 {
			kept = append(kept, tag)
		}
	}
	_, index, confidence := m.matcher.Match(kept...)
	if confidence == language.No {
		return defaultLanguage, nil
	}
	return m.tags[index], nil
}

// chooseLanguage chooses the language of an answer and sets its header.
func (h *handlers) chooseLanguage(c *gin.Context, name string) (string, error) {
	tag, err := h.languages.choose(name, c.GetHeader("Accept-Language"))
	if err == nil {
		c.Header("Content-Language", tag)
	}
	return tag, err
}
