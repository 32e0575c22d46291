package store

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/runes"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"
)

// Kinds of rows that can be asked for; see [Find].
const (
	FoundScores    = "scores"
	FoundFindings  = "findings"
	FoundHarmonies = "harmonies"
)

// Found is what was found in one score, to be asked across batches.
type Found struct {
	Score     FoundScore
	Findings  []FoundFinding
	Harmonies []FoundHarmony
}

// FoundIn says in which score of which batch something was found.
type FoundIn struct {
	Batch  string `json:"batch"`
	Number int64  `json:"score"`
	// File, Title and Composer are those of the score.
	File     string `json:"file"`
	Title    string `json:"title"`
	Composer string `json:"composer"`
}

// FoundScore is a score that has an answer.
type FoundScore struct {
	FoundIn
	// Outcome is checked or failed, Problem the code of a failure.
	Outcome string `json:"outcome"`
	Problem string `json:"problem"`
	// Key is the one that holds longest, such as "G minor", Mode its mode.
	Key      string `json:"key"`
	Mode     string `json:"mode"`
	Texture  string `json:"texture"`
	Voices   int64  `json:"voices"`
	Measures int64  `json:"measures"`
	Notes    int64  `json:"notes"`
	Faults   int64  `json:"faults"`
	Cautions int64  `json:"cautions"`
	Remarks  int64  `json:"remarks"`
	// Shape is the same for scores that sound the same once transposed.
	Shape   string `json:"shape"`
	Engine  string `json:"engine"`
	RuleSet string `json:"rule_set"`
}

// FoundFinding is a finding. Position is its number in the score.
type FoundFinding struct {
	FoundIn
	Position int64   `json:"number"`
	Rule     string  `json:"rule"`
	Family   string  `json:"family"`
	Severity string  `json:"severity"`
	Voices   string  `json:"voices"`
	Key      string  `json:"key"`
	Mode     string  `json:"mode"`
	Numeral  string  `json:"numeral"`
	Measure  string  `json:"measure"`
	Beat     float64 `json:"beat"`
}

// FoundHarmony is a harmony. Position counts from 1.
type FoundHarmony struct {
	FoundIn
	Position int64  `json:"number"`
	Key      string `json:"key"`
	Mode     string `json:"mode"`
	Numeral  string `json:"numeral"`
	// Before are the numerals before it in the same key, the nearest last.
	Before []string `json:"before"`
	// Cadence is the kind of the cadence that ends here, Formula its numerals with the
	// one before them; "" for none.
	Cadence string  `json:"cadence"`
	Formula string  `json:"formula"`
	Measure string  `json:"measure"`
	Beat    float64 `json:"beat"`
}

// MostInSuccession is the longest succession of numerals that can be asked for.
const MostInSuccession = 5

// trail is a numeral with those before it, backwards; see the migration.
func trail(before []string, numeral string) []byte {
	var b strings.Builder
	b.WriteString(numeral)
	b.WriteByte(' ')
	for i := len(before) - 1; i >= 0 && i > len(before)-MostInSuccession; i-- {
		b.WriteString(before[i])
		b.WriteByte(' ')
	}
	return []byte(b.String())
}

// words are those of a text: letters and digits, in lower case and without accents,
// each once.
func words(text string) []string {
	plain, _, err := transform.String(transform.Chain(norm.NFKD, runes.Remove(runes.In(unicode.Mn))), text)
	if err != nil {
		plain = text
	}
	seen := map[string]bool{}
	var all []string
	for _, word := range strings.FieldsFunc(strings.ToLower(plain), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		if !seen[word] {
			seen[word] = true
			all = append(all, word)
		}
	}
	return all
}

// alike is what rows of [found_counts] have in common.
type alike struct{ kind, a, b, c, d string }

type amount struct{ n, measures int64 }

// foundRows are the rows of some answers of a batch, table by table.
type foundRows struct {
	organization, batch                string
	scores, words, findings, harmonies [][]any
	counts                             map[alike]amount
}

func (r *foundRows) add(number int64, f *Found) {
	s := &f.Score
	r.scores = append(r.scores, []any{r.organization, r.batch, number, s.File, s.Outcome, s.Problem, s.Title, s.Composer,
		s.Key, s.Mode, s.Texture, s.Voices, s.Measures, s.Notes, s.Faults, s.Cautions, s.Remarks, s.Shape, s.Engine, s.RuleSet})
	r.count(alike{FoundScores, s.Outcome, s.Key, s.Mode, s.Texture}, s.Measures)
	inTitle := map[string]bool{}
	for _, word := range words(s.Title) {
		inTitle[word] = true
	}
	for _, word := range words(s.Title + " " + s.Composer + " " + s.File) {
		r.words = append(r.words, []any{r.organization, word, r.batch, number, oneIf(inTitle[word])})
	}
	for i := range f.Findings {
		x := &f.Findings[i]
		r.findings = append(r.findings, []any{r.organization, r.batch, number, x.Position,
			x.Rule, x.Family, x.Severity, x.Voices, x.Key, x.Mode, x.Numeral, x.Measure, x.Beat})
		r.count(alike{FoundFindings, x.Rule, x.Family, x.Severity, x.Mode}, 0)
	}
	for i := range f.Harmonies {
		h := &f.Harmonies[i]
		r.harmonies = append(r.harmonies, []any{r.organization, r.batch, number, h.Position,
			h.Key, h.Mode, h.Numeral, trail(h.Before, h.Numeral), h.Cadence, h.Formula, h.Measure, h.Beat})
		r.count(alike{FoundHarmonies, h.Numeral, h.Mode, h.Cadence, ""}, 0)
	}
}

func (r *foundRows) count(what alike, measures int64) {
	if r.counts == nil {
		r.counts = map[alike]amount{}
	}
	sum := r.counts[what]
	r.counts[what] = amount{sum.n + 1, sum.measures + measures}
}

// Columns of the tables in the order of [foundRows.add].
var (
	scoreColumns = []string{"organization_id", "batch_id", "number", "file", "outcome", "problem", "title", "composer",
		"key", "mode", "texture", "voices", "measures", "notes", "faults", "cautions", "remarks", "shape", "engine", "rule_set"}
	wordColumns    = []string{"organization_id", "word", "batch_id", "number", "in_title"}
	findingColumns = []string{"organization_id", "batch_id", "number", "position",
		"rule", "family", "severity", "voices", "key", "mode", "numeral", "measure", "beat"}
	harmonyColumns = []string{"organization_id", "batch_id", "number", "position",
		"key", "mode", "numeral", "trail", "cadence", "formula", "measure", "beat"}
)

func (r *foundRows) write(ctx context.Context, tx Tx) error {
	for _, table := range []struct {
		name    string
		columns []string
		rows    [][]any
	}{
		{"found_scores", scoreColumns, r.scores},
		{"found_words", wordColumns, r.words},
		{"found_findings", findingColumns, r.findings},
		{"found_harmonies", harmonyColumns, r.harmonies},
	} {
		if err := tx.insert(ctx, table.name, table.columns, table.rows); err != nil {
			return err
		}
	}
	// In one order, so that of two who count into the same rows none waits for one that waits
	// for it.
	order := slices.SortedFunc(maps.Keys(r.counts), func(a, b alike) int {
		return cmp.Or(strings.Compare(a.kind, b.kind), strings.Compare(a.a, b.a), strings.Compare(a.b, b.b), strings.Compare(a.c, b.c), strings.Compare(a.d, b.d))
	})
	counts := make([][]any, 0, len(order))
	for _, what := range order {
		sum := r.counts[what]
		counts = append(counts, []any{r.organization, what.kind, r.batch, what.a, what.b, what.c, what.d, sum.n, sum.measures})
	}
	_, err := tx.many(ctx, `INSERT INTO found_counts (organization_id, kind, batch_id, a, b, c, d, n, measures)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) ON CONFLICT (organization_id, kind, batch_id, a, b, c, d)
		DO UPDATE SET n = found_counts.n + excluded.n, measures = found_counts.measures + excluded.measures`, counts)
	return err
}

// saveFound writes what was found by answers that were taken. One that does not say
// leaves the batch to [Unsearched].
func saveFound(ctx context.Context, tx Tx, b *Batch, taken []NewResult) error {
	rows := foundRows{organization: b.Organization, batch: b.ID}
	for i := range taken {
		if taken[i].Found == nil {
			b.Searched = false
			continue
		}
		rows.add(taken[i].Number, taken[i].Found)
	}
	return rows.write(ctx, tx)
}

// forgetFound deletes what was found in members of a batch that is being changed.
func forgetFound(ctx context.Context, tx Tx, organization, batch string, numbers ...int64) error {
	lists := make([][]any, len(numbers))
	for i, n := range numbers {
		lists[i] = []any{organization, batch, n}
	}
	const of = ` WHERE x.organization_id = $1 AND x.batch_id = $2 AND x.number = $3`
	const counted = ` WHERE organization_id = $1 AND batch_id = $2 AND kind = `
	for _, statement := range []string{
		`UPDATE found_counts SET n = n - (SELECT count(*) FROM found_findings x` + of + `
			AND x.rule = a AND x.family = b AND x.severity = c AND x.mode = d)` + counted + `'findings'`,
		`UPDATE found_counts SET n = n - (SELECT count(*) FROM found_harmonies x` + of + `
			AND x.numeral = a AND x.mode = b AND x.cadence = c)` + counted + `'harmonies'`,
		`UPDATE found_counts SET n = n - 1, measures = measures - (SELECT x.measures FROM found_scores x` + of + `)` + counted + `'scores'
			AND EXISTS (SELECT 1 FROM found_scores x` + of + ` AND x.outcome = a AND x.key = b AND x.mode = c AND x.texture = d)`,
		`DELETE FROM found_harmonies WHERE organization_id = $1 AND batch_id = $2 AND number = $3`,
		`DELETE FROM found_findings WHERE organization_id = $1 AND batch_id = $2 AND number = $3`,
		`DELETE FROM found_scores WHERE organization_id = $1 AND batch_id = $2 AND number = $3`,
		`DELETE FROM found_words WHERE organization_id = $1 AND batch_id = $2 AND number = $3`,
	} {
		if _, err := tx.many(ctx, statement, lists); err != nil {
			return err
		}
	}
	_, err := tx.exec(ctx, `DELETE FROM found_counts WHERE organization_id = $1 AND batch_id = $2 AND kind IN ('findings', 'harmonies', 'scores') AND n = 0`, organization, batch)
	return err
}

// foundTables are those with a row for something in a score.
var foundTables = []string{"found_harmonies", "found_findings", "found_words", "found_scores"}

// forgetAllFound deletes what was found in a batch that is held.
func forgetAllFound(ctx context.Context, tx Tx, organization, batch string) error {
	for _, table := range foundTables {
		if _, err := tx.exec(ctx, `DELETE FROM `+table+` WHERE organization_id = $1 AND batch_id = $2`, organization, batch); err != nil {
			return err
		}
	}
	_, err := tx.exec(ctx, `DELETE FROM found_counts WHERE organization_id = $1 AND batch_id = $2 AND kind IN ('findings', 'harmonies', 'scores')`, organization, batch)
	return err
}

// checkSearched looks whether every answer has its rows, once the last is there: a process
// of a version that knows none may have worked beside those that do.
func (b *Batch) checkSearched(ctx context.Context, tx Tx) error {
	if !b.Searched {
		return nil
	}
	var n int64
	err := one(ctx, tx, []any{&n}, `SELECT count(*) FROM found_scores WHERE organization_id = $1 AND batch_id = $2`, b.Organization, b.ID)
	b.Searched = n == b.Done+b.Failed
	return err
}

// Unsearched finds a batch with answers whose rows are not written: of an earlier
// version, or of a process that writes none. The error is [ErrNotFound] for none.
func Unsearched(ctx context.Context, tx Tx) (*Batch, error) {
	return findBatch(ctx, tx, `SELECT `+batchColumns+` FROM batches WHERE searched = 0 AND deleted = 0 AND receiver = '' ORDER BY created, id LIMIT 1`)
}

// Unfound returns at most limit answers of a batch that have no rows, with their reports.
func Unfound(ctx context.Context, tx Tx, b *Batch, limit int) ([]Result, error) {
	q := ResultQuery{Reports: true}
	var results []Result
	err := tx.each(ctx, func(from row) error {
		var r Result
		err := scanResult(from, &r)
		results = append(results, r)
		return err
	}, `SELECT `+q.columns()+` FROM results r JOIN members m ON m.batch_id = r.batch_id AND m.number = r.number
		WHERE r.batch_id = $1 AND r.organization_id = $2 AND `+unfound+`
		ORDER BY r.number LIMIT $3`, b.ID, b.Organization, limit)
	return results, err
}

// unfound is what results r are that have no rows, of batch $1 and organization $2.
const unfound = `NOT EXISTS (SELECT 1 FROM found_scores x WHERE x.organization_id = $2 AND x.batch_id = $1 AND x.number = r.number)`

// AddFound writes what was found in answers of a batch that is being changed, by their
// numbers, for those that still have none, and marks the batch as searched once all have
// theirs.
func AddFound(ctx context.Context, tx Tx, b *Batch, found map[int64]*Found) error {
	rows := foundRows{organization: b.Organization, batch: b.ID}
	left := false
	err := tx.each(ctx, func(from row) error {
		var number int64
		err := from.Scan(&number)
		if f := found[number]; f != nil {
			rows.add(number, f)
		} else {
			left = true
		}
		return err
	}, `SELECT r.number FROM results r WHERE r.batch_id = $1 AND r.organization_id = $2 AND `+unfound+`
		ORDER BY r.number LIMIT $3`, b.ID, b.Organization, len(found)+1)
	if err != nil {
		return err
	}
	b.Searched = !left
	return rows.write(ctx, tx)
}
