package report

import (
	"encoding/csv"
	"encoding/json"
	"io"
	"regexp"
	"strconv"
	"strings"

	"partwright/theory"
)

// Encoder writes the answers of a run, one score after the other: a [*Report], or a
// report of another job. Close ends the document.
type Encoder interface {
	Report(any) error
	Failure(*Failure) error
	Close() error
}

// EncodeNDJSON writes one JSON object a line: a [Report], or a [Failure] under
// the name "failure".
func EncodeNDJSON(w io.Writer) Encoder { return &lines{json: newJSON(w)} }

type lines struct{ json *json.Encoder }

type failed struct {
	Failure *Failure `json:"failure"`
}

func newJSON(w io.Writer) *json.Encoder {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	return e
}

func (l *lines) Report(r any) error       { return l.json.Encode(r) }
func (l *lines) Failure(f *Failure) error { return l.json.Encode(failed{f}) }
func (l *lines) Close() error             { return nil }

// EncodeLeanNDJSON writes the same without reason and source of findings, which are those
// of the rule.
func EncodeLeanNDJSON(w io.Writer) Encoder { return &leanLines{lines{json: newJSON(w)}} }

type leanLines struct{ lines }

// leanFinding is a finding whose fields of these names are hidden.
type leanFinding struct {
	*Finding
	Why    *string `json:"why,omitempty"`
	Source *string `json:"source,omitempty"`
}

type leanReport struct {
	*Report
	Findings []leanFinding `json:"findings"`
}

// Report implements [Encoder]; other reports than those of checks stay as they are.
func (l *leanLines) Report(said any) error {
	r, ok := said.(*Report)
	if !ok {
		return l.lines.Report(said)
	}
	lean := leanReport{r, make([]leanFinding, len(r.Findings))}
	for i := range r.Findings {
		lean.Findings[i].Finding = &r.Findings[i]
	}
	return l.json.Encode(lean)
}

// EncodeJSON writes one JSON object with the arrays "scores" and "failures". The
// failures are held until [Encoder] is closed.
func EncodeJSON(w io.Writer) Encoder { return &object{w: w, failures: []*Failure{}} }

type object struct {
	w        io.Writer
	scores   int
	failures []*Failure
}

func (o *object) Report(r any) error {
	lead := ",\n"
	if o.scores == 0 {
		lead = "{\"scores\": [\n"
	}
	o.scores++
	text, err := indented(r)
	if err == nil {
		_, err = io.WriteString(o.w, lead+text)
	}
	return err
}

func (o *object) Failure(f *Failure) error {
	o.failures = append(o.failures, f)
	return nil
}

func (o *object) Close() error {
	lead := "\n],\n"
	if o.scores == 0 {
		lead = "{\"scores\": [],\n"
	}
	text, err := indented(o.failures)
	if err == nil {
		_, err = io.WriteString(o.w, lead+"\"failures\": "+text+"\n}\n")
	}
	return err
}

// indented returns JSON to read, without a line end.
func indented(v any) (string, error) {
	var b strings.Builder
	e := newJSON(&b)
	e.SetIndent("", "  ")
	err := e.Encode(v)
	return strings.TrimSuffix(b.String(), "\n"), err
}

// findingColumns are the columns of findings as CSV.
var findingColumns = []string{
	"file", "number", "rule", "family", "severity", "measure", "measure_index",
	"beat", "offset", "onset", "voices", "pitches", "line", "message",
	"follows", "offset_decimal", "onset_decimal", "title", "texture",
	"composer", "key", "numeral",
}

// EncodeCSV writes one row for each finding under a row of column names. Voices
// and pitches are separated by blanks; line is that of the first note. Scores
// without findings, and failures, have no row.
func EncodeCSV(w io.Writer) Encoder { return &rows{NewSpreadsheet(w, findingColumns)} }

type rows struct{ *Spreadsheet }

// Report implements [Encoder] for findings; no other report has rows.
func (c *rows) Report(said any) error {
	r, ok := said.(*Report)
	if !ok {
		return nil
	}
	found := make([][]string, 0, len(r.Findings))
	for i := range r.Findings {
		found = append(found, findingRow(r, &r.Findings[i]))
	}
	return c.Write(found...)
}

// Failure implements [Encoder].
func (c *rows) Failure(*Failure) error { return nil }

// Close implements [Encoder].
func (c *rows) Close() error { return c.Write() }

// Spreadsheet writes rows of CSV under a row of column names, with cells that no
// spreadsheet runs as a formula or turns into a date.
type Spreadsheet struct {
	csv     *csv.Writer
	columns []string
	headed  bool
}

// NewSpreadsheet writes to w rows with the columns that are named.
func NewSpreadsheet(w io.Writer, columns []string) *Spreadsheet {
	return &Spreadsheet{csv: csv.NewWriter(w), columns: columns}
}

// Write writes rows, and the column names before the first; with no rows it writes the
// names alone, once.
func (s *Spreadsheet) Write(rows ...[]string) error {
	if !s.headed {
		s.headed = true
		rows = append([][]string{s.columns}, rows...)
	}
	for _, row := range rows {
		inert := make([]string, len(row))
		for i := range row {
			inert[i] = InertCell(row[i])
		}
		if err := s.csv.Write(inert); err != nil {
			return err
		}
	}
	s.csv.Flush()
	return s.csv.Error()
}

func findingRow(r *Report, f *Finding) []string {
	pitches, at := f.Sounding()
	line := ""
	if at > 0 {
		line = strconv.Itoa(at)
	}
	return []string{
		r.File, strconv.Itoa(f.Number), f.Rule, f.Family, f.Severity, f.Measure, strconv.Itoa(f.MeasureIndex),
		strconv.FormatFloat(f.Beat, 'f', -1, 64), f.Offset, f.Onset,
		strings.Join(f.Voices, " "), pitches, line, f.Message,
		follows(f), decimal(f.Offset), decimal(f.Onset), r.Score.Title, textureKind(r),
		r.Score.Composer, f.Key, f.Numeral,
	}
}

// Sounding is the pitches of a finding's notes, as "F4 B3", and the line of the file at
// which the first of them stands, 0 for none.
func (f *Finding) Sounding() (pitches string, line int) {
	all := make([]string, len(f.Notes))
	for i, n := range f.Notes {
		all[i] = n.Pitch
	}
	if len(f.Notes) > 0 {
		line = f.Notes[0].Line
	}
	return strings.Join(all, " "), line
}

// follows is the number of the finding that one follows from, empty for none.
func follows(f *Finding) string {
	if f.Follows == 0 {
		return ""
	}
	return strconv.Itoa(f.Follows)
}

func textureKind(r *Report) string {
	if r.Texture == nil {
		return ""
	}
	return r.Texture.Kind
}

// Decimal is what exact quarter notes, such as "3/2", come to; not ok where there are
// none.
func Decimal(exact string) (quarters float64, ok bool) {
	q, err := theory.ParseFraction(exact)
	if err != nil {
		return 0, false
	}
	return q.Float(), true
}

// decimal writes exact quarter notes as a decimal, empty where there are none.
func decimal(exact string) string {
	q, ok := Decimal(exact)
	if !ok {
		return ""
	}
	return strconv.FormatFloat(q, 'f', -1, 64)
}

// looksLikeDate are cells that a spreadsheet takes for a date, such as 3/2 or 1-2.
var looksLikeDate = regexp.MustCompile(`^\d{1,4}[/.-]\d{1,4}([/.-]\d{1,4})?$`)

// InertCell keeps a spreadsheet from running text of a stranger's score as a
// formula (OWASP, "CSV Injection"): an apostrophe in front of the characters
// that begin one. A negative number is left as it is. What would be turned into a date
// gets one too, unless it is a decimal.
func InertCell(cell string) string {
	if looksLikeDate.MatchString(cell) {
		if _, err := strconv.ParseFloat(cell, 64); err != nil {
			return "'" + cell
		}
	}
	if cell == "" || !strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
		return cell
	}
	if _, err := strconv.ParseFloat(cell, 64); err == nil {
		return cell
	}
	return "'" + cell
}
