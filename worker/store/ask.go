package store

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Find asks for rows of one kind, over all batches of an organization. What is empty
// chooses nothing.
type Find struct {
	Organization string
	// Kind is [FoundScores], [FoundFindings] or [FoundHarmonies].
	Kind string
	// Is are the values of columns, by their names; see [FindBy].
	Is map[string]string
	// Catalogue are the values of columns of a catalogue, by their names.
	Catalogue map[string]string
	// Succession are numerals one after the other in one key; the rows are those of the
	// last. At most [MostInSuccession].
	Succession []string
	// Title are words of the title, Text of title, composer or file name.
	Title, Text string
	// After is the cursor that the last page ended with, Limit the longest page.
	After string
	Limit int
}

// ErrCursor is returned for a cursor that is none of this question.
var ErrCursor = errors.New("the cursor does not belong to this question")

// SuccessionError is returned for more numerals than can be asked for in succession.
type SuccessionError struct{ Numerals int }

// Error says so.
func (e *SuccessionError) Error() string {
	return fmt.Sprintf("%d numerals are more than can be asked for in succession: at most %d", e.Numerals, MostInSuccession)
}

// foundKind says how rows of a kind are asked for.
type foundKind struct {
	table string
	// by are the columns that rows can be chosen and counted by, with their names.
	by map[string]string
	// shown are those that a row consists of.
	shown string
	// order is the key by which pages are cut.
	order []string
	// counted are the columns of found_counts, a to d.
	counted []string
}

var foundKinds = map[string]*foundKind{
	FoundScores: {
		table: "found_scores",
		by: map[string]string{
			"batch": "t.batch_id", "outcome": "t.outcome", "key": "t.key", "mode": "t.mode", "texture": "t.texture",
			"composer": "t.composer", "shape": "t.shape", "engine": "t.engine", "rule_set": "t.rule_set",
		},
		shown: `t.outcome, t.problem, t.key, t.mode, t.texture, t.voices, t.measures, t.notes, t.faults, t.cautions, t.remarks,
			t.shape, t.engine, t.rule_set`,
		order:   []string{"t.batch_id", "t.number"},
		counted: []string{"outcome", "key", "mode", "texture"},
	},
	FoundFindings: {
		table: "found_findings",
		by: map[string]string{
			"batch": "t.batch_id", "rule": "t.rule", "family": "t.family", "severity": "t.severity", "voices": "t.voices",
			"key": "t.key", "mode": "t.mode", "numeral": "t.numeral", "composer": "s.composer",
		},
		shown:   `t.position, t.rule, t.family, t.severity, t.voices, t.key, t.mode, t.numeral, t.measure, t.beat`,
		order:   []string{"t.batch_id", "t.number", "t.position"},
		counted: []string{"rule", "family", "severity", "mode"},
	},
	FoundHarmonies: {
		table: "found_harmonies",
		by: map[string]string{
			"batch": "t.batch_id", "key": "t.key", "mode": "t.mode", "numeral": "t.numeral", "cadence": "t.cadence", "formula": "t.formula",
			"composer": "s.composer",
		},
		shown:   `t.position, t.key, t.mode, t.numeral, t.cadence, t.formula, t.measure, t.beat, t.trail`,
		order:   []string{"t.batch_id", "t.number", "t.position"},
		counted: []string{"numeral", "mode", "cadence"},
	},
}

// FindBy lists the columns that rows of a kind can be chosen and counted by.
func FindBy(kind string) []string {
	var names []string
	for name := range foundKinds[kind].by {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// statement is a question in SQL under way.
type statement struct {
	kind *foundKind
	args []any
	from string
	when []string
	// order is that of the pages.
	order []string
	// scores says that the row of the score is joined as s.
	scores bool
	// beyond says that more is asked than found_counts knows.
	beyond bool
}

func (s *statement) arg(value any) string {
	s.args = append(s.args, value)
	return fmt.Sprintf("$%d", len(s.args))
}

// prepare makes the conditions of a question.
func (q *Find) prepare() (*statement, error) {
	k := foundKinds[q.Kind]
	s := &statement{kind: k, from: k.table + " t", order: k.order}
	organization := s.arg(q.Organization)
	s.when = append(s.when, "t.organization_id = "+organization)
	for _, name := range FindBy(q.Kind) {
		value := q.Is[name]
		if value == "" {
			continue
		}
		s.scores = s.scores || strings.HasPrefix(k.by[name], "s.")
		s.beyond = s.beyond || name != "batch" && !slices.Contains(k.counted, name)
		if name == "numeral" && q.Kind == FoundHarmonies && len(q.Succession) == 0 {
			q.Succession = []string{value} // the index over trails serves
			continue
		}
		s.when = append(s.when, k.by[name]+" = "+s.arg(value))
		if name == "cadence" || name == "formula" {
			s.when = append(s.when, k.by[name]+" <> ''") // so that the index over those that there are serves
		}
	}
	if n := len(q.Succession); n > 0 {
		if n > MostInSuccession {
			return nil, &SuccessionError{n}
		}
		first := trail(q.Succession[:n-1], q.Succession[n-1])
		after := slices.Clone(first)
		after[len(after)-1]++ // behind all that begin so
		s.when = append(s.when, "t.trail >= "+s.arg(first), "t.trail < "+s.arg(after))
		s.order = append([]string{"t.trail"}, s.order...)
		s.beyond = s.beyond || n > 1 || q.Is["numeral"] == ""
	}
	s.inCatalogue(organization, q.Catalogue)
	s.withWords(organization, q.Title, true)
	s.withWords(organization, q.Text, false)
	return s, nil
}

// withWords wants all words of a text in a score.
func (s *statement) withWords(organization, text string, inTitle bool) {
	for _, word := range words(text) {
		s.beyond = true
		w := fmt.Sprintf("w%d", len(s.args))
		s.from += fmt.Sprintf(" JOIN found_words %[1]s ON %[1]s.organization_id = %[2]s AND %[1]s.word = %[3]s AND %[1]s.batch_id = t.batch_id AND %[1]s.number = t.number",
			w, organization, s.arg(word))
		if inTitle {
			s.from += " AND " + w + ".in_title = 1"
		}
	}
}

// withScores joins the rows of scores.
func (s *statement) withScores() string {
	return s.from + " JOIN found_scores s ON s.organization_id = t.organization_id AND s.batch_id = t.batch_id AND s.number = t.number"
}

// cursor is where a page ended.
type cursor struct {
	Batch    string `json:"b"`
	Number   int64  `json:"n"`
	Position int64  `json:"p,omitempty"`
	Trail    []byte `json:"t,omitempty"`
}

func (c cursor) String() string {
	text, err := json.Marshal(c)
	if err != nil {
		return "" // a struct of text and numbers always encodes
	}
	return base64.RawURLEncoding.EncodeToString(text)
}

// after wants what comes behind a cursor.
func (s *statement) after(text string) error {
	if text == "" {
		return nil
	}
	var c cursor
	encoded, err := base64.RawURLEncoding.DecodeString(text)
	if err == nil {
		err = json.Unmarshal(encoded, &c)
	}
	if err != nil || (c.Trail != nil) != (s.order[0] == "t.trail") || (c.Position != 0) != slices.Contains(s.order, "t.position") {
		return ErrCursor
	}
	var values []string
	for _, column := range s.order {
		switch column {
		case "t.trail":
			values = append(values, s.arg(c.Trail))
		case "t.batch_id":
			values = append(values, s.arg(c.Batch))
		case "t.number":
			values = append(values, s.arg(c.Number))
		case "t.position":
			values = append(values, s.arg(c.Position))
		}
	}
	s.when = append(s.when, "("+strings.Join(s.order, ", ")+") > ("+strings.Join(values, ", ")+")")
	return nil
}

// FoundPage is a page of rows of the kind that was asked for. Next is "" where no more
// come.
type FoundPage struct {
	Scores    []FoundScore
	Findings  []FoundFinding
	Harmonies []FoundHarmony
	Next      string
}

// Find returns a page. The order is that of batches' ids and of numbers, of successions
// that of what came before them first.
func (q Find) Find(ctx context.Context, tx Tx) (*FoundPage, error) {
	s, err := q.prepare()
	if err == nil {
		err = s.after(q.After)
	}
	if err != nil {
		return nil, err
	}
	statement := s.page(q.Kind, q.Limit)
	page := &FoundPage{}
	var last cursor
	n := 0
	err = tx.each(ctx, func(r row) error {
		n++
		return page.scan(q.Kind, r, &last)
	}, statement, s.args...)
	if n == q.Limit {
		if s.order[0] != "t.trail" {
			last.Trail = nil
		}
		page.Next = last.String()
	}
	return page, err
}

// page reads a page. Its scores are joined once it is cut, where nothing is asked of them:
// else PostgreSQL may join all there are before it takes the first rows.
func (s *statement) page(kind string, limit int) string {
	order := " ORDER BY " + strings.Join(s.order, ", ")
	end := " WHERE " + strings.Join(s.when, " AND ") + order + " LIMIT " + s.arg(limit)
	const of = ", s.file, s.title, s.composer, "
	switch {
	case kind == FoundScores:
		return "SELECT t.batch_id, t.number, t.file, t.title, t.composer, " + s.kind.shown + " FROM " + s.from + end
	case s.scores:
		return "SELECT t.batch_id, t.number" + of + s.kind.shown + " FROM " + s.withScores() + end
	}
	cut := statement{from: "(SELECT t.* FROM " + s.from + end + ") t"}
	return "SELECT t.batch_id, t.number" + of + s.kind.shown + " FROM " + cut.withScores() + order
}

// scan adds a row.
func (p *FoundPage) scan(kind string, r row, at *cursor) error {
	var in FoundIn
	into := []any{&in.Batch, &in.Number, &in.File, &in.Title, &in.Composer}
	var err error
	switch kind {
	case FoundScores:
		var f FoundScore
		err = r.Scan(append(into, &f.Outcome, &f.Problem, &f.Key, &f.Mode, &f.Texture, &f.Voices, &f.Measures, &f.Notes,
			&f.Faults, &f.Cautions, &f.Remarks, &f.Shape, &f.Engine, &f.RuleSet)...)
		f.FoundIn = in
		p.Scores = append(p.Scores, f)
	case FoundFindings:
		var f FoundFinding
		err = r.Scan(append(into, &f.Position, &f.Rule, &f.Family, &f.Severity, &f.Voices, &f.Key, &f.Mode, &f.Numeral, &f.Measure, &f.Beat)...)
		f.FoundIn, at.Position = in, f.Position
		p.Findings = append(p.Findings, f)
	default:
		var f FoundHarmony
		err = r.Scan(append(into, &f.Position, &f.Key, &f.Mode, &f.Numeral, &f.Cadence, &f.Formula, &f.Measure, &f.Beat, &at.Trail)...)
		f.FoundIn, at.Position = in, f.Position
		before := strings.Fields(string(at.Trail))
		slices.Reverse(before)
		f.Before = before[:max(len(before)-1, 0)]
		p.Harmonies = append(p.Harmonies, f)
	}
	at.Batch, at.Number = in.Batch, in.Number
	return err
}

// mostCounted bounds how many rows are looked at to count them, so that an answer takes
// no longer the more there is.
const mostCounted = 100_000

// FoundCounts says how many rows have which values in common.
type FoundCounts struct {
	// By are the columns.
	By []string `json:"by"`
	// Groups are the largest, in order.
	Groups []FoundGroup `json:"groups"`
	// Total is how many rows were counted; not Complete, there are more.
	Total    int64 `json:"total"`
	Complete bool  `json:"complete"`
}

// FoundGroup is how many rows have values in common. Measures are those of scores.
type FoundGroup struct {
	Values   []string `json:"values"`
	Count    int64    `json:"count"`
	Measures int64    `json:"measures,omitempty"`
}

// Count counts the rows by columns of [FindBy], or of a catalogue behind [InCatalogue], and
// returns at most most groups.
func (q Find) Count(ctx context.Context, tx Tx, by []string, most int) (*FoundCounts, error) {
	s, err := q.prepare()
	if err != nil {
		return nil, err
	}
	for _, name := range by {
		s.scores = s.scores || strings.HasPrefix(s.kind.by[name], "s.")
		s.beyond = s.beyond || name != "batch" && !slices.Contains(s.kind.counted, name)
	}
	var statement string
	if s.beyond {
		statement = s.counting(&q, by)
	} else {
		s, statement = q.kept(by)
	}
	counts := &FoundCounts{By: by, Groups: []FoundGroup{}, Complete: true}
	err = tx.each(ctx, func(r row) error {
		g := FoundGroup{Values: make([]string, len(by))}
		into := make([]any, 0, len(by)+3)
		for i := range g.Values {
			into = append(into, &g.Values[i])
		}
		err := r.Scan(append(into, &g.Count, &g.Measures, &counts.Total)...)
		counts.Groups = append(counts.Groups, g)
		return err
	}, statement+" LIMIT "+s.arg(most), s.args...)
	if s.beyond && counts.Total > mostCounted {
		counts.Total, counts.Complete = mostCounted, false
	}
	return counts, err
}

// counting counts rows one by one.
func (s *statement) counting(q *Find, by []string) string {
	from := s.from
	if s.scores {
		from = s.withScores()
	}
	var inner, outer []string
	for i, name := range by {
		column, join := s.column(name)
		from += join
		outer = append(outer, fmt.Sprintf("v%d", i))
		inner = append(inner, column+" AS "+outer[i])
	}
	measures := "0"
	if q.Kind == FoundScores {
		measures = "t.measures"
	}
	return "SELECT " + strings.Join(outer, ", ") + ", count(*) AS n, CAST(sum(m) AS BIGINT), CAST(sum(count(*)) OVER () AS BIGINT) FROM (SELECT " +
		strings.Join(inner, ", ") + ", " + measures + " AS m FROM " + from + " WHERE " + strings.Join(s.when, " AND ") +
		fmt.Sprintf(" LIMIT %d", mostCounted+1) + ") AS x GROUP BY " + strings.Join(outer, ", ") + " ORDER BY n DESC, " + strings.Join(outer, ", ")
}

// kept adds up what is counted already.
func (q *Find) kept(by []string) (*statement, string) {
	k := foundKinds[q.Kind]
	s := &statement{kind: k}
	column := func(name string) string {
		if name == "batch" {
			return "batch_id"
		}
		return []string{"a", "b", "c", "d"}[slices.Index(k.counted, name)]
	}
	when := []string{"organization_id = " + s.arg(q.Organization), "kind = " + s.arg(q.Kind)}
	for name, value := range q.Is {
		if value != "" {
			when = append(when, column(name)+" = "+s.arg(value))
		}
	}
	var columns []string
	for _, name := range by {
		columns = append(columns, column(name))
	}
	list := strings.Join(columns, ", ")
	return s, "SELECT " + list + ", CAST(sum(n) AS BIGINT) AS n1, CAST(sum(measures) AS BIGINT), CAST(sum(sum(n)) OVER () AS BIGINT) FROM found_counts WHERE " +
		strings.Join(when, " AND ") + " GROUP BY " + list + " ORDER BY n1 DESC, " + list
}
