package command

import (
	"bytes"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// complete asks as the scripts of shells do, and returns the lines of the answer.
func complete(t *testing.T, args ...string) []string {
	t.Helper()
	var out bytes.Buffer
	if code := Run(Program{}, append([]string{"__complete"}, args...), nil, &out, &bytes.Buffer{}); code != exitDone {
		t.Fatalf("%q ends with %d", args, code)
	}
	return strings.Split(strings.TrimRight(out.String(), "\n"), "\n")
}

// The last line is what the shell is to do with the words: the sum of the directives
// of the library, 0 to offer files as well, 2 not to leave a blank after the word, 4 to
// offer no files, 8 to offer those with the extensions, 16 to offer folders.
func TestCompletionOffersValues(t *testing.T) {
	for _, tt := range []struct {
		args []string
		want string
	}{
		{[]string{"che"}, "check\tCheck scores, folders of scores and archives|:4"},
		{[]string{"check", "--rules", "str"}, "strict-chorale|:0"},
		{[]string{"rules", "--set", "species-f"}, "species-first|species-fourth|species-fifth|:0"},
		{[]string{"check", "--rubric", "hun"}, "hundred|:0"},
		{[]string{"rules", "parallel-"}, "parallel-fifths|parallel-octaves|parallel-unisons|parallel-fourths|parallel-seconds-sevenths|:4"},
		{[]string{"check", "--lang", "d"}, "de|:4"},
		{[]string{"check", "--format", "nd"}, "ndjson|:4"},
		{[]string{"voice", "--format", "mu"}, "musicxml|:4"},
		{[]string{"voice", "--style", "key"}, "keyboard|:4"},
		{[]string{"voice", "--ending", "ha"}, "half|:4"},
		{[]string{"check", "--annotate", "numerals,fig"}, "numerals,figures|:6"},
		{[]string{"mend", "--only", "parallel-fifths,parallel-"}, "parallel-fifths,parallel-octaves|parallel-fifths,parallel-unisons|parallel-fifths,parallel-fourths|parallel-fifths,parallel-seconds-sevenths|:6"},
		{[]string{"check", "--accepted", ""}, "yaml|yml|json|:8"},
		{[]string{"check", ""}, "zip|gz|tgz|musicxml|xml|mxl|:8"},
		{[]string{"check", "--out", ""}, ":16"},
		{[]string{"version", ""}, ":4"},
		{[]string{"completion", "b"}, "bash\tGenerate the autocompletion script for bash|:4"},
	} {
		got := complete(t, tt.args...)
		if text := strings.Join(got, "|"); text != tt.want {
			t.Errorf("%q: %s, want %s", tt.args, text, tt.want)
		}
	}
}

// Every offer is for a flag or command that there is.
func TestOffersAreForSomething(t *testing.T) {
	names := map[string]bool{}
	var collect func(*cobra.Command)
	collect = func(cmd *cobra.Command) {
		cmd.Flags().VisitAll(func(f *pflag.Flag) {
			names[f.Name], names[cmd.Name()+" "+f.Name] = true, true
		})
		for _, sub := range cmd.Commands() {
			names["command "+sub.Name()] = true
			collect(sub)
		}
	}
	collect(New(Program{}))
	for name, o := range flagOffers() {
		if !names[name] {
			t.Errorf("values are offered for --%s, which no command has", name)
		}
		if o.words == nil && o.extensions == nil && !o.folder {
			t.Errorf("nothing is offered for --%s", name)
		}
	}
	for name := range argumentOffers() {
		if !names["command "+name] {
			t.Errorf("arguments are offered for %s, which is no command", name)
		}
	}
}
