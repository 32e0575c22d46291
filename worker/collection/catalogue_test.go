package collection_test

import (
	"bytes"
	"io"
	"slices"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"

	"partwright/worker/collection"
	"partwright/worker/report"
)

// A catalogue is joined by the path of a file or by its end; what never came is said.
func TestCatalogueIsJoinedByPath(t *testing.T) {
	c, err := collection.ReadCatalogue([]byte("\ufefflicence,file,date\r\nCC0,hymn.musicxml,1724\nCC BY,a/b.mxl,\"1,725\"\nnone,other.mxl,\n"))
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	tables := collection.Open(collection.Origin{Engine: "test", Batch: "hymns"}, map[string]io.Writer{})
	tables.With(c, &out)
	for _, err := range []error{
		tables.Report(hymn()), tables.Failure(&report.Failure{File: "x/a/b.mxl"}), tables.Failure(&report.Failure{File: "b.mxl"}), tables.Close(),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	// What another reader of the format sees, by the names of columns.
	type row struct {
		Batch   string `parquet:"batch"`
		Score   int64  `parquet:"score"`
		File    string `parquet:"file"`
		Date    string `parquet:"date"`
		Licence string `parquet:"licence"`
	}
	rows, err := parquet.Read[row](bytes.NewReader(out.Bytes()), int64(out.Len()))
	want := []row{{"hymns", 1, "a/hymn.musicxml", "1724", "CC0"}, {"hymns", 2, "x/a/b.mxl", "1,725", "CC BY"}}
	if err != nil || !slices.Equal(rows, want) {
		t.Errorf("%v, %v", rows, err)
	}
	if unused := c.Unused(); !slices.Equal(unused, []string{"other.mxl"}) {
		t.Errorf("never came: %v", unused)
	}
	tablesOf := tables.Manifest().Tables
	if last := tablesOf[len(tablesOf)-1]; last.Name != "catalogue" || last.Rows != 2 || len(last.Columns) != 5 {
		t.Errorf("the manifest says %+v", last)
	}
}

func TestCataloguesThatCannotBeRead(t *testing.T) {
	for text, says := range map[string]string{
		"":                      "empty",
		"path,date\na,b\n":      "no column file",
		"file,date,date\n":      `two columns have the name "date"`,
		"file,\n":               "column 2 has no name",
		"file,score\n":          "the column score is written for every score",
		"file,date\na,1\na,2\n": `line 3 of the catalogue: there is an earlier line for "a"`,
		"file,date\na,1,2\n":    "line 2",
		"file,date\n\"a,1\n":    "line 2",
	} {
		if _, err := collection.ReadCatalogue([]byte(text)); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v", text, err)
		}
	}
}
