package command

import (
	"encoding/json"
	"fmt"
	"io"
	"reflect"
	"strconv"
	"strings"

	"partwright/worker/report"
	"partwright/worker/store"
)

// foundOutput prints rows as they are found, or counts of them.
type foundOutput interface {
	row(row any) error
	counts(*store.FoundCounts) error
	close() error
}

func newFoundOutput(w io.Writer, format, kind string, by []string) (foundOutput, error) {
	switch format {
	case "table":
		return &foundTable{w: w, width: widthOf(w), kind: kind}, nil
	case "ndjson":
		out := json.NewEncoder(w)
		out.SetEscapeHTML(false)
		return foundLines{out}, nil
	case "csv":
		columns := foundNames(reflect.TypeOf(foundRow(kind)))
		if by != nil {
			columns = countNames(kind, by)
		}
		return foundSpreadsheet{report.NewSpreadsheet(w, columns), kind}, nil
	}
	return nil, fmt.Errorf("--format %s: say table, ndjson or csv", format)
}

// foundRow is an empty row of a kind.
func foundRow(kind string) any {
	switch kind {
	case store.FoundScores:
		return store.FoundScore{}
	case store.FoundFindings:
		return store.FoundFinding{}
	}
	return store.FoundHarmony{}
}

// foundNames are the columns of a row, named as in JSON.
func foundNames(row reflect.Type) (names []string) {
	for f := range row.Fields() {
		if f.Anonymous {
			names = append(names, foundNames(f.Type)...)
		} else {
			names = append(names, f.Tag.Get("json"))
		}
	}
	return names
}

// foundCells are the values of a row in the order of [foundNames].
func foundCells(row reflect.Value) (cells []string) {
	for f, value := range row.Fields() {
		switch v := value.Interface().(type) {
		case string:
			cells = append(cells, v)
		case int64:
			cells = append(cells, strconv.FormatInt(v, 10))
		case float64:
			cells = append(cells, strconv.FormatFloat(v, 'f', -1, 64))
		case []string:
			cells = append(cells, strings.Join(v, " "))
		default:
			if f.Anonymous {
				cells = append(cells, foundCells(value)...)
			}
		}
	}
	return cells
}

// countNames are the columns of counts; scores are counted with their measures.
func countNames(kind string, by []string) []string {
	names := append([]string{}, by...)
	if kind == store.FoundScores {
		names = append(names, "measures")
	}
	return append(names, "count")
}

func countCells(kind string, g *store.FoundGroup) []string {
	cells := append([]string{}, g.Values...)
	if kind == store.FoundScores {
		cells = append(cells, strconv.FormatInt(g.Measures, 10))
	}
	return append(cells, strconv.FormatInt(g.Count, 10))
}

// foundLines are rows, or groups, as JSON, one a line.
type foundLines struct{ out *json.Encoder }

func (l foundLines) row(row any) error { return l.out.Encode(row) }
func (l foundLines) close() error      { return nil }
func (l foundLines) counts(c *store.FoundCounts) error {
	for i := range c.Groups {
		if err := l.out.Encode(&c.Groups[i]); err != nil {
			return err
		}
	}
	return nil
}

// foundSpreadsheet are the same as CSV.
type foundSpreadsheet struct {
	out  *report.Spreadsheet
	kind string
}

func (s foundSpreadsheet) row(row any) error {
	return s.out.Write(foundCells(reflect.ValueOf(row).Elem()))
}
func (s foundSpreadsheet) close() error { return s.out.Write() }
func (s foundSpreadsheet) counts(c *store.FoundCounts) error {
	for i := range c.Groups {
		if err := s.out.Write(countCells(s.kind, &c.Groups[i])); err != nil {
			return err
		}
	}
	return s.out.Write()
}

// mostInTable is how many rows a table has: what is found is printed as it comes.
const mostInTable = 200

// foundTable prints a table for each score with findings or harmonies, and tables of
// several scores.
type foundTable struct {
	w     io.Writer
	width int
	kind  string
	in    store.FoundIn // the score of the rows
	rows  [][]string
}

func (t *foundTable) row(row any) error {
	switch r := row.(type) {
	case *store.FoundScore:
		about := []string{r.File}
		for _, more := range []string{r.Title, r.Composer, r.Problem} {
			if more != "" {
				about = append(about, more)
			}
		}
		return t.add(store.FoundIn{Batch: r.Batch}, r.Batch+" "+strconv.FormatInt(r.Number, 10), r.Key, r.Texture,
			strconv.FormatInt(r.Measures, 10), strconv.FormatInt(r.Faults, 10), strings.Join(about, "\n"))
	case *store.FoundFinding:
		return t.add(r.FoundIn, strconv.FormatInt(r.Position, 10), r.Measure, beat(r.Beat), r.Voices, strings.TrimSpace(r.Key+" "+r.Numeral), r.Severity, r.Rule)
	case *store.FoundHarmony:
		return t.add(r.FoundIn, strconv.FormatInt(r.Position, 10), r.Measure, beat(r.Beat), r.Key, strings.Join(r.Before, " "), r.Numeral, r.Cadence)
	}
	return nil
}

func beat(b float64) string { return strconv.FormatFloat(b, 'f', -1, 64) }

// foundHeads are the columns of tables.
var foundHeads = map[string][]string{
	store.FoundScores:    {"score", "key", "texture", "m.", "faults", "file, title, composer"},
	store.FoundFindings:  {"#", "m.", "beat", "voices", "harmony", "severity", "rule"},
	store.FoundHarmonies: {"#", "m.", "beat", "key", "before", "numeral", "cadence"},
}

func (t *foundTable) add(in store.FoundIn, cells ...string) error {
	if len(t.rows) > 0 && (in != t.in || len(t.rows) == mostInTable) {
		if err := t.flush(); err != nil {
			return err
		}
	}
	t.in = in
	t.rows = append(t.rows, cells)
	return nil
}

// flush prints the table.
func (t *foundTable) flush() error {
	heading := ""
	if t.in.File != "" {
		heading = fmt.Sprintf("%s %d: %s", t.in.Batch, t.in.Number, t.in.File)
		if t.in.Title != "" {
			heading += " “" + t.in.Title + "”"
		}
		if t.in.Composer != "" {
			heading += ", " + t.in.Composer
		}
		heading = wrap(heading, t.width) + "\n"
	}
	_, err := fmt.Fprintf(t.w, "%s%s\n", heading, grid(t.width, foundHeads[t.kind], t.rows))
	t.rows = t.rows[:0]
	return err
}

func (t *foundTable) close() error {
	if len(t.rows) == 0 {
		return nil
	}
	return t.flush()
}

func (t *foundTable) counts(c *store.FoundCounts) error {
	if len(c.Groups) == 0 {
		return nil
	}
	rows := make([][]string, len(c.Groups))
	for i := range c.Groups {
		rows[i] = countCells(t.kind, &c.Groups[i])
	}
	_, err := fmt.Fprintln(t.w, grid(t.width, countNames(t.kind, c.By), rows))
	return err
}
