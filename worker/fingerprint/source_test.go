package fingerprint

import (
	"maps"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

// The package of these tests: two rules that share a helper, one that has its own, and
// what works on all.
const (
	rulesFile = `package rules

import "math"

var firsts = []*Rule{
	{ID: "one", Check: func(p *Passage) int { return p.shared() }},
	{ID: "two", Check: (*Passage).second},
}

// Rule is one of them.
type Rule struct {
	ID    string
	Check func(*Passage) int
}

type Passage struct{ firsts, limits []int }

func (p *Passage) shared() int { return len(p.limits) + most }

func (p *Passage) second() int {
	other := p.firsts
	return p.shared() + only(len(other))
}

const most = 3

func only(n int) int { return int(math.Sqrt(float64(n))) }
`
	engineFile = `package rules

import "fmt"

var kinds = []*Rule{{ID: "three", Check: printed}}

type shown int

func (s shown) String() string { return "three" }

func printed(*Passage) int { return len(fmt.Sprint(shown(3))) }

func Check(p *Passage) (n int) {
	for _, list := range [][]*Rule{firsts, kinds} {
		for _, r := range list {
			n += r.Check(p) + weight()
		}
	}
	return n
}

func weight() int { return 1 }
`
)

// prints are the fingerprints of a package in which one text stands for another.
func prints(t *testing.T, change ...string) map[string]string {
	t.Helper()
	replace := strings.NewReplacer(change...)
	files := fstest.MapFS{}
	for name, text := range map[string]string{"rules.go": rulesFile, "engine.go": engineFile, "rules_test.go": "package rules\n\nvar inTest = 1\n"} {
		files[name] = &fstest.MapFile{Data: []byte(replace.Replace(text))}
	}
	s, err := Read(files, "Rule")
	if err != nil {
		t.Fatal(err)
	}
	all := s.Entries()
	all["rest"] = s.Rest()
	return all
}

// What changes is seen in the entries that use it, by whatever way, and in no other.
func TestChangesAreSeenWhereTheyAreUsed(t *testing.T) {
	before := prints(t)
	if len(before) != 4 {
		t.Fatalf("%v", before)
	}
	for _, test := range []struct {
		what, from, to, seen string
	}{
		{"a helper of two", "len(p.limits) + most", "len(p.limits) - most", "one two"},
		{"a constant under it", "const most = 3", "const most = 4", "one two"},
		{"a helper of one", "int(math.Sqrt", "2 * int(math.Sqrt", "two"},
		{"what an import means", `"math"`, `math "math/cmplx"`, "two"},
		{"an entry itself", `{ID: "one", Check: func(p *Passage) int { return`, `{ID: "one", Check: func(p *Passage) int { return 1 +`, "one"},
		{"a method that the library calls", `return "three"`, `return "3"`, "three"},
		{"what works on all", "return 1", "return 2", "rest"},
		{"a type that all have", "type Passage struct{ ", "type Passage struct{ more int; ", "one rest three two"},
		{"a comment", "// Rule is one of them.", "// Rule is a rule.", ""},
		{"blanks", "{firsts, kinds}", "{\n\t\tfirsts,\n\t\tkinds}", ""},
		{"a test", "inTest = 1", "inTest = 2", ""},
	} {
		after := prints(t, test.from, test.to)
		var seen []string
		for name := range before {
			if before[name] != after[name] {
				seen = append(seen, name)
			}
		}
		if got := sorted(seen); got != test.seen {
			t.Errorf("%s: seen in %q, want %q", test.what, got, test.seen)
		}
	}
	if !maps.Equal(before, prints(t)) {
		t.Error("the same package has other fingerprints")
	}
}

func TestPackagesThatAreNone(t *testing.T) {
	for text, says := range map[string]string{
		"package":                                  "expected",
		"package p\nvar l = []*Rule{one}":          "no literal",
		"package p\nvar l = []*Rule{{Check: f}}":   "no ID",
		"package p\nvar l = []*Rule{{\"one\", f}}": "without its name",
	} {
		_, err := Read(fstest.MapFS{"p.go": {Data: []byte(text)}}, "Rule")
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v", text, err)
		}
	}
}

// A fingerprint of packages is one of names and texts.
func TestFingerprintsOfPackages(t *testing.T) {
	of := func(files ...string) string {
		all := fstest.MapFS{}
		for i := 0; i < len(files); i += 2 {
			all[files[i]] = &fstest.MapFile{Data: []byte(files[i+1])}
		}
		sum, err := Of(all)
		if err != nil || len(sum) != digits {
			t.Fatalf("%q, %v", sum, err)
		}
		return sum
	}
	seen := map[string]string{}
	for name, sum := range map[string]string{
		"one file": of("a.go", "x"), "another text": of("a.go", "y"), "another name": of("b.go", "x"),
		"two files": of("a.go", "x", "b.go", ""), "a table": of("a.go", "x", "weights.tsv", "1"),
	} {
		if other, ok := seen[sum]; ok {
			t.Errorf("%s and %s are the same", name, other)
		}
		seen[sum] = name
	}
	if of("a.go", "x") != of("a.go", "x", "a_test.go", "y") {
		t.Error("a test counts")
	}
	if Join("ab", "c") == Join("a", "bc") {
		t.Error("two lists of texts are the same")
	}
}

func sorted(names []string) string {
	slices.Sort(names)
	return strings.Join(names, " ")
}
