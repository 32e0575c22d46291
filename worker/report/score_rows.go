package report

import (
	"io"
	"slices"
	"strconv"
	"strings"
)

// scoreColumns are the columns of scores as CSV.
var scoreColumns = []string{
	"file", "title", "composer", "key", "texture", "rule_set", "layout", "harmony_style", "voices", "parts", "measures", "notes",
	"quarters_decimal", "complete", "problems", "faults", "cautions", "remarks", "commonest_rule", "earned", "available", "failure",
}

// EncodeScoresCSV writes one row for each score under a row of column names: what it
// is, whether it is complete, how much was found, and the proposed mark. A score that
// could not be read has its name and, under failure, the kind of failure.
func EncodeScoresCSV(w io.Writer) Encoder {
	return &scoreRows{newSpreadsheet(w, scoreColumns)}
}

type scoreRows struct{ *spreadsheet }

// Report implements [Encoder] for findings; no other report has rows.
func (s *scoreRows) Report(said any) error {
	r, ok := said.(*Report)
	if !ok {
		return nil
	}
	complete, problems := "", []string{}
	if r.HandIn != nil {
		complete = strconv.FormatBool(r.HandIn.Complete)
		for _, p := range r.HandIn.Problems {
			problems = append(problems, p.Kind)
		}
	}
	earned, available := "", ""
	if r.Grade != nil {
		earned, available = r.Grade.Earned.String(), r.Grade.Available.String()
	}
	count := strconv.Itoa
	return s.write([]string{
		r.File, r.Score.Title, r.Score.Composer, r.Score.Key, textureKind(r), r.RuleSet, r.Score.Layout, r.Score.HarmonyStyle,
		count(len(r.Score.Voices)), count(r.Score.Parts), count(r.Score.Measures), count(r.Score.Notes),
		decimal(r.Score.Quarters), complete, strings.Join(problems, " "),
		count(r.Summary.Faults), count(r.Summary.Cautions), count(r.Summary.Remarks), commonest(r.Summary.ByRule), earned, available, "",
	})
}

// commonest is the rule with the most findings, the first by name of equals.
func commonest(byRule map[string]int) (rule string) {
	for name, n := range byRule {
		if n > byRule[rule] || n == byRule[rule] && name < rule {
			rule = name
		}
	}
	return rule
}

// Failure implements [Encoder].
func (s *scoreRows) Failure(f *Failure) error {
	row := make([]string, len(scoreColumns))
	row[0], row[slices.Index(scoreColumns, "failure")] = f.File, f.Code
	return s.write(row)
}

// Close implements [Encoder].
func (s *scoreRows) Close() error { return s.write() }

// WithBOM writes a byte order mark in front of all that is written, by which some
// spreadsheets know UTF-8.
func WithBOM(w io.Writer) io.Writer { return &marked{w: w} }

type marked struct {
	w     io.Writer
	begun bool
}

const byteOrderMark = "\uFEFF"

func (m *marked) Write(p []byte) (int, error) {
	if !m.begun {
		m.begun = true
		if _, err := io.WriteString(m.w, byteOrderMark); err != nil {
			return 0, err
		}
	}
	return m.w.Write(p)
}
