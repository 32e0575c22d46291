// Command notices writes the licenses of everything that is linked into a release:
// our own, Go's and those of every module, each text once. It reads them from the
// module cache, in the versions of go.mod.
//
//	go run ./.ci/notices >api/command/licenses.txt
package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// systems are those of which releases are made; what is linked differs among them.
var systems = []string{"linux", "darwin", "windows"}

// legal names the files that hold a license or what it asks to be passed on.
var legal = regexp.MustCompile(`(?i)^(.+-)?(licen[cs]e|copying|notices?|patents)([-.].*)?$`)

// module is one that is linked, with the folders of its packages.
type module struct {
	path, version, dir string
	folders            []string
}

func (m module) String() string { return m.path + " " + m.version }

func main() {
	log.SetFlags(0)
	root, err := goSays(nil, "list", "-m", "-f", "{{.Dir}}")
	if err != nil {
		log.Fatal(err)
	}
	modules, err := linked(strings.TrimSpace(root))
	if err != nil {
		log.Fatal(err)
	}
	if err := write(os.Stdout, strings.TrimSpace(root), modules); err != nil {
		log.Fatal(err)
	}
}

// goSays runs the go command and returns what it prints.
func goSays(environment []string, args ...string) (string, error) {
	cmd := exec.Command("go", args...) // #nosec G204 -- the program's own words
	cmd.Env = append(os.Environ(), environment...)
	out, err := cmd.Output()
	if failed := (*exec.ExitError)(nil); errors.As(err, &failed) {
		return "", fmt.Errorf("go %s: %w\n%s", strings.Join(args, " "), err, failed.Stderr)
	}
	return string(out), err
}

// linked returns the modules that the program in root links on any system, by path.
// It builds without tags, which leaves nothing out.
func linked(root string) ([]module, error) {
	found := map[string]*module{}
	for _, system := range systems {
		out, err := goSays([]string{"GOOS=" + system, "GOARCH=amd64", "CGO_ENABLED=0"}, "-C", root, "list", "-deps",
			"-f", "{{$p := .}}{{with .Module}}{{if not .Main}}{{.Path}}\t{{.Version}}\t{{.Dir}}\t{{$p.Dir}}{{end}}{{end}}", ".")
		if err != nil {
			return nil, err
		}
		for line := range strings.Lines(out) {
			field := strings.Split(strings.TrimSuffix(line, "\n"), "\t")
			if len(field) != 4 {
				continue // a package of the standard library, or ours
			}
			m := found[field[0]]
			if m == nil {
				m = &module{path: field[0], version: field[1], dir: field[2]}
				found[field[0]] = m
			}
			if !slices.Contains(m.folders, field[3]) {
				m.folders = append(m.folders, field[3])
			}
		}
	}
	sorted := slices.SortedFunc(maps.Values(found), func(a, b *module) int { return strings.Compare(a.path, b.path) })
	var modules []module
	for _, m := range sorted {
		modules = append(modules, *m)
	}
	return modules, nil
}

// texts returns the legal files of a module by name: those at its top, and those
// beside the packages that are linked, up to the top.
func (m module) texts() (map[string]string, error) {
	texts := map[string]string{}
	for _, folder := range append(m.folders, m.dir) {
		for at := folder; strings.HasPrefix(at, m.dir); at = filepath.Dir(at) {
			entries, err := os.ReadDir(at)
			if err != nil {
				return nil, err
			}
			for _, entry := range entries {
				if !entry.Type().IsRegular() || !legal.MatchString(entry.Name()) || strings.HasSuffix(entry.Name(), ".go") {
					continue
				}
				text, err := fs.ReadFile(os.DirFS(at), entry.Name())
				if err != nil {
					return nil, err
				}
				texts[strings.TrimPrefix(filepath.Join(at, entry.Name()), m.dir+string(filepath.Separator))] = tidy(text)
			}
		}
	}
	if len(texts) == 0 {
		return nil, fmt.Errorf("%s comes without a license that this program finds", m)
	}
	return texts, nil
}

// tidy leaves out what differs between copies of a text: line ends and space at the
// end of lines.
func tidy(text []byte) string {
	var lines []string
	for line := range bytes.Lines(text) {
		lines = append(lines, strings.TrimRight(string(line), " \t\r\n\f"))
	}
	return strings.Trim(strings.Join(lines, "\n"), "\n")
}

// write prints our own license and notice, then each text of the others under the
// names of those it goes for.
func write(w io.Writer, root string, modules []module) error {
	var out bytes.Buffer
	for _, name := range []string{"NOTICE", "LICENSE"} {
		text, err := fs.ReadFile(os.DirFS(root), name)
		if err != nil {
			return err
		}
		fmt.Fprintf(&out, "%s\n\n", tidy(text))
	}
	var order []string
	goes := map[string][]string{}
	add := func(text, whose string) {
		if goes[text] == nil {
			order = append(order, text)
		}
		goes[text] = append(goes[text], whose)
	}
	goroot, err := goSays(nil, "env", "GOROOT")
	if err != nil {
		return err
	}
	for _, name := range []string{"LICENSE", "PATENTS"} {
		text, err := fs.ReadFile(os.DirFS(strings.TrimSpace(goroot)), name)
		if err != nil {
			return err
		}
		add(tidy(text), "Go's standard library ("+name+")")
	}
	for _, m := range modules {
		texts, err := m.texts()
		if err != nil {
			return err
		}
		for _, name := range slices.Sorted(maps.Keys(texts)) {
			add(texts[name], fmt.Sprintf("%s (%s)", m, filepath.ToSlash(name)))
		}
	}
	if err := addEngraver(root, add); err != nil {
		return err
	}
	for _, text := range order {
		fmt.Fprintf(&out, "%s\n%s\n%s\n\n%s\n\n", strings.Repeat("=", 78), strings.Join(goes[text], "\n"), strings.Repeat("=", 78), text)
	}
	_, err = w.Write(out.Bytes())
	return err
}

// addEngraver adds the texts that come with the engraver of the page, which is not linked
// but carried along, and what says its version and where its source is.
func addEngraver(root string, add func(text, whose string)) error {
	folder := os.DirFS(filepath.Join(root, "api", "page", "engraver"))
	for _, name := range []string{"README.md", "LGPL-3.0.txt", "GPL-3.0.txt", "OFL-1.1.txt"} {
		text, err := fs.ReadFile(folder, name)
		if err != nil {
			return err
		}
		add(tidy(text), "The engraver of the page ("+name+")")
	}
	return nil
}
