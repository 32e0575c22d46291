package command

import (
	"errors"
	"fmt"
	"io"

	"partwright/theory/partwriting"
	"partwright/worker/collection"
	"partwright/worker/files"
	"partwright/worker/report"
)

// output is where the answers of a run are printed.
type output = report.Encoder

// newOutput prints findings.
func newOutput(w io.Writer, format string, quiet bool, catalog *partwriting.Catalog) (output, error) {
	switch format {
	case "csv":
		return report.EncodeCSV(w), nil
	case "scores":
		return collection.EncodeScoresCSV(w), nil
	}
	if format == "table" && !quiet {
		return &tables{w: w, width: widthOf(w), catalog: catalog, words: &catalog.Table}, nil
	}
	o, err := newDocument(w, format, silent{})
	if err != nil {
		return nil, fmt.Errorf("--format %s: say table, json, ndjson, csv or scores", format)
	}
	return o, nil
}

// newDocument prints reports of any job as JSON, or as a table.
func newDocument(w io.Writer, format string, table output) (output, error) {
	switch format {
	case "json":
		return report.EncodeJSON(w), nil
	case "ndjson":
		return report.EncodeNDJSON(w), nil
	case "table":
		return table, nil
	}
	return nil, fmt.Errorf("--format %s: say table, json or ndjson", format)
}

// printed is a table that a function prints for each report.
type printed func(any) error

// Report implements [report.Encoder].
func (p printed) Report(r any) error { return p(r) }

// Failure implements [report.Encoder]: the console names it.
func (p printed) Failure(*report.Failure) error { return nil }

// Close implements [report.Encoder].
func (p printed) Close() error { return nil }

// both prints on one output and adds to another.
type both struct{ output, also output }

// Report implements [report.Encoder].
func (b both) Report(r any) error { return errors.Join(b.output.Report(r), b.also.Report(r)) }

// Failure implements [report.Encoder].
func (b both) Failure(f *report.Failure) error {
	return errors.Join(b.output.Failure(f), b.also.Failure(f))
}

// Close implements [report.Encoder].
func (b both) Close() error { return errors.Join(b.output.Close(), b.also.Close()) }

// openTables begins the tables of a collection in the folder for answers.
func openTables(out *files.OutDir, version, name string, catalogue *collection.Catalogue) (*collection.Folder, error) {
	tables, err := collection.OpenFolder(out, collection.Origin{Engine: version, Batch: name}, catalogue)
	if err != nil {
		return nil, Failed(fmt.Errorf("the tables could not be written: %w", err))
	}
	return tables, nil
}

// silent prints nothing.
type silent struct{}

// Report implements [report.Encoder].
func (silent) Report(any) error { return nil }

// Failure implements [report.Encoder].
func (silent) Failure(*report.Failure) error { return nil }

// Close implements [report.Encoder].
func (silent) Close() error { return nil }
