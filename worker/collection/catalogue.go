package collection

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/parquet-go/parquet-go"
)

// CatalogueTable is the name of the table of a collection's catalogue.
const CatalogueTable = "catalogue"

// Catalogue says of files what their owner knows of them: dates, licences, sources. Its
// rows are written for the scores that come, joined with them by batch and score.
type Catalogue struct {
	// columns are the names but that of the file, in the order of the table's: by name.
	columns []string
	// of are the values by path, in the same order.
	of   map[string][]string
	used map[string]bool
}

// ReadCatalogue reads CSV (RFC 4180): a head with the names of columns, one of them
// "file", then a line a file. An error says which line is wrong.
func ReadCatalogue(text []byte) (*Catalogue, error) {
	in := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, []byte("\ufeff"))))
	head, err := in.Read()
	if errors.Is(err, io.EOF) {
		return nil, errors.New("the catalogue is empty: its first line has the names of columns, one of them file")
	}
	if err != nil {
		return nil, fmt.Errorf("the catalogue is no CSV: %w", err)
	}
	for i, name := range head {
		switch {
		case strings.TrimSpace(name) == "":
			return nil, fmt.Errorf("line 1 of the catalogue: column %d has no name", i+1)
		case name == "batch" || name == "score":
			return nil, fmt.Errorf("line 1 of the catalogue: the column %s is written for every score; give yours another name", name)
		case slices.Contains(head[:i], name):
			return nil, fmt.Errorf("line 1 of the catalogue: two columns have the name %q", name)
		}
	}
	at := slices.Index(head, "file")
	if at < 0 {
		return nil, fmt.Errorf("line 1 of the catalogue: there is no column file among %s", strings.Join(head, ", "))
	}
	c := &Catalogue{of: map[string][]string{}, used: map[string]bool{}}
	c.columns = slices.Sorted(slices.Values(slices.Concat(head[:at], head[at+1:])))
	for {
		fields, err := in.Read()
		if errors.Is(err, io.EOF) {
			return c, nil
		}
		if err != nil {
			return nil, fmt.Errorf("the catalogue is no CSV: %w", err)
		}
		line, _ := in.FieldPos(at)
		file := fields[at]
		if c.of[file] != nil {
			return nil, fmt.Errorf("line %d of the catalogue: there is an earlier line for %q", line, file)
		}
		values := make([]string, len(c.columns))
		for i, name := range head {
			if i != at {
				values[slices.Index(c.columns, name)] = fields[i]
			}
		}
		c.of[file] = values
	}
}

// Columns are the names of the columns but that of the file, in order.
func (c *Catalogue) Columns() []string { return slices.Clone(c.columns) }

// Longer finds a value of more bytes: of which file, in which column; "" for none.
func (c *Catalogue) Longer(bytes int) (file, column string) {
	for file, values := range c.of {
		for i, value := range values {
			if len(value) > bytes {
				return file, c.columns[i]
			}
		}
	}
	return "", ""
}

// Of returns the values for a file, one for each of [Catalogue.Columns]: those of its path,
// or of as much of its end as the catalogue names; nil for none.
func (c *Catalogue) Of(file string) []string {
	for path, more := file, true; more; _, path, more = strings.Cut(path, "/") {
		if values := c.of[path]; values != nil {
			c.used[path] = true
			return values
		}
	}
	return nil
}

// Unused lists the files of the catalogue for which no score came, in order.
func (c *Catalogue) Unused() []string {
	var unused []string
	for file := range c.of {
		if !c.used[file] {
			unused = append(unused, file)
		}
	}
	slices.Sort(unused)
	return unused
}

// catalogueTable writes the rows of a catalogue. A column is text; parquet puts the
// columns of a schema that is made at run time in the order of their names.
type catalogueTable struct {
	catalogue *Catalogue
	origin    Origin
	names     []string
	to        *parquet.GenericWriter[any]
	rows      int64
}

func openCatalogue(origin Origin, c *Catalogue, w io.Writer) *catalogueTable {
	columns := parquet.Group{"batch": parquet.String(), "score": parquet.Leaf(parquet.Int64Type), "file": parquet.String()}
	for _, name := range c.columns {
		columns[name] = parquet.String()
	}
	t := &catalogueTable{catalogue: c, origin: origin}
	for name := range columns {
		t.names = append(t.names, name)
	}
	slices.Sort(t.names)
	t.to = parquet.NewGenericWriter[any](w, parquet.NewSchema(CatalogueTable, columns),
		parquet.Compression(&parquet.Zstd), parquet.CreatedBy("partwright", origin.Engine, ""))
	return t
}

// add writes what is known of a score, if anything is.
func (t *catalogueTable) add(number int64, file string) error {
	values := t.catalogue.Of(file)
	if values == nil {
		return nil
	}
	row := make(parquet.Row, len(t.names))
	for i, name := range t.names {
		var value parquet.Value
		switch name {
		case "batch":
			value = parquet.ValueOf(t.origin.Batch)
		case "score":
			value = parquet.ValueOf(number)
		case "file":
			value = parquet.ValueOf(file)
		default:
			value = parquet.ValueOf(values[slices.Index(t.catalogue.columns, name)])
		}
		row[i] = value.Level(0, 0, i)
	}
	t.rows++
	_, err := t.to.WriteRows([]parquet.Row{row})
	return err
}

func (t *catalogueTable) describe() TableInfo {
	info := TableInfo{Name: CatalogueTable, Rows: t.rows}
	for _, name := range t.names {
		switch name {
		case "batch":
			info.Columns = append(info.Columns, Column{name, "text", "the collection or batch"})
		case "score":
			info.Columns = append(info.Columns, Column{name, "integer", "the number of the score in it, from 1"})
		case "file":
			info.Columns = append(info.Columns, Column{name, "text", "the name the score came under"})
		default:
			info.Columns = append(info.Columns, Column{name, "text", "as the catalogue says it"})
		}
	}
	return info
}
