package classroom

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"partwright/worker/report"
)

// resultColumns are those of results.csv (1EdTech OneRoster 1.1, CSV binding, in its order;
// from memory) and, behind them, our own.
var resultColumns = []string{
	"sourcedId", "status", "dateLastModified", "lineItemSourcedId", "studentSourcedId", "scoreStatus", "score", "scoreDate", "comment",
	"attempt", "state", "proposed", "available", "days_late", "set_by",
}

// Values of scoreStatus (OneRoster 1.1 and 1.2).
const (
	fullyGraded     = "fully graded"
	partiallyGraded = "partially graded"
	submitted       = "submitted"
	notSubmitted    = "not submitted"
)

// Results writes the attempts that count as a table with OneRoster's columns: one row a
// pupil, so that the members of a group have one each. A mark that is not released is
// "partially graded" and has no score.
func (r *Report) Results(w io.Writer, a *Assignment, now time.Time) error {
	out := csv.NewWriter(w)
	if err := out.Write(resultColumns); err != nil {
		return err
	}
	row := func(reference, status, score, date, comment string, own ...string) error {
		line := []string{
			a.ID + "-" + reference, "active", now.UTC().Format(time.RFC3339), a.ID, reference, status, score, date, comment,
		}
		line = append(line, own...)
		for len(line) < len(resultColumns) {
			line = append(line, "")
		}
		for i := range line {
			if resultColumns[i] != "scoreDate" { // ours, and a date
				line[i] = report.InertCell(line[i])
			}
		}
		return out.Write(line)
	}
	for i := range r.HandIns {
		o := &r.HandIns[i]
		if !o.Counts {
			continue
		}
		status, score, date := submitted, "", ""
		switch {
		case o.Mark != nil && o.Released:
			status, score, date = fullyGraded, o.Mark.String(), now.UTC().Format(time.DateOnly)
		case o.Mark != nil:
			status = partiallyGraded
		}
		members := a.Groups[o.Reference]
		if len(members) == 0 {
			members = []string{o.Reference}
		}
		late := ""
		if o.Late > 0 {
			late = fmt.Sprint(o.Late)
		}
		for _, member := range members {
			if err := row(member, status, score, date, o.comment(), fmt.Sprint(o.Attempt), string(o.State), textOf(o.Proposed), o.Available.String(), late, o.ChangedBy); err != nil {
				return err
			}
		}
	}
	for _, reference := range r.NotHandedIn {
		members := a.Groups[reference]
		if len(members) == 0 {
			members = []string{reference}
		}
		for _, member := range members {
			if err := row(member, notSubmitted, "", "", ""); err != nil {
				return err
			}
		}
	}
	out.Flush()
	return out.Error()
}

// comment is what goes beside a mark: what is wrong with the hand-in as a whole, the
// reason of a changed mark, and that nothing is final.
func (o *Outcome) comment() string {
	var parts []string
	for _, part := range []string{o.Say, o.Refused, o.Why, o.Note} {
		if part != "" {
			parts = append(parts, part)
		}
	}
	return strings.Join(parts, " ")
}

func textOf(p *Points) string {
	if p == nil {
		return ""
	}
	return p.String()
}

// Roster is who belongs to a class.
type Roster struct {
	// References are those of the pupils, each once, in the order of the table.
	References []string `json:"references"`
	// PassedOver are columns of the table that nothing is kept of, such as those of names.
	PassedOver []string `json:"passed_over,omitempty"`
}

// enrollmentColumns are those of enrollments.csv (1EdTech OneRoster 1.1, CSV binding, in its
// order; from memory).
var enrollmentColumns = []string{
	"sourcedId", "status", "dateLastModified", "classSourcedId", "schoolSourcedId", "userSourcedId", "role", "primary", "beginDate", "endDate",
}

// Write writes the roster of an assignment as a table with OneRoster's columns.
func (r *Roster) Write(w io.Writer, a *Assignment, now time.Time) error {
	out := csv.NewWriter(w)
	if err := out.Write(enrollmentColumns); err != nil {
		return err
	}
	for _, reference := range r.References {
		line := []string{
			report.InertCell(a.ID + "-" + reference), "active", now.UTC().Format(time.RFC3339), report.InertCell(a.ID), "", report.InertCell(reference), student, "", "", "",
		}
		if err := out.Write(line); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// student is a role (OneRoster 1.1 and 1.2).
const student = "student"

// ReadRoster reads the references of a class from a table with OneRoster's column
// userSourcedId (enrollments.csv) or sourcedId (users.csv), or with one called reference.
// Rows with a column role count where it says student, and none counts whose status is
// tobedeleted. Names and addresses in the table are not looked at.
func ReadRoster(name string, data []byte) (*Roster, error) {
	rows, column, err := readTable(name, data, "userSourcedId", "sourcedId", "reference")
	if err != nil {
		return nil, err
	}
	r := &Roster{References: []string{}}
	if len(rows) > 0 {
		for other := range rows[0] {
			if !slices.Contains([]string{column, "role", "status"}, other) {
				r.PassedOver = append(r.PassedOver, other)
			}
		}
		slices.Sort(r.PassedOver)
	}
	for _, row := range rows {
		if role, ok := row["role"]; ok && role != student || row["status"] == "tobedeleted" || row[column] == "" {
			continue
		}
		if !slices.Contains(r.References, row[column]) {
			r.References = append(r.References, row[column])
		}
	}
	return r, nil
}

// Receipt says when an attempt came.
type Receipt struct {
	Reference string
	Attempt   int
	At        time.Time
}

// ReadReceipts reads when work came from a table with the columns reference, received
// (RFC 3339) and, where it is not the first, attempt.
func ReadReceipts(name string, data []byte) ([]Receipt, error) {
	rows, _, err := readTable(name, data, "reference")
	if err != nil {
		return nil, err
	}
	var out []Receipt
	for i, row := range rows {
		r := Receipt{Reference: row["reference"], Attempt: 1}
		if text := row["attempt"]; text != "" {
			if _, err := fmt.Sscan(text, &r.Attempt); err != nil || r.Attempt < 1 {
				return nil, fmt.Errorf("%s, row %d: attempt %q is no number from 1 on", name, i+2, text)
			}
		}
		if r.At, err = time.Parse(time.RFC3339, row["received"]); err != nil {
			return nil, fmt.Errorf("%s, row %d: received %q is no time such as 2026-11-27T16:00:00Z", name, i+2, row["received"])
		}
		out = append(out, r)
	}
	return out, nil
}

// GivenMark is a mark that a teacher gives in a table.
type GivenMark struct {
	// Row is where it stands, the first below the names of the columns being 2.
	Row       int
	Reference string
	Mark      Points
	Why       string
}

// ReadMarks reads marks from a table with OneRoster's columns studentSourcedId (or one
// called reference), score and, where wanted, comment. Rows without a score are passed over.
func ReadMarks(name string, data []byte) ([]GivenMark, error) {
	rows, column, err := readTable(name, data, "studentSourcedId", "reference")
	if err != nil {
		return nil, err
	}
	var out []GivenMark
	for i, row := range rows {
		if row["score"] == "" {
			continue
		}
		m := GivenMark{Row: i + 2, Reference: row[column], Why: row["comment"]}
		if m.Mark, err = ParsePoints(row["score"]); err != nil {
			return nil, fmt.Errorf("%s, row %d: %w", name, m.Row, err)
		}
		out = append(out, m)
	}
	return out, nil
}

// readTable reads a table by the names of its columns, of which it has to have one of
// those named, and says which.
func readTable(name string, data []byte, wants ...string) ([]map[string]string, string, error) {
	in := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\ufeff"))))
	header, err := in.Read()
	if errors.Is(err, io.EOF) {
		return nil, "", fmt.Errorf("%s: it is empty; the first row names the columns", name)
	}
	if err != nil {
		return nil, "", fmt.Errorf("%s: %w", name, err)
	}
	column := ""
	for _, want := range wants {
		if slices.Contains(header, want) {
			column = want
			break
		}
	}
	if column == "" {
		return nil, "", fmt.Errorf("%s: none of its columns is called %s", name, strings.Join(wants, " or "))
	}
	var rows []map[string]string
	for {
		line, err := in.Read()
		if errors.Is(err, io.EOF) {
			return rows, column, nil
		}
		if err != nil {
			return nil, "", fmt.Errorf("%s: %w", name, err)
		}
		row := map[string]string{}
		for i, cell := range line {
			row[header[i]] = cell
		}
		rows = append(rows, row)
	}
}
