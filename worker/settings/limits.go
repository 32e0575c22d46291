package settings

import (
	"fmt"
	"strings"

	"github.com/goccy/go-yaml/token"
)

// The library that parses YAML takes memory with the square of how deep a file nests:
// 240 kB of dashes took 23 GB. Its tokenizer takes some
// hundred bytes for each sign, and no more but for empty lines in texts, so that depth is
// counted on tokens, and the rest before there are any.
const (
	// maxSigns bounds the signs that YAML may read as structure, whatever stands in
	// quotes, and the lines.
	maxSigns = 20_000
	// maxEmpty bounds empty lines that follow one another, with the square of which the
	// tokens of a text of many lines grow.
	maxEmpty = 200
	// maxDepth bounds what stands in one another; nothing read here is deeper than 4.
	maxDepth = 16
	// maxProblems bounds the problems that are told; the first lead to the others.
	maxProblems = 100
)

// tooMuch returns what is too much of a file to make tokens of it, with its line;
// nothing if there is no such thing.
func tooMuch(data []byte) *Problem {
	line, signs, empty := 1, 0, 0
	for _, b := range data {
		switch b {
		case ' ', '\t':
		case '\n', '\r':
			signs++
			empty++
		default:
			empty = 0
			if strings.IndexByte("[]{},:-?&*!|>%@`\"'#", b) >= 0 {
				signs++
			}
		}
		if b == '\n' {
			line++
		}
		switch {
		case signs > maxSigns:
			return &Problem{line, fmt.Sprintf("more than %d signs and lines stand before this; leave out what is not needed", maxSigns)}
		case empty > maxEmpty:
			return &Problem{line, fmt.Sprintf("more than %d empty lines stand before this; leave them out", maxEmpty)}
		}
	}
	return nil
}

// tooComplex returns what is not parsed about a file, with its line; nothing if there
// is no such thing.
func tooComplex(tokens token.Tokens) *Problem {
	var n nesting
	documents := 0
	for i, t := range tokens {
		switch t.Type {
		case token.AnchorType, token.AliasType, token.MergeKeyType:
			return &Problem{t.Position.Line, fmt.Sprintf("%q refers to another place of the file, which is not read; write out what stands there", t.Value)}
		case token.DocumentHeaderType:
			if documents++; documents > 1 {
				return &Problem{t.Position.Line, "a second document begins here; one file holds one"}
			}
		}
		if n.add(tokens, i); n.depth() > maxDepth {
			return &Problem{t.Position.Line, fmt.Sprintf("lists and names stand more than %d deep in one another", maxDepth)}
		}
	}
	return nil
}

// nesting counts how deep a token stands.
type nesting struct {
	// brackets are those that are open.
	brackets int
	// columns are those of the dashes and keys outside brackets that are open, rising.
	columns []int
}

func (n *nesting) depth() int { return n.brackets + len(n.columns) }

func (n *nesting) add(tokens token.Tokens, i int) {
	t := tokens[i]
	switch t.Type {
	case token.SequenceStartType, token.MappingStartType:
		n.brackets++
	case token.SequenceEndType, token.MappingEndType:
		n.brackets = max(0, n.brackets-1)
	case token.SequenceEntryType, token.MappingKeyType:
		n.open(t.Position.Column)
	case token.MappingValueType:
		// Inside brackets, keys stand beside one another in a line.
		if n.brackets > 0 {
			return
		}
		key := t
		if i > 0 && tokens[i-1].Position.Line == t.Position.Line {
			key = tokens[i-1]
		}
		n.open(key.Position.Column)
	}
}

// open closes what stands as far to the right as what begins in a column.
func (n *nesting) open(column int) {
	for len(n.columns) > 0 && n.columns[len(n.columns)-1] >= column {
		n.columns = n.columns[:len(n.columns)-1]
	}
	n.columns = append(n.columns, column)
}
