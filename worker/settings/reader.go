package settings

import (
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"

	"partwright/worker/spelling"
)

// MaxBytes is the largest file with a rule set, a rubric or what is
// accepted that is read, in bytes.
const MaxBytes = 256 << 10

// Error lists what is wrong with a file of settings, in order of line: the first
// hundred problems.
type Error struct {
	// File is the name the file came under, What what it should hold: "rule set".
	File, What string
	Lines      []Problem
}

// Problem is one thing wrong, and what to write instead.
type Problem struct {
	// Line counts from 1; 0 means the file as a whole.
	Line    int
	Message string
}

// Error returns every problem on a line of its own.
func (e *Error) Error() string {
	var b strings.Builder
	for i, p := range e.Lines {
		if i > 0 {
			b.WriteByte('\n')
		}
		if p.Line == 0 {
			fmt.Fprintf(&b, "%s: %s", e.File, p.Message)
			continue
		}
		fmt.Fprintf(&b, "%s:%d: %s", e.File, p.Line, p.Message)
	}
	return b.String()
}

// reader reads a file of settings from YAML 1.2, of which JSON is a part,
// and collects what is wrong with it.
type reader struct{ err *Error }

// read reads a file of one document; what names what it should hold.
func read[T any](file string, data []byte, what string, read func(*reader, ast.Node) T) (T, error) {
	var none T
	r := &reader{err: &Error{File: file, What: what}}
	if len(data) > MaxBytes {
		r.problem(nil, "larger than %d bytes", MaxBytes)
		return none, r.err
	}
	if p := tooMuch(data); p != nil {
		r.err.Lines = append(r.err.Lines, *p)
		return none, r.err
	}
	tokens := lexer.Tokenize(string(data))
	if p := tooComplex(tokens); p != nil {
		r.err.Lines = append(r.err.Lines, *p)
		return none, r.err
	}
	parsed, err := parser.Parse(tokens, 0)
	if err != nil {
		r.syntax(err)
		return none, r.err
	}
	if len(parsed.Docs) != 1 || parsed.Docs[0].Body == nil {
		r.problem(nil, "holds no %s, or more than one", what)
		return none, r.err
	}
	value := read(r, parsed.Docs[0].Body)
	if len(r.err.Lines) > 0 {
		sort.SliceStable(r.err.Lines, func(i, j int) bool { return r.err.Lines[i].Line < r.err.Lines[j].Line })
		return none, r.err
	}
	return value, nil
}

func (r *reader) problem(at ast.Node, format string, args ...any) {
	if len(r.err.Lines) >= maxProblems {
		return
	}
	line := 0
	if at != nil && at.GetToken() != nil {
		line = at.GetToken().Position.Line
	}
	r.err.Lines = append(r.err.Lines, Problem{line, fmt.Sprintf(format, args...)})
}

// didYouMean looks for the name that a word was meant to be, while its problem is told.
func (r *reader) didYouMean(word string, names []string) string {
	if len(r.err.Lines) >= maxProblems {
		return ""
	}
	return spelling.DidYouMean(word, names)
}

// fields returns the keys of a file, each of which must be known and stand once.
func (r *reader) fields(body ast.Node, what string, known []string) map[string]entry {
	fields := map[string]entry{}
	for _, e := range r.entries(body, "the file") {
		if _, twice := fields[e.key]; twice {
			r.problem(e.node, "%s stands here a second time", e.key)
		}
		fields[e.key] = e
		if !slices.Contains(known, e.key) {
			r.problem(e.node, "%s is not known%s; %s has %s", e.key, r.didYouMean(e.key, known), what, strings.Join(known, ", "))
		}
	}
	return fields
}

// name returns the name that a file gives itself; it must be there and not taken.
func (r *reader) name(body ast.Node, fields map[string]entry, what string, taken func(string) bool) string {
	e, ok := fields["name"]
	name := ""
	if ok {
		name = r.text(e)
	}
	switch {
	case name == "":
		r.problem(body, "%s needs a name: that is what answers show", what)
	case taken(name):
		r.problem(e.node, "%s is a name that comes with the program; take another", name)
	}
	return name
}

// entry is one key of a mapping with its value.
type entry struct {
	key         string
	node, value ast.Node
}

// entries returns the keys of a mapping in the order they stand.
func (r *reader) entries(node ast.Node, what string) []entry {
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
func (r *reader) text(e entry) string {
	switch e.value.(type) {
	case *ast.MappingNode, *ast.MappingValueNode, *ast.SequenceNode, *ast.AnchorNode, *ast.AliasNode, *ast.TagNode:
		r.problem(e.value, "%s takes one word or number", e.key)
		return ""
	}
	return plainText(e.value)
}

// items returns the members of a list, or a single value as a list of one.
func (r *reader) items(e entry) []entry {
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
func (r *reader) syntax(err error) {
	var positioned yaml.Error
	if errors.As(err, &positioned) && positioned.GetToken() != nil {
		r.err.Lines = append(r.err.Lines, Problem{positioned.GetToken().Position.Line, positioned.GetMessage()})
		return
	}
	message, _, _ := strings.Cut(err.Error(), "\n")
	r.err.Lines = append(r.err.Lines, Problem{0, message})
}
