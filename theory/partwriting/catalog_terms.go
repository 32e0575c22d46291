package partwriting

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// Term is a word of the trade with what it means, for somebody who meets it for the first
// time.
type Term struct {
	// ID is the same in every language, in kebab case.
	ID string `json:"id"`
	// Words are the forms in which it stands in sentences, the plainest first; Means says
	// what it means.
	Words []string `json:"words"`
	Means string   `json:"means"`
}

// Says is the term with its meaning, such as "tritone: three whole tones".
func (t *Term) Says() string { return t.Words[0] + ": " + t.Means }

// TermsOf returns the terms that the explanation of a rule uses, in a fixed order.
func (c *Catalog) TermsOf(rule RuleID) []Term {
	words := c.Rules[rule]
	text := strings.ToLower(strings.Join([]string{words.Name, words.Definition, words.Why, words.Mend}, "\n"))
	var out []Term
	for _, t := range c.Terms {
		for _, word := range t.Words {
			if hasWord(text, strings.ToLower(word)) {
				out = append(out, t)
				break
			}
		}
	}
	return out
}

// hasWord reports whether a text has a word that is no part of another one.
func hasWord(text, word string) bool {
	for from := 0; ; {
		at := strings.Index(text[from:], word)
		if at < 0 {
			return false
		}
		at += from
		before, _ := utf8.DecodeLastRuneInString(text[:at])
		after, _ := utf8.DecodeRuneInString(text[at+len(word):])
		if !unicode.IsLetter(before) && !unicode.IsLetter(after) {
			return true
		}
		from = at + len(word)
	}
}
