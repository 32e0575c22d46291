package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"partwright/api/command"
	"partwright/musicxml"
	"partwright/theory/partwriting"
	"partwright/worker/report"
)

func readText(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// documents returns the paths of all documents in Markdown, from the top down.
func documents(t *testing.T) []string {
	t.Helper()
	var paths []string
	err := filepath.WalkDir(".", func(path string, entry fs.DirEntry, err error) error {
		if entry != nil && entry.IsDir() && path != "." && (strings.HasPrefix(entry.Name(), ".") || entry.Name() == "node_modules") {
			return filepath.SkipDir
		}
		if strings.HasSuffix(path, ".md") {
			paths = append(paths, path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return paths
}

// TestDocumentsNameRealFlags holds every flag that a document for users names
// against the commands.
func TestDocumentsNameRealFlags(t *testing.T) {
	flags := map[string]bool{"help": true}
	var collect func(*cobra.Command)
	collect = func(cmd *cobra.Command) {
		cmd.Flags().VisitAll(func(f *pflag.Flag) { flags[f.Name] = true })
		for _, sub := range cmd.Commands() {
			collect(sub)
		}
	}
	collect(command.New(program()))
	ofOthers := []string{"build-arg", "read-only", "tmpfs", "compressed"} // docker's and curl's
	for name, fewest := range map[string]int{
		"README.md": 10, "api/README.md": 20, "api/command/README.md": 20, "musicxml/README.md": 3, "worker/README.md": 5,
	} {
		named := regexp.MustCompile(`--([a-z][a-z-]+)`).FindAllStringSubmatch(readText(t, name), -1)
		if len(named) < fewest {
			t.Errorf("%s names %d flags, fewer than %d; does the pattern still find them?", name, len(named), fewest)
		}
		for _, match := range named {
			if !flags[match[1]] && !slices.Contains(ofOthers, match[1]) {
				t.Errorf("%s names --%s, which no command has", name, match[1])
			}
		}
	}
}

func TestCommandLineNamesEveryCommand(t *testing.T) {
	const name = "api/command/README.md"
	document := readText(t, name)
	for _, cmd := range command.New(program()).Commands() {
		use := "`partwright " + strings.Replace(cmd.Use, "[flags] ", "", 1) + "`"
		if !builtIn(cmd) && !strings.Contains(document, use) {
			t.Errorf("the table of commands in %s lacks %s", name, use)
		}
	}
}

// builtIn tells the commands that the library adds.
func builtIn(cmd *cobra.Command) bool { return cmd.Name() == "help" || cmd.Name() == "completion" }

func TestMarksShowThePalette(t *testing.T) {
	const name = "musicxml/README.md"
	document := readText(t, name)
	for _, family := range partwriting.Families {
		words := strings.ReplaceAll(family.String(), "-", " ")
		row := regexp.MustCompile(`\| ` + words + ` \| ` + "`" + regexp.QuoteMeta(musicxml.SignOf(family)) + "`" + ` \| [a-z ]+ ` + "`" + musicxml.ColorOf(family) + "`" + ` \|`)
		if !row.MatchString(document) {
			t.Errorf("the palette in %s lacks a row for %s with %s and %s", name, words, musicxml.SignOf(family), musicxml.ColorOf(family))
		}
	}
}

// TestReportIsExplained wants every field of a finding and of the report in the
// document beside it, as they are in JSON.
func TestReportIsExplained(t *testing.T) {
	const name = "worker/README.md"
	document := readText(t, name)
	for _, value := range []any{report.Report{}, report.Finding{}} {
		for i := range reflect.TypeOf(value).NumField() {
			field, _, _ := strings.Cut(reflect.TypeOf(value).Field(i).Tag.Get("json"), ",")
			if !strings.Contains(document, "`"+field+"`") && !strings.Contains(document, "`"+field+"[]`") {
				t.Errorf("%s does not explain the field %s of %T", name, field, value)
			}
		}
	}
}

// TestLinksLead wants the file behind every link of every document, and the
// heading where the link names one.
func TestLinksLead(t *testing.T) {
	links := 0
	for _, name := range documents(t) {
		for _, link := range regexp.MustCompile(`\]\(([^)]+)\)`).FindAllStringSubmatch(readText(t, name), -1) {
			if strings.Contains(link[1], "://") {
				continue
			}
			links++
			path, heading, _ := strings.Cut(link[1], "#")
			target := name
			if path != "" {
				target = filepath.Join(filepath.Dir(name), path)
			}
			if _, err := os.Stat(target); err != nil {
				t.Errorf("%s links to %s: %v", name, link[1], err)
			} else if heading != "" && !slices.Contains(anchors(readText(t, target)), heading) {
				t.Errorf("%s links to %s: %s has no such heading", name, link[1], target)
			}
		}
	}
	if links < 20 {
		t.Errorf("%d links in all documents; does the pattern still find them?", links)
	}
}

// anchors returns what the headings of a document are called in links: lower
// case, blanks as hyphens, no punctuation (as GitHub renders them).
func anchors(document string) []string {
	var names []string
	for _, heading := range regexp.MustCompile(`(?m)^#+ (.+)$`).FindAllStringSubmatch(document, -1) {
		plain := regexp.MustCompile(`[^\pL\pN _-]`).ReplaceAllString(strings.ToLower(heading[1]), "")
		names = append(names, strings.ReplaceAll(plain, " ", "-"))
	}
	return names
}

// TestDevelopersKnowTheHouse wants every package in the guide for developers, and
// behind every file that it names a file.
func TestDevelopersKnowTheHouse(t *testing.T) {
	const name = "DEVELOPERS.md"
	named := map[string]bool{}
	for _, word := range regexp.MustCompile("`([^`\\s]+)`").FindAllStringSubmatch(readText(t, name), -1) {
		named[word[1]] = true
	}
	for _, p := range listPackages(t) {
		path := strings.TrimPrefix(p.ImportPath, "partwright/")
		if path != "partwright" && !named[path] && !named[filepath.Base(path)] {
			t.Errorf("%s lacks the package %s", name, path)
		}
	}
	var files []string
	err := filepath.WalkDir(".", func(path string, entry fs.DirEntry, err error) error {
		if entry != nil && entry.IsDir() && path == ".git" {
			return filepath.SkipDir
		}
		files = append(files, path)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	isFile := regexp.MustCompile(`^[\w*/.-]+\.(go|ya?ml|md|tsv|txtar|sql)$`)
	for word := range named {
		if !isFile.MatchString(word) {
			continue
		}
		if !slices.ContainsFunc(files, func(path string) bool {
			there, err := filepath.Match(word, lastElements(path, word))
			return err == nil && there
		}) {
			t.Errorf("%s names %s, which is nowhere", name, word)
		}
	}
}

// lastElements returns as many elements from the end of a path as a pattern has.
func lastElements(path, pattern string) string {
	elements := strings.Split(filepath.ToSlash(path), "/")
	return strings.Join(elements[max(0, len(elements)-1-strings.Count(pattern, "/")):], "/")
}
