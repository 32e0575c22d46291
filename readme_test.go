package main

import (
	"os"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"partwright/api/command"
	"partwright/musicxml"
	"partwright/theory/partwriting"
	"partwright/theory/voicing"
	"partwright/worker"
)

func readText(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// TestReadmeNamesRealFlags holds every flag that the README names, with its
// default, against the commands.
func TestReadmeNamesRealFlags(t *testing.T) {
	flags := map[string]bool{"help": true}
	var collect func(*cobra.Command)
	collect = func(cmd *cobra.Command) {
		cmd.Flags().VisitAll(func(f *pflag.Flag) { flags[f.Name] = true })
		for _, sub := range cmd.Commands() {
			collect(sub)
		}
	}
	collect(command.New(program()))
	ofOthers := []string{"build-arg", "read-only", "tmpfs"} // docker's
	readme := readText(t, "README.md")
	named := regexp.MustCompile(`--([a-z][a-z-]+)`).FindAllStringSubmatch(readme, -1)
	if len(named) < 20 {
		t.Fatalf("the README names %d flags; the pattern no longer finds them", len(named))
	}
	for _, match := range named {
		if !flags[match[1]] && !slices.Contains(ofOthers, match[1]) {
			t.Errorf("the README names --%s, which no command has", match[1])
		}
	}
}

func TestReadmeNamesEveryCommand(t *testing.T) {
	readme := readText(t, "README.md")
	for _, cmd := range command.New(program()).Commands() {
		use := "`partwright " + strings.Replace(cmd.Use, "[flags] ", "", 1) + "`"
		if !builtIn(cmd) && !strings.Contains(readme, use) {
			t.Errorf("the README's table of commands lacks %s", use)
		}
	}
}

// builtIn tells the commands that the library adds.
func builtIn(cmd *cobra.Command) bool { return cmd.Name() == "help" || cmd.Name() == "completion" }

func TestReadmeShowsThePalette(t *testing.T) {
	readme := readText(t, "README.md")
	for _, family := range partwriting.Families {
		name := strings.ReplaceAll(family.String(), "-", " ")
		row := regexp.MustCompile(`\| ` + name + ` \| ` + "`" + regexp.QuoteMeta(musicxml.SignOf(family)) + "`" + ` \| [a-z ]+ ` + "`" + musicxml.ColorOf(family) + "`" + ` \|`)
		if !row.MatchString(readme) {
			t.Errorf("the README's palette lacks a row for %s with %s and %s", name, musicxml.SignOf(family), musicxml.ColorOf(family))
		}
	}
}

// TestReadmeExplainsTheReport wants every field of a finding and of the report in
// the README, as they are in JSON.
func TestReadmeExplainsTheReport(t *testing.T) {
	readme := readText(t, "README.md")
	for _, value := range []any{worker.Report{}, worker.FindingReport{}} {
		for i := range reflect.TypeOf(value).NumField() {
			name, _, _ := strings.Cut(reflect.TypeOf(value).Field(i).Tag.Get("json"), ",")
			if !strings.Contains(readme, "`"+name+"`") && !strings.Contains(readme, "`"+name+"[]`") {
				t.Errorf("the README does not explain the field %s of %T", name, value)
			}
		}
	}
}

// TestDevelopersLinksLead wants every file that DEVELOPERS.md links to.
func TestDevelopersLinksLead(t *testing.T) {
	for _, name := range []string{"README.md", "DEVELOPERS.md"} {
		for _, link := range regexp.MustCompile(`\]\(([^)#]+)\)`).FindAllStringSubmatch(readText(t, name), -1) {
			if strings.Contains(link[1], "://") {
				continue
			}
			if _, err := os.Stat(link[1]); err != nil {
				t.Errorf("%s links to %s: %v", name, link[1], err)
			}
		}
	}
}

// TestReadmeGivesEveryCharge holds the table of what a voicing costs to the
// weights.
func TestReadmeGivesEveryCharge(t *testing.T) {
	readme := readText(t, "README.md")
	weights := voicing.DefaultWeights()
	for _, term := range voicing.Terms() {
		weight := strconv.FormatFloat(float64(term.Weight(&weights))/100, 'f', -1, 64)
		if row := "| `" + term.Name + "` | " + weight + " | " + term.Says + " |"; !strings.Contains(readme, row) {
			t.Errorf("the README's table of charges lacks %s", row)
		}
	}
}
