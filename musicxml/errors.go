package musicxml

import (
	"fmt"
	"strings"
)

// CodeLimit is the code of an [InputError] for a document over one of the
// [Limits]: it may be a score, but it is not read.
const CodeLimit = "limit"

// InputError says why a document could not be read as a score. It is permanent:
// reading again gives the same.
type InputError struct {
	// Code is a permanent word in kebab case, such as "no-root-element".
	Code string
	// File is the name given to [Read], Entry the name inside a container.
	File, Entry string
	// Part, Measure (as printed), Line and Column are set as far as known.
	Part, Measure string
	Line, Column  int
	// Problem is one sentence of fact, Advice one on what to do.
	Problem, Advice string
}

// Error returns one line: where, what, and what to do.
func (e *InputError) Error() string {
	var where []string
	for _, s := range []string{e.File, e.Entry} {
		if s != "" {
			where = append(where, s)
		}
	}
	if e.Part != "" {
		where = append(where, "part "+e.Part)
	}
	if e.Measure != "" {
		where = append(where, "measure "+e.Measure)
	}
	if e.Line > 0 {
		where = append(where, fmt.Sprintf("line %d", e.Line))
	}
	text := strings.Join(where, ", ")
	if text != "" {
		text += ": "
	}
	text += e.Problem
	if e.Advice != "" {
		text += " " + e.Advice
	}
	return text
}
