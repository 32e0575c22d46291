package collection

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"github.com/parquet-go/parquet-go"

	"partwright/worker/report"
)

// Version is that of the tables' columns. It is raised when a column changes its meaning
// or goes; a new column leaves it as it is.
const Version = 1

// rowsInGroup bounds what a table holds in memory before it is written.
const rowsInGroup = 50_000

// Origin says where the rows come from.
type Origin struct {
	// Engine is the version that writes the tables; each score says which version
	// answered it.
	Engine string `json:"engine"`
	// Batch is the name of the collection or the id of the batch.
	Batch string `json:"batch"`
}

// Tables writes answers as rows. It is a [report.Encoder] of checks, which numbers the
// scores in the order in which they come; other reports have no rows.
type Tables struct {
	origin    Origin
	scores    *table[Score]
	findings  *table[Finding]
	harmonies *table[Harmony]
	cadences  *table[Cadence]
	catalogue *catalogueTable // nil for none
	number    int64
}

// Open begins tables. Each table for which to has a writer is written there, as it comes;
// it is whole after [Tables.Close].
func Open(origin Origin, to map[string]io.Writer) *Tables {
	return &Tables{
		origin: origin,
		scores: open[Score](origin, Scores, to), findings: open[Finding](origin, Findings, to),
		harmonies: open[Harmony](origin, Harmonies, to), cadences: open[Cadence](origin, Cadences, to),
	}
}

// With writes the rows of a catalogue as well, to w, for the scores that come from now on.
func (t *Tables) With(c *Catalogue, w io.Writer) { t.catalogue = openCatalogue(t.origin, c, w) }

// known writes what the catalogue says of a file.
func (t *Tables) known(number int64, file string) error {
	if t.catalogue == nil {
		return nil
	}
	return t.catalogue.add(number, file)
}

// Report adds the answer to the next score.
func (t *Tables) Report(said any) error {
	t.number++
	r, ok := said.(*report.Report)
	if !ok {
		return nil
	}
	return t.Add(t.number, r)
}

// Failure adds the next score, which has no answer.
func (t *Tables) Failure(f *report.Failure) error {
	t.number++
	return t.AddFailure(t.number, f)
}

// Add adds the answer to a score with a number.
func (t *Tables) Add(number int64, r *report.Report) error {
	all := RowsOf(t.origin.Batch, number, r)
	return errors.Join(
		t.scores.add([]Score{all.Score}), t.findings.add(all.Findings),
		t.harmonies.add(all.Harmonies), t.cadences.add(all.Cadences), t.known(number, r.File))
}

// AddFailure adds a score with a number that has no answer.
func (t *Tables) AddFailure(number int64, f *report.Failure) error {
	return errors.Join(t.scores.add([]Score{failureRow(t.origin.Batch, number, t.origin.Engine, f)}), t.known(number, f.File))
}

// Close ends the tables; the writers stay open.
func (t *Tables) Close() error {
	err := errors.Join(t.scores.close(), t.findings.close(), t.harmonies.close(), t.cadences.close())
	if t.catalogue != nil {
		err = errors.Join(err, t.catalogue.to.Close())
	}
	return err
}

// Manifest describes the tables that were written, with how many rows they have.
func (t *Tables) Manifest() *Manifest {
	m := &Manifest{Version: Version, Origin: t.origin}
	for _, d := range []description{t.scores, t.findings, t.harmonies, t.cadences} {
		m.Tables = append(m.Tables, d.describe())
	}
	if t.catalogue != nil {
		m.Tables = append(m.Tables, t.catalogue.describe())
	}
	return m
}

// table is one table; without a writer it only counts.
type table[Row any] struct {
	name   string
	to     *parquet.GenericWriter[Row]
	rows   int64
	inside int // rows of the group that is not written yet
}

func open[Row any](origin Origin, name string, to map[string]io.Writer) *table[Row] {
	t := &table[Row]{name: name}
	if w := to[name]; w != nil {
		t.to = parquet.NewGenericWriter[Row](w,
			parquet.Compression(&parquet.Zstd), parquet.CreatedBy("partwright", origin.Engine, ""),
			parquet.KeyValueMetadata("partwright.table", fmt.Sprintf("%s %d", name, Version)))
	}
	return t
}

func (t *table[Row]) add(rows []Row) error {
	t.rows += int64(len(rows))
	if t.to == nil || len(rows) == 0 {
		return nil
	}
	_, err := t.to.Write(rows)
	if t.inside += len(rows); err == nil && t.inside >= rowsInGroup {
		t.inside = 0
		err = t.to.Flush()
	}
	return err
}

func (t *table[Row]) close() error {
	if t.to == nil {
		return nil
	}
	return t.to.Close()
}

// Manifest says what tables hold, as JSON beside them.
type Manifest struct {
	Version int `json:"version"`
	Origin
	Tables []TableInfo `json:"tables"`
}

// TableInfo describes one table.
type TableInfo struct {
	Name    string   `json:"name"`
	Rows    int64    `json:"rows"`
	Columns []Column `json:"columns"`
}

// JSON is the manifest, set out to be read.
func (m *Manifest) JSON() ([]byte, error) {
	text, err := json.MarshalIndent(m, "", "  ")
	return append(text, '\n'), err
}
