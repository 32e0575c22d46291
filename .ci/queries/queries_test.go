package queries

import (
	"archive/zip"
	"bytes"
	"database/sql"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	_ "github.com/duckdb/duckdb-go/v2"
)

var scores = flag.Int("scores", 0, "ask so many scores, copies of those that lie beside the project under other titles (0: the demo class)")

// collections are the two that are asked; a query compares them.
var collections = []string{"chorales", "class"}

// The queries of the documents, asked of the tables, and over HTTP, have the answers that
// the reports give.
func TestQueries(t *testing.T) {
	dir := t.TempDir()
	program := filepath.Join(dir, "partwright")
	run(t, "../..", "go", "build", "-buildvcs=false", "-o", program, ".")
	n := collect(t, dir)
	start := time.Now()
	for _, name := range collections {
		run(t, dir, program, "check", "--quiet", "--analysis", "--out", "answers-"+name, "--tables", name, "--catalogue", name+".csv", name)
	}
	t.Logf("%d scores checked in %v", n, time.Since(start).Round(time.Second))

	start = time.Now()
	want := byReports(t, dir)
	t.Logf("the reports read and all answers found in them in %v", time.Since(start).Round(10*time.Millisecond))

	db := open(t, dir)
	queries := readQueries(t)
	service := serve(t, dir, program)
	for _, name := range []string{"fifths", "approaches", "neapolitans", "differs"} {
		start := time.Now()
		tables := ask(t, db, queries[name])
		byTables := time.Since(start)
		start = time.Now()
		answered := service.ask(name)
		byService := time.Since(start)
		t.Logf("%-12s %5d rows: tables %v, HTTP %v", name, len(want[name]), byTables.Round(time.Millisecond), byService.Round(time.Millisecond))
		same(t, name+" by the tables", tables, want[name])
		same(t, name+" over HTTP", answered, want[name])
		if *scores > 0 && len(want[name]) == 0 {
			t.Errorf("%s: nothing answers it, so nothing is shown", name)
		}
	}
	// What no service is asked for: the tables alone.
	for _, name := range []string{"copies"} {
		same(t, name, ask(t, db, queries[name]), want[name])
	}
}

func same(t *testing.T, what string, got, want []string) {
	t.Helper()
	if slices.Equal(got, want) {
		return
	}
	t.Errorf("%s: %d rows, the reports have %d", what, len(got), len(want))
	for i := range max(len(got), len(want)) {
		var one, other string
		if i < len(got) {
			one = got[i]
		}
		if i < len(want) {
			other = want[i]
		}
		if one != other {
			t.Errorf("first at row %d: %q, want %q", i+1, one, other)
			return
		}
	}
}

func run(t *testing.T, dir, program string, args ...string) {
	t.Helper()
	command := exec.Command(program, args...)
	command.Dir = dir
	if out, err := command.CombinedOutput(); err != nil {
		t.Fatalf("%s %v: %v\n%.2000s", program, args, err, out)
	}
}

// title is that of a document; MusicXML 4.0 has two places for one.
var title = regexp.MustCompile(`<(work|movement)-title>[^<]*`)

// collect lays out two folders of scores with a catalogue each, and returns how many there
// are. Copies have other titles, so that no two are the same bytes.
func collect(t *testing.T, dir string) int {
	t.Helper()
	demo := read(t, "../../testdata/class/*.musicxml")
	sources := map[string][][]byte{"chorales": demo, "class": demo}
	each := len(demo)
	if *scores > 0 {
		each = *scores / 2
		for name, patterns := range map[string][]string{
			"chorales": {"chorales-open/*.mxl"}, "class": {"repertoire/*.mxl", "textbooks/*.mxl", "mutants/*.mxl"},
		} {
			var found [][]byte
			for _, pattern := range patterns {
				found = append(found, read(t, "../../../shared/data/"+pattern)...)
			}
			if len(found) == 0 {
				t.Skipf("../shared/data/%s is not there", patterns[0])
			}
			sources[name] = found
		}
	}
	for _, name := range collections {
		if err := os.Mkdir(filepath.Join(dir, name), 0o750); err != nil {
			t.Fatal(err)
		}
		catalogue := "file,decade\n"
		for i := range each {
			text := sources[name][i%len(sources[name])]
			text = title.ReplaceAll(text, fmt.Appendf(nil, "<$1-title>Copy %d", i))
			text = fmt.Appendf(text, "<!-- %d -->", i)
			file := fmt.Sprintf("%05d.musicxml", i)
			catalogue += fmt.Sprintf("%s,%d\n", file, 1700+10*(i%7))
			if err := os.WriteFile(filepath.Join(dir, name, file), text, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		if err := os.WriteFile(filepath.Join(dir, name+".csv"), []byte(catalogue), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return each * len(collections)
}

// read reads the documents of scores, out of their containers.
func read(t *testing.T, pattern string) (all [][]byte) {
	t.Helper()
	paths, err := filepath.Glob(pattern)
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range paths {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.HasPrefix(data, []byte("PK")) {
			data = unpack(t, data)
		}
		all = append(all, data)
	}
	return all
}

// unpack returns the first document in a container that is not about the container.
func unpack(t *testing.T, data []byte) []byte {
	t.Helper()
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range archive.File {
		if strings.HasPrefix(f.Name, "META-INF/") || !strings.HasSuffix(f.Name, "xml") {
			continue
		}
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(in)
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	t.Fatal("there is no document in a container")
	return nil
}

// open names the tables.
func open(t *testing.T, dir string) *sql.DB {
	t.Helper()
	db, err := sql.Open("duckdb", "")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	for _, table := range []string{"scores", "findings", "harmonies", "cadences", "catalogue"} {
		view := fmt.Sprintf("CREATE VIEW %s AS SELECT * FROM '%s/answers-*/tables/*/*/%s.parquet'", table, dir, table)
		if _, err := db.Exec(view); err != nil {
			t.Fatal(err)
		}
	}
	return db
}

// readQueries reads the queries of the documents, by the names before them. The commonest
// approaches are asked for by a column of the catalogue as well as by composer.
func readQueries(t *testing.T) map[string]string {
	t.Helper()
	text, err := os.ReadFile("../../worker/collection/README.md")
	if err != nil {
		t.Fatal(err)
	}
	queries := map[string]string{}
	for _, q := range regexp.MustCompile(`(?m)^-- (\w+): .*\n(SELECT .*);$`).FindAllStringSubmatch(string(text), -1) {
		queries[q[1]] = q[2]
	}
	if len(queries) < 5 {
		t.Fatalf("%d queries in the documents", len(queries))
	}
	queries["approaches"] = strings.NewReplacer("composer", "decade", "scores USING", "catalogue USING").Replace(queries["approaches"])
	return queries
}

// ask returns the rows of a query as texts.
func ask(t *testing.T, db *sql.DB, query string) (all []string) {
	t.Helper()
	rows, err := db.Query(query)
	if err != nil {
		t.Fatalf("%v\n%s", err, query)
	}
	defer func() { _ = rows.Close() }()
	columns, err := rows.Columns()
	if err != nil {
		t.Fatal(err)
	}
	for rows.Next() {
		values, into := make([]any, len(columns)), make([]any, len(columns))
		for i := range values {
			into[i] = &values[i]
		}
		if err := rows.Scan(into...); err != nil {
			t.Fatal(err)
		}
		texts := make([]string, len(values))
		for i, v := range values {
			texts[i] = fmt.Sprint(v)
		}
		all = append(all, strings.Join(texts, "|"))
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return all
}
