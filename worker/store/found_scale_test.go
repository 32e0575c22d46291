package store_test

import (
	"context"
	"flag"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

var foundScores = flag.Int("found-scores", 0, "scores with ten findings each over which questions are timed, 0 for none")

// Questions over so many made-up rows, each five times; the middle is shown. It fails
// only where an answer is wrong: times depend on the machine.
func TestQuestionsOverManyRows(t *testing.T) {
	if *foundScores == 0 {
		t.Skip("times questions over many rows: say -found-scores 100000")
	}
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f := fixture{t, storetest.Open(t, c)}
		const each = 1000
		begun := time.Now()
		longest := time.Duration(0)
		for first := 0; first < *foundScores; first += each {
			start := time.Now()
			f.fillFound(first, min(first+each, *foundScores), each)
			longest = max(longest, time.Since(start))
		}
		t.Logf("the longest thousand took %v", longest)
		t.Logf("%d scores, %d findings written in %v", *foundScores, 10**foundScores, time.Since(begun))
		if f.SQLite() == nil {
			f.exec(`ANALYZE`)
		}
		middle := store.Find{Organization: store.SingleUser, Kind: store.FoundFindings, Is: map[string]string{"batch": fmt.Sprintf("B%08d", *foundScores/each/2)}, Limit: 1}
		var page *store.FoundPage
		f.read(func(ctx context.Context, tx store.Tx) (err error) {
			page, err = middle.Find(ctx, tx)
			return err
		})
		rule := map[string]string{"rule": "rule-7", "voices": "S B", "mode": "minor"}
		for _, q := range []struct {
			name string
			store.Find
			by []string
		}{
			{"a page of all", store.Find{Kind: store.FoundFindings}, nil},
			{"a page from the middle", store.Find{Kind: store.FoundFindings, After: page.Next}, nil},
			{"rule, voices and mode", store.Find{Kind: store.FoundFindings, Is: rule}, nil},
			{"the same from the middle", store.Find{Kind: store.FoundFindings, Is: rule, After: page.Next}, nil},
			{"a family", store.Find{Kind: store.FoundFindings, Is: map[string]string{"family": "family-2"}}, nil},
			{"a rare family", store.Find{Kind: store.FoundFindings, Is: map[string]string{"family": "rare"}}, nil},
			{"a severity, from the middle", store.Find{Kind: store.FoundFindings, Is: map[string]string{"severity": "fault"}, After: page.Next}, nil},
			{"a mode", store.Find{Kind: store.FoundFindings, Is: map[string]string{"mode": "minor"}}, nil},
			{"a key", store.Find{Kind: store.FoundFindings, Is: map[string]string{"key": "key5"}}, nil},
			{"of a composer", store.Find{Kind: store.FoundFindings, Is: map[string]string{"rule": "rule-7", "composer": "composer9"}}, nil},
			{"a rare numeral", store.Find{Kind: store.FoundFindings, Is: map[string]string{"numeral": "N6"}}, nil},
			{"a word of a title", store.Find{Kind: store.FoundFindings, Title: "word7"}, nil},
			{"counted by rule", store.Find{Kind: store.FoundFindings}, []string{"rule"}},
			{"counted by voices, of a rule", store.Find{Kind: store.FoundFindings, Is: map[string]string{"rule": "rule-7"}}, []string{"voices"}},
			{"scores counted by key and mode", store.Find{Kind: store.FoundScores}, []string{"key", "mode"}},
		} {
			q.Organization, q.Limit = store.SingleUser, 100
			var times []time.Duration
			var plans []string
			for range 5 {
				start := time.Now()
				f.read(func(ctx context.Context, tx store.Tx) (err error) {
					if q.by == nil && len(plans) == 0 {
						page, err = q.Find.Find(ctx, store.Explaining(tx, &plans))
					} else if q.by == nil {
						page, err = q.Find.Find(ctx, tx)
					} else {
						_, err = q.Count(ctx, tx, q.by, 100)
					}
					return err
				})
				times = append(times, time.Since(start))
			}
			slices.Sort(times)
			t.Logf("%-32s %v", q.name, times[2].Round(10*time.Microsecond))
			if times[2] > 100*time.Millisecond && len(plans) > 0 {
				t.Logf("this is how:\n%s", plans[0])
			}
			// Where there is enough, no table is read from its beginning to its end, but for
			// a family of which there is next to nothing: no index is kept for that.
			if q.Is["family"] != "rare" && *foundScores >= 10_000 && strings.Contains(strings.Join(plans, ""), "Seq Scan") {
				t.Errorf("%s:\n%s", q.name, plans[0])
			}
			if q.by == nil && len(page.Findings) == 0 {
				t.Errorf("%s: %d rows", q.name, len(page.Findings))
			}
		}
		if counts := f.counts(store.Find{Kind: store.FoundFindings}, "rule"); counts.Total != int64(10**foundScores) {
			t.Errorf("%d counted", counts.Total)
		}
	})
}

// fillFound writes rows for the scores from first on, so many in a batch.
func (f fixture) fillFound(first, end, each int) {
	f.Helper()
	series := fmt.Sprintf(`WITH RECURSIVE scores(i) AS (SELECT %d UNION ALL SELECT i + 1 FROM scores WHERE i + 1 < %d), `+
		`places(p) AS (SELECT 1 UNION ALL SELECT p + 1 FROM places WHERE p < 10)`, first, end)
	batch := fmt.Sprintf(`'B' || substr(CAST(100000000 + (i / %d) AS TEXT), 2)`, each)
	number := fmt.Sprintf(`1 + i %% %d`, each)
	insert := func(table, columns, values, from string) {
		f.exec(`INSERT INTO ` + table + ` (` + columns + `) ` + series + ` SELECT ` + values + ` FROM ` + from)
	}
	insert("found_scores", `organization_id, batch_id, number, file, outcome, problem, title, composer, key, mode, texture, voices, measures, notes,
		faults, cautions, remarks, shape, engine, rule_set`,
		`'single-user', `+batch+`, `+number+`, 'folder/' || i || '.mxl', 'checked', '', 'A title word' || (i % 100), 'composer' || (i % 50),
		'key' || (i % 24), CASE WHEN i % 3 = 0 THEN 'minor' ELSE 'major' END, 'choir', 4, 20, 200, 5, 5, 0, 'shape' || i, 'test', 'free'`, `scores`)
	insert("found_words", `organization_id, word, batch_id, number, in_title`, `'single-user', 'word' || (i % 100), `+batch+`, `+number+`, 1`, `scores`)
	rule := `'rule-' || ((i * 7 + p * 13) % 80)`
	family := `CASE WHEN (i * 10 + p) % 9973 = 0 THEN 'rare' ELSE 'family-' || (p % 8) END`
	severity := `CASE p % 3 WHEN 0 THEN 'fault' WHEN 1 THEN 'caution' ELSE 'remark' END`
	mode := `CASE WHEN (i + p) % 3 = 0 THEN 'minor' ELSE 'major' END`
	insert("found_findings", `organization_id, batch_id, number, position, rule, family, severity, voices, key, mode, numeral, measure, beat`,
		`'single-user', `+batch+`, `+number+`, p, `+rule+`, `+family+`, `+severity+`, CASE (i + p) % 5 WHEN 0 THEN 'S B' WHEN 1 THEN 'A T' WHEN 2 THEN 'T B' ELSE 'S A' END,
		'key' || ((i + p) % 24), `+mode+`, CASE WHEN (i * 10 + p) % 997 = 0 THEN 'N6' ELSE 'V' || ((i + p) % 30) END, '1', 1.0`, `scores, places`)
	insert("found_counts", `organization_id, kind, batch_id, a, b, c, d, n, measures`,
		`'single-user', 'findings', `+batch+`, `+rule+`, `+family+`, `+severity+`, `+mode+`, count(*), 0`, `scores, places GROUP BY 3, 4, 5, 6, 7`)
	insert("found_counts", `organization_id, kind, batch_id, a, b, c, d, n, measures`,
		`'single-user', 'scores', `+batch+`, 'checked', 'key' || (i % 24), CASE WHEN i % 3 = 0 THEN 'minor' ELSE 'major' END, 'choir', count(*), sum(20)`, `scores GROUP BY 3, 5, 6`)
}
