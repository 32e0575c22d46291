package collection_test

import (
	"bytes"
	"context"
	"database/sql"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"sort"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"
	_ "modernc.org/sqlite"

	"partwright/worker"
	"partwright/worker/collection"
	"partwright/worker/report"
	"partwright/worker/request"
)

// The queries of README.md are asked of the tables in an SQL engine, and of the reports
// by a few lines each that know nothing of tables: the answers are the same.
func TestQueries(t *testing.T) {
	reports := map[string][]*report.Report{
		"class": check(t, "../../testdata/class/*.musicxml", 1),
		"made":  {hymn(), hymn()}, // two copies, with what is rare elsewhere
	}
	if chorales := check(t, "../../../shared/data/chorales-open/*.mxl", *every); len(chorales) > 0 {
		reports["chorales"] = chorales
		reports["others"] = chorales[len(chorales)/2:]
	} else {
		t.Log("../shared/data/chorales-open is not there: the queries are asked of the demo class alone")
	}
	db := load(t, reports)
	queries := readQueries(t)
	for name, want := range map[string][]string{
		"fifths": fifths(reports), "approaches": approaches(reports), "neapolitans": neapolitans(reports),
		"differs": differs(reports), "copies": copies(reports),
	} {
		query, ok := queries[name]
		if !ok {
			t.Errorf("README.md has no query %q", name)
			continue
		}
		delete(queries, name)
		got := ask(t, db, query)
		if len(want) == 0 && (name != "differs" || reports["chorales"] != nil) {
			t.Errorf("%s: there is no answer to it, so nothing is shown", name)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s, by the reports -, by the tables +:\n%s", name, diff)
		}
	}
	for name := range queries {
		t.Errorf("nothing is known about the query %q", name)
	}
}

var every = flag.Int("chorales-every", 8, "ask the queries of every so manieth chorale")

// check checks scores with the analysis.
func check(t *testing.T, pattern string, step int) (reports []*report.Report) {
	t.Helper()
	paths, _ := filepath.Glob(pattern)
	var asked request.Check
	if err := request.Bind(&asked, request.Values{"analysis": {Text: "true"}}); err != nil {
		t.Fatal(err)
	}
	plan, err := asked.Plan()
	if err != nil {
		t.Fatal(err)
	}
	engine := &worker.Engine{Version: "test"}
	for i := 0; i < len(paths); i += step {
		data, err := os.ReadFile(paths[i])
		if err != nil {
			t.Fatal(err)
		}
		a, err := engine.Do(context.Background(), worker.Input{Name: filepath.Base(paths[i]), Data: data}, plan)
		if err != nil {
			t.Fatal(err)
		}
		reports = append(reports, a.Report.(*report.Report))
	}
	return reports
}

// load writes the tables of each collection, reads them back, and puts their rows into a
// database.
func load(t *testing.T, reports map[string][]*report.Report) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", ":memory:")
	if err != nil {
		t.Fatal(err)
	}
	db.SetMaxOpenConns(1)
	t.Cleanup(func() { _ = db.Close() })
	for batch, all := range reports {
		files, to := map[string]*bytes.Buffer{}, map[string]io.Writer{}
		for _, name := range collection.Names {
			files[name] = &bytes.Buffer{}
			to[name] = files[name]
		}
		tables := collection.Open(collection.Origin{Engine: "test", Batch: batch}, to)
		for _, r := range all {
			if err := tables.Report(r); err != nil {
				t.Fatal(err)
			}
		}
		if err := tables.Close(); err != nil {
			t.Fatal(err)
		}
		for name, file := range files {
			insert(t, db, name, file)
		}
	}
	return db
}

// insert puts the rows of a table, read without knowing their Go types, into a database.
func insert(t *testing.T, db *sql.DB, table string, file *bytes.Buffer) {
	t.Helper()
	f, err := parquet.OpenFile(bytes.NewReader(file.Bytes()), int64(file.Len()))
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, column := range f.Schema().Columns() {
		names = append(names, column[0])
	}
	exec := func(statement string, values ...any) {
		if _, err := db.Exec(statement, values...); err != nil {
			t.Fatal(err)
		}
	}
	exec("CREATE TABLE IF NOT EXISTS " + table + " (" + strings.Join(names, ", ") + ")")
	exec("BEGIN")
	marks := strings.TrimSuffix(strings.Repeat("?,", len(names)), ",")
	rows := parquet.NewReader(f)
	for row := make([]parquet.Row, 1); ; {
		n, err := rows.ReadRows(row)
		if n == 1 {
			values := make([]any, len(names))
			for i, v := range row[0] {
				switch v.Kind() {
				case parquet.ByteArray:
					values[i] = string(v.ByteArray())
				case parquet.Boolean:
					values[i] = v.Boolean()
				case parquet.Double:
					values[i] = v.Double()
				default:
					values[i] = v.Int64()
				}
			}
			exec("INSERT INTO "+table+" VALUES ("+marks+")", values...)
		}
		if err != nil {
			break
		}
	}
	exec("COMMIT")
}

// ask returns the rows of an answer, their values separated by bars.
func ask(t *testing.T, db *sql.DB, query string) (answer []string) {
	t.Helper()
	rows, err := db.Query(query)
	if err != nil {
		t.Fatalf("%s: %v", query, err)
	}
	defer func() { _ = rows.Close() }()
	columns, _ := rows.Columns()
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
		answer = append(answer, strings.Join(texts, "|"))
	}
	return answer
}

var queryBlock = regexp.MustCompile("(?s)-- (\\w+):[^\n]*\n(.*?);")

// readQueries are those of README.md, by the word that each begins with.
func readQueries(t *testing.T) map[string]string {
	t.Helper()
	text, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]string{}
	for _, m := range queryBlock.FindAllStringSubmatch(string(text), -1) {
		found[m[1]] = m[2]
	}
	return found
}

// batches are the names of collections in order.
func batches(reports map[string][]*report.Report) []string {
	var names []string
	for name := range reports {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

func fifths(reports map[string][]*report.Report) (rows []string) {
	for _, batch := range batches(reports) {
		for _, r := range reports[batch] {
			for _, f := range r.Findings {
				if f.Rule == "parallel-fifths" && reflect.DeepEqual(f.Voices, []string{"S", "B"}) && strings.HasSuffix(f.Key, "minor") {
					rows = append(rows, fmt.Sprintf("%s|%s|%s|%v|%s", batch, r.File, f.Measure, f.Beat, f.Key))
				}
			}
		}
	}
	return rows
}

func neapolitans(reports map[string][]*report.Report) (rows []string) {
	for _, batch := range batches(reports) {
		for _, r := range reports[batch] {
			for _, h := range r.Analysis.Harmonies {
				if h.Numeral == "N6" {
					rows = append(rows, fmt.Sprintf("%s|%s|%s|%v|%s", batch, r.File, h.Measure, h.Beat, h.Key))
				}
			}
		}
	}
	return rows
}

// counted are counts as rows, the greatest first, then by name.
func counted(counts map[string]int, most int) (rows []string) {
	for name := range counts {
		rows = append(rows, name)
	}
	sort.Slice(rows, func(i, j int) bool {
		if counts[rows[i]] != counts[rows[j]] {
			return counts[rows[i]] > counts[rows[j]]
		}
		return rows[i] < rows[j]
	})
	rows = rows[:min(most, len(rows))]
	for i, name := range rows {
		rows[i] = fmt.Sprintf("%s|%d", name, counts[name])
	}
	return rows
}

func approaches(reports map[string][]*report.Report) []string {
	counts := map[string]int{}
	for _, all := range reports {
		for _, r := range all {
			for _, c := range r.Analysis.Cadences {
				if c.Kind != "DC" {
					continue
				}
				before, found := "", ""
				for _, h := range r.Analysis.Harmonies {
					if h.Onset == c.Onset {
						break
					}
					if h.Numeral == c.From && h.Key == c.Key {
						found = before
					}
					if before = ""; h.Key == c.Key {
						before = h.Numeral
					}
				}
				counts[strings.Join([]string{r.Score.Composer, found, c.From, c.To}, "|")]++
			}
		}
	}
	return counted(counts, 10)
}

func differs(reports map[string][]*report.Report) []string {
	rate := func(batch string) (map[string]float64, float64) {
		counts, measures := map[string]float64{}, 0.0
		for _, r := range reports[batch] {
			measures += float64(r.Score.Measures)
			for _, f := range r.Findings {
				counts[f.Rule]++
			}
		}
		return counts, measures
	}
	one, inOne := rate("chorales")
	other, inOther := rate("class")
	if inOne == 0 {
		return nil // the query compares with the chorales
	}
	best, name := -1.0, ""
	for _, counts := range []map[string]float64{one, other} {
		for rule := range counts {
			if d := 1000*one[rule]/inOne - 1000*other[rule]/inOther; d*d > best*best || d*d == best*best && rule < name {
				best, name = d, rule
			}
		}
	}
	return []string{fmt.Sprintf("%s|%.0f|%.0f", name, 1000*one[name]/inOne, 1000*other[name]/inOther)}
}

func copies(reports map[string][]*report.Report) []string {
	counts := map[string]int{}
	for _, all := range reports {
		for _, r := range all {
			counts[r.Identity.Shape]++
		}
	}
	for shape, n := range counts {
		if n < 2 {
			delete(counts, shape)
		}
	}
	return counted(counts, len(counts))
}
