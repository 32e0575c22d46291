package settings

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"partwright/theory/theorytest"
)

// What a file may cost to read: mostly tokens, which YAML may have at every sign.
const (
	bytesPerByte = 4000
	bytesAlways  = 1 << 20
)

func readAll(text string) {
	_, _ = ReadRuleSet("own.yaml", []byte(text))
	_, _ = ReadRubric("own.yaml", []byte(text))
	_, _ = ReadAccepted("own.yaml", []byte(text))
}

// These are what the library takes long for, found by repeating short texts, and their
// like. Memory must grow with the size of the file and no faster.
func TestMemoryGrowsWithTheSizeOfAFile(t *testing.T) {
	if testing.Short() {
		t.Skip("reads thousands of long files")
	}
	const size = 16 << 10
	for _, prefix := range []string{"", "[", "{", "name: x\nrules: [", "name: x\nrules: {", "name: x\nrules:\n  ", "- ", "a: |\n  ", "? >\n", "\"", "'"} {
		for _, piece := range []string{
			"[", "{", "- ", "? ", "?\n", "-\n", ": ", "a: ", "{a: ", "[a, ", "[a: ", "[]", "[],", "{},", "a: b, ", "&a ", "*a ", "&a [*a, ", "!a ", "!!a ", "<<: *a\n",
			"a:\n", "a: b\n", "- a\n", "- - a\n", "  - a\n- ", "---\n", "...\n", "%YAML 1.2\n---\n", "|\n", ">\n", "'", "\"", "\\", "# a\n", "a: b # c\n", "\t", "\r", "\n", "\r\n  ", "\n\n  x", "x\n---\n", "\x00", "\xff",
		} {
			if g := theorytest.Grow(prefix, piece, size, readAll); !g.Linear() || g.Whole > 3*(size*bytesPerByte+bytesAlways) {
				t.Errorf("%q and %q: %+v", prefix, piece, g)
			}
		}
	}
}

// Nesting by indentation is bounded by the size of the file alone to some hundreds.
func indented(depth int) string {
	var b strings.Builder
	for i := range depth {
		fmt.Fprintf(&b, "%sa:\n", strings.Repeat(" ", i))
	}
	return b.String()
}

func TestWorstFilesAreRefusedWithTheirLine(t *testing.T) {
	deep := "stand more than 16 deep"
	for _, test := range []struct{ text, want, why string }{
		{strings.Repeat("[", 50_000), "own.yaml:1: more than 20000 signs", "brackets past what is counted"},
		{"name: x\n" + strings.Repeat("[", 15_000), "own.yaml:2: lists and names " + deep, "brackets"},
		{"name: x\nrules:\n  " + strings.Repeat("{a: ", 1000), "own.yaml:3: lists and names " + deep, "braces"},
		{strings.Repeat("- ", 120_000), "own.yaml:1: more than 20000 signs", "dashes past what is counted"},
		{"\n" + strings.Repeat("- ", 15_000), "own.yaml:2: lists and names " + deep, "dashes"},
		{strings.Repeat("? ", 20), "own.yaml:1: lists and names " + deep, "keys that are lists of keys"},
		{indented(17), "own.yaml:17: lists and names " + deep, "indentation"},
		{strings.Repeat("a:\n", 30_000), "own.yaml:10001: more than 20000 signs", "lines"},
		{"name: x\nsource: |\n" + strings.Repeat("\n", 30_000), "own.yaml:203: more than 200 empty lines", "empty lines in a text"},
		{"name: &a x\nsource: *a\n", "own.yaml:1: \"&\" refers to another place", "an anchor"},
		{"name: *a\n", "own.yaml:1: \"*\" refers to another place", "an alias"},
		{"name: x\nrules:\n  <<: y\n", "own.yaml:3: \"<<\" refers to another place", "a merge"},
		{"---\nname: x\n---\nname: y\n", "own.yaml:3: a second document", "two documents"},
	} {
		_, err := ReadRuleSet("own.yaml", []byte(test.text))
		if err == nil || !strings.HasPrefix(err.Error(), test.want) {
			t.Errorf("%s:\n got %.200q\nwant %q", test.why, err, test.want)
		}
	}
}

// The limits leave alone what people write: every rule, in each of the forms that YAML
// has for it, with a comment on each line.
func TestLimitsLeaveOrdinaryFilesAlone(t *testing.T) {
	block, flow, json := "name: x\nrules:\n", "name: x\nrules: {", `{"name": "x", "rules": {`
	for i, id := range ruleIDs() {
		block += "  " + id + ": off # never [heard] - so far\n"
		if i > 0 {
			flow, json = flow+", ", json+",\n  "
		}
		flow += id + ": off"
		json += fmt.Sprintf("%q: %q", id, "off")
	}
	accepted := "name: x\naccepted:\n"
	for measure := range 200 {
		accepted += fmt.Sprintf("  %d: [parallel-fifths, parallel-octaves]\n", measure+1)
	}
	for _, text := range []string{block, flow + "}", json + "}}", accepted, indented(16), "---\nname: x\n"} {
		_, err := ReadRuleSet("own.yaml", []byte(text))
		if e := (*Error)(nil); errors.As(err, &e) && text != indented(16) || err != nil && strings.Contains(err.Error(), "more than") {
			t.Errorf("%.60q: %v", text, err)
		}
	}
}

func TestProblemsAreToldUpToANumber(t *testing.T) {
	text := "name: x\nrules:\n"
	for i := range 5000 {
		text += fmt.Sprintf("  nothing-%d: off\n", i)
	}
	_, err := ReadRuleSet("own.yaml", []byte(text))
	if e := (*Error)(nil); !errors.As(err, &e) || len(e.Lines) != maxProblems {
		t.Errorf("%.200v", err)
	}
}

// FuzzMemory looks for files that take more memory than their size explains: a text
// repeated after another.
func FuzzMemory(f *testing.F) {
	f.Add("", "[", uint16(3000))
	f.Add("name: x\n", "- ", uint16(3000))
	f.Add("a: {", "a: [b], ", uint16(3000))
	f.Add("a:\n", "  - a: b\n    c: d\n", uint16(3000))
	f.Fuzz(func(t *testing.T, prefix, piece string, times uint16) {
		if len(piece) > 64 || len(prefix) > 256 {
			return
		}
		text := []byte(prefix + strings.Repeat(piece, int(times)))
		if len(text) > MaxBytes {
			text = text[:MaxBytes]
		}
		if bytes := theorytest.Allocated(func() { _, _ = ReadRuleSet("own.yaml", text) }); bytes > uint64(len(text))*bytesPerByte+bytesAlways {
			t.Errorf("%d bytes for a file of %d", bytes, len(text))
		}
	})
}
