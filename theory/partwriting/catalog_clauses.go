package partwriting

import (
	"encoding/json"
	"regexp"
	"strings"
)

// clause is a part of a sentence, in English and in another language.
type clause struct {
	english *regexp.Regexp
	to      string
}

var (
	clauseHolders = strings.NewReplacer(`\{n\}`, `(?P<n>\d+)`, `\{x\}`, `(?P<x>.+?)`, `\{y\}`, `(?P<y>\S+)`)
	clauseValues  = strings.NewReplacer("$", "$$", "{n}", "${n}", "{x}", "${x}", "{y}", "${y}")
)

// UnmarshalJSON reads the English and its translation.
func (c *clause) UnmarshalJSON(data []byte) (err error) {
	var pair [2]string
	if err = json.Unmarshal(data, &pair); err != nil {
		return err
	}
	c.english, err = regexp.Compile(clauseHolders.Replace(regexp.QuoteMeta(pair[0])))
	c.to = clauseValues.Replace(pair[1])
	return err
}

// Clause says in the catalog's language how a score was read: how voices were found
// ([theory.Texture.Found], [theory.Voice.Found]), why something is no voice
// ([theory.SetAside.Reason]), and why the harmony was read in a style
// ([harmony.Analysis.StyleFound]).
func (c *Catalog) Clause(english string) string {
	for i := range c.Clauses {
		english = c.Clauses[i].english.ReplaceAllString(english, c.Clauses[i].to)
	}
	return english
}
