package worker

import (
	"errors"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
)

// entry is one key of a mapping with its value.
type entry struct {
	key         string
	node, value ast.Node
}

// entries returns the keys of a mapping in the order they stand.
func (r *ruleSetReader) entries(node ast.Node, what string) []entry {
	var values []*ast.MappingValueNode
	switch n := node.(type) {
	case *ast.MappingNode:
		values = n.Values
	case *ast.MappingValueNode:
		values = []*ast.MappingValueNode{n}
	case *ast.NullNode:
	default:
		r.problem(node, "%s must be a list of names with values, such as \"name: value\"", what)
	}
	out := make([]entry, 0, len(values))
	for _, v := range values {
		out = append(out, entry{key: plainText(v.Key), node: v.Key, value: v.Value})
	}
	return out
}

// text returns the value of an entry as it is written; a mapping or list in its
// place is a problem.
func (r *ruleSetReader) text(e entry) string {
	switch e.value.(type) {
	case *ast.MappingNode, *ast.MappingValueNode, *ast.SequenceNode, *ast.AnchorNode, *ast.AliasNode, *ast.TagNode:
		r.problem(e.value, "%s takes one word or number", e.key)
		return ""
	}
	return plainText(e.value)
}

// items returns the members of a list, or a single value as a list of one.
func (r *ruleSetReader) items(e entry) []entry {
	list, ok := e.value.(*ast.SequenceNode)
	if !ok {
		return []entry{e}
	}
	out := make([]entry, 0, len(list.Values))
	for _, v := range list.Values {
		out = append(out, entry{key: e.key, node: e.node, value: v})
	}
	return out
}

// plainText is the word of a node: "off" stays "off" and is no truth value.
func plainText(n ast.Node) string {
	if s, ok := n.(*ast.StringNode); ok {
		return s.Value
	}
	if n.GetToken() == nil {
		return ""
	}
	return n.GetToken().Value
}

// syntax reports what the YAML reader could not read.
func (r *ruleSetReader) syntax(err error) {
	var positioned yaml.Error
	if errors.As(err, &positioned) && positioned.GetToken() != nil {
		r.err.Lines = append(r.err.Lines, RuleSetProblem{positioned.GetToken().Position.Line, positioned.GetMessage()})
		return
	}
	message, _, _ := strings.Cut(err.Error(), "\n")
	r.err.Lines = append(r.err.Lines, RuleSetProblem{0, message})
}

func contains(list []string, word string) bool {
	for _, w := range list {
		if w == word {
			return true
		}
	}
	return false
}

// meant returns ", did you mean X?" for the nearest known word, or nothing.
func meant(word string, known []string) string {
	best, distance := "", len(word)/2+1
	for _, k := range known {
		if d := edits(word, k); d < distance {
			best, distance = k, d
		}
	}
	if best == "" {
		return ""
	}
	return ", did you mean " + best + "?"
}

// edits counts the letters to insert, delete or change between two words
// (Levenshtein 1966).
func edits(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diagonal := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := diagonal
			if a[i-1] != b[j-1] {
				change++
			}
			diagonal = row[j]
			row[j] = min(change, row[j]+1, row[j-1]+1)
		}
	}
	return row[len(b)]
}
