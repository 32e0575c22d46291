package collection

import (
	"io"
	"reflect"
	"strconv"

	"partwright/worker/report"
)

// EncodeScoresCSV writes one row for each score: the columns of the table [Scores] but
// that of the batch. A score that could not be read has its number, its name and the
// code of the failure. Reports of other jobs have no row.
func EncodeScoresCSV(w io.Writer) report.Encoder {
	columns := columnsOf(reflect.TypeFor[Score]())
	names := make([]string, 0, len(columns))
	for _, c := range columns[1:] {
		names = append(names, c.Name)
	}
	return &scoreRows{out: report.NewSpreadsheet(w, names)}
}

type scoreRows struct {
	out    *report.Spreadsheet
	number int64
}

// Report implements [report.Encoder].
func (s *scoreRows) Report(said any) error {
	s.number++
	r, ok := said.(*report.Report)
	if !ok {
		return nil
	}
	return s.write(scoreRow(of{"", s.number, r.File}, r))
}

// Failure implements [report.Encoder].
func (s *scoreRows) Failure(f *report.Failure) error {
	s.number++
	return s.write(failureRow("", s.number, "", f))
}

// Close implements [report.Encoder].
func (s *scoreRows) Close() error { return s.out.Write() }

// write leaves out the batch, and of a score that failed what nobody knows.
func (s *scoreRows) write(row Score) error {
	return s.out.Write(cells(reflect.ValueOf(row), row.Outcome == "failed")[1:])
}

// cells are the columns of a row as text, in the order of [columnsOf]; sparing leaves
// out zeros.
func cells(row reflect.Value, sparing bool) (out []string) {
	for field, value := range row.Fields() {
		switch {
		case field.Anonymous:
			out = append(out, cells(value, sparing)...)
		case sparing && value.IsZero():
			out = append(out, "")
		default:
			out = append(out, cell(value))
		}
	}
	return out
}

func cell(value reflect.Value) string {
	switch value.Kind() {
	case reflect.Pointer:
		if value.IsNil() {
			return ""
		}
		return cell(value.Elem())
	case reflect.Bool:
		return strconv.FormatBool(value.Bool())
	case reflect.Float64:
		return strconv.FormatFloat(value.Float(), 'f', -1, 64)
	case reflect.String:
		return value.String()
	}
	return strconv.FormatInt(value.Int(), 10)
}
