package store_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"partwright/worker/store"
	"partwright/worker/store/storetest"
)

// foundLike makes what was found in a score, of few values, so that many are alike.
func foundLike(r *rand.Rand, name string) *store.Found {
	pick := func(of ...string) string { return of[r.IntN(len(of))] }
	f := &store.Found{Score: store.FoundScore{
		FoundIn: store.FoundIn{File: name, Title: pick("Jesu, meine Freude", "Nun komm", "Énfin la beauté"), Composer: pick("J. S. Bach", "")},
		Outcome: "checked", Key: pick("C major", "G minor"), Texture: "choir", Measures: int64(r.IntN(30)), Shape: pick("a", "b", "c"),
	}}
	f.Score.Mode = strings.Fields(f.Score.Key)[1]
	for n := range r.IntN(6) {
		key := pick("C major", "G minor")
		f.Findings = append(f.Findings, store.FoundFinding{
			Position: int64(n + 1), Rule: pick("parallel-fifths", "spacing"), Family: "f", Severity: pick("fault", "caution"),
			Voices: pick("S B", "A T"), Key: key, Mode: strings.Fields(key)[1], Numeral: pick("I", "V", "N6"), Measure: "1", Beat: 1.5,
		})
	}
	var before []string
	for n := range r.IntN(12) {
		h := store.FoundHarmony{
			Position: int64(n + 1), Key: "C major", Mode: "major", Numeral: pick("I", "ii6", "V", "vi"), Before: slices.Clone(before[max(0, len(before)-4):]), Measure: "1", Beat: 1,
		}
		if r.IntN(4) == 0 {
			h.Cadence, h.Formula = pick("PAC", "DC"), "V I"
		}
		f.Harmonies = append(f.Harmonies, h)
		before = append(before, h.Numeral)
	}
	return f
}

// asked is a store with scores in two batches, and what was found in them.
func asked(t *testing.T, c store.Config) (f fixture, batches []*store.Batch, all []store.Found) {
	t.Helper()
	f = fixture{t, storetest.Open(t, c)}
	r := rand.New(rand.NewPCG(1, 2)) // #nosec G404 -- repeatable
	for range 2 {
		b := f.create(make([]string, 12)...)
		batches = append(batches, b)
		for n := range int64(12) {
			found := foundLike(r, fmt.Sprintf("folder/%d.musicxml", n+1))
			answer := numbered(n+1, report("x"))
			answer.Found = found
			f.answer(b.ID, answer)
			in := found.Score.FoundIn
			in.Batch, in.Number = b.ID, n+1
			found.Score.FoundIn = in
			for i := range found.Findings {
				found.Findings[i].FoundIn = in
			}
			for i := range found.Harmonies {
				found.Harmonies[i].FoundIn = in
			}
			all = append(all, *found)
		}
	}
	return f, batches, all
}

// pages reads all pages of a question, a few rows at a time.
func (f fixture) pages(q store.Find) (rows []string) {
	f.Helper()
	q.Organization, q.Limit = store.SingleUser, 3
	for turns := 0; ; turns++ {
		var page *store.FoundPage
		f.read(func(ctx context.Context, tx store.Tx) (err error) {
			page, err = q.Find(ctx, tx)
			return err
		})
		for _, s := range page.Scores {
			rows = append(rows, fmt.Sprintf("%+v", s))
		}
		for _, x := range page.Findings {
			rows = append(rows, fmt.Sprintf("%+v", x))
		}
		for _, h := range page.Harmonies {
			rows = append(rows, fmt.Sprintf("%+v", h))
		}
		if page.Next == "" {
			return rows
		}
		if q.After = page.Next; turns > 500 {
			f.Fatal("the pages do not end")
		}
	}
}

func (f fixture) counts(q store.Find, by ...string) *store.FoundCounts {
	f.Helper()
	q.Organization = store.SingleUser
	var counts *store.FoundCounts
	f.read(func(ctx context.Context, tx store.Tx) (err error) {
		counts, err = q.Count(ctx, tx, by, 1000)
		return err
	})
	return counts
}

// question is one with what a plain look at every row says of it.
type question struct {
	name string
	store.Find
	score   func(*store.Found) bool
	finding func(*store.FoundFinding) bool
	harmony func(*store.FoundHarmony) bool
}

func questions(batch string) []question {
	anyScore := func(*store.Found) bool { return true }
	inTitle := func(f *store.Found) bool { return f.Score.Title == "Énfin la beauté" }
	return []question{
		{name: "all findings", Find: store.Find{Kind: store.FoundFindings}, score: anyScore, finding: func(*store.FoundFinding) bool { return true }},
		{name: "rule, voices, mode", Find: store.Find{Kind: store.FoundFindings, Is: map[string]string{"rule": "parallel-fifths", "voices": "S B", "mode": "minor"}},
			score: anyScore, finding: func(x *store.FoundFinding) bool {
				return x.Rule == "parallel-fifths" && x.Voices == "S B" && x.Mode == "minor"
			}},
		{name: "numeral in one batch", Find: store.Find{Kind: store.FoundFindings, Is: map[string]string{"numeral": "N6", "batch": batch}},
			score: anyScore, finding: func(x *store.FoundFinding) bool { return x.Numeral == "N6" && x.Batch == batch }},
		{name: "words without accents", Find: store.Find{Kind: store.FoundFindings, Title: "enfin BEAUTE"}, score: inTitle, finding: func(*store.FoundFinding) bool { return true }},
		{name: "a composer is no title", Find: store.Find{Kind: store.FoundScores, Title: "bach"}, score: func(*store.Found) bool { return false }},
		{name: "a composer is text", Find: store.Find{Kind: store.FoundScores, Text: "Bach folder"}, score: func(f *store.Found) bool { return f.Score.Composer != "" }},
		{name: "copies", Find: store.Find{Kind: store.FoundScores, Is: map[string]string{"shape": "b"}}, score: func(f *store.Found) bool { return f.Score.Shape == "b" }},
		{name: "a numeral", Find: store.Find{Kind: store.FoundHarmonies, Is: map[string]string{"numeral": "V"}}, score: anyScore,
			harmony: func(h *store.FoundHarmony) bool { return h.Numeral == "V" }},
		{name: "a succession", Find: store.Find{Kind: store.FoundHarmonies, Succession: []string{"ii6", "V", "I"}}, score: anyScore,
			harmony: func(h *store.FoundHarmony) bool {
				n := len(h.Before)
				return h.Numeral == "I" && n >= 2 && h.Before[n-1] == "V" && h.Before[n-2] == "ii6"
			}},
		{name: "a cadence", Find: store.Find{Kind: store.FoundHarmonies, Is: map[string]string{"cadence": "DC"}}, score: anyScore,
			harmony: func(h *store.FoundHarmony) bool { return h.Cadence == "DC" }},
	}
}

// plainly are the rows that a look at every one of them finds.
func (q *question) plainly(all []store.Found) (rows []string) {
	for i := range all {
		f := &all[i]
		if !q.score(f) {
			continue
		}
		if q.finding == nil && q.harmony == nil {
			rows = append(rows, fmt.Sprintf("%+v", f.Score))
		}
		for j := range f.Findings {
			if q.finding != nil && q.finding(&f.Findings[j]) {
				rows = append(rows, fmt.Sprintf("%+v", f.Findings[j]))
			}
		}
		for j := range f.Harmonies {
			if q.harmony != nil && q.harmony(&f.Harmonies[j]) {
				rows = append(rows, fmt.Sprintf("%+v", f.Harmonies[j]))
			}
		}
	}
	return rows
}

func TestPagesHoldWhatALookAtEveryRowFinds(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f, batches, all := asked(t, c)
		for _, q := range questions(batches[1].ID) {
			got, want := f.pages(q.Find), q.plainly(all)
			slices.Sort(got)
			slices.Sort(want)
			if !slices.Equal(got, want) {
				t.Errorf("%s: %d rows, a plain look finds %d", q.name, len(got), len(want))
			}
			if len(want) == 0 && q.name != "a composer is no title" {
				t.Errorf("%s: nothing is there to be found", q.name)
			}
			by := []string{"batch"}
			counts := f.counts(q.Find, by...)
			if counts.Total != int64(len(want)) || !counts.Complete {
				t.Errorf("%s: %+v counted, a plain look finds %d", q.name, counts, len(want))
			}
		}
	})
}

// What is counted as answers are stored is what counting row by row comes to; counting
// by a further column makes the store do that.
func TestCountsThatAreKeptAreThoseOfTheRows(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f, batches, _ := asked(t, c)
		same := func(when string) {
			t.Helper()
			for kind, by := range map[string][]string{
				store.FoundFindings: {"rule", "severity"}, store.FoundHarmonies: {"numeral", "cadence"}, store.FoundScores: {"key", "outcome"},
			} {
				further := map[string]string{store.FoundFindings: "voices", store.FoundHarmonies: "formula", store.FoundScores: "shape"}[kind]
				q := store.Find{Kind: kind}
				sums := map[string][2]int64{}
				for _, g := range f.counts(q, append(slices.Clone(by), further)...).Groups {
					sum := sums[fmt.Sprint(g.Values[:2])]
					sums[fmt.Sprint(g.Values[:2])] = [2]int64{sum[0] + g.Count, sum[1] + g.Measures}
				}
				kept := f.counts(q, by...)
				if len(kept.Groups) != len(sums) || len(sums) < 2 {
					t.Errorf("%s: %s by %v: %d groups are kept, %d counted", when, kind, by, len(kept.Groups), len(sums))
				}
				for _, g := range kept.Groups {
					if got := [2]int64{g.Count, g.Measures}; got != sums[fmt.Sprint(g.Values)] {
						t.Errorf("%s: %s %v: %v kept, %v counted", when, kind, g.Values, got, sums[fmt.Sprint(g.Values)])
					}
				}
			}
		}
		same("saved")
		f.remove(batches[0].ID, 3, 7)
		same("two scores deleted")
		if err := f.DeleteBatch(t.Context(), store.SingleUser, batches[0].ID); err != nil {
			t.Fatal(err)
		}
		same("a batch deleted")
	})
}

// rowsLeft counts the rows of every table of what was found.
func (f fixture) rowsLeft() (all int64) {
	f.Helper()
	for _, table := range []string{"found_scores", "found_words", "found_findings", "found_harmonies", "found_counts"} {
		f.read(func(ctx context.Context, tx store.Tx) error {
			return store.Each(ctx, tx, func(scan store.Scan) error {
				var n int64
				err := scan(&n)
				all += n
				return err
			}, `SELECT count(*) FROM `+table)
		})
	}
	return all
}

// Every way in which answers go takes what was found in them.
func TestWhatWasFoundGoesWithItsAnswer(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		for name, remove := range map[string]func(f fixture, b *store.Batch){
			"score by score": func(f fixture, b *store.Batch) { f.remove(b.ID, 1, 2) },
			"the batch": func(f fixture, b *store.Batch) {
				if err := f.DeleteBatch(t.Context(), store.SingleUser, b.ID); err != nil {
					t.Fatal(err)
				}
			},
			"the organization": func(f fixture, _ *store.Batch) {
				f.write(func(ctx context.Context, tx store.Tx) error {
					return store.DeleteOrganization(ctx, tx, store.SingleUser)
				})
			},
			"another try": func(f fixture, b *store.Batch) {
				f.remove(b.ID, 1)
				f.change(b.ID, func(ctx context.Context, tx store.Tx, b *store.Batch) error {
					_, err := store.RetryFailed(ctx, tx, b)
					return err
				})
			},
		} {
			f := fixture{t, storetest.Open(t, c)}
			b := f.create("one", "two")
			r := rand.New(rand.NewPCG(3, 4)) // #nosec G404 -- repeatable
			f.answer(b.ID, store.NewResult{Number: 1, Engine: "test", Report: store.Pack([]byte("x")), Found: foundLike(r, "a")})
			f.answer(b.ID, store.NewResult{Number: 2, Engine: "test", Problem: []byte(`{}`), Found: &store.Found{Score: store.FoundScore{Outcome: "failed"}}})
			if f.rowsLeft() < 5 {
				t.Fatal("nothing is there to be deleted")
			}
			if remove(f, b); f.rowsLeft() != 0 {
				t.Errorf("%s deleted: %d rows are left", name, f.rowsLeft())
			}
			if err := f.Close(); err != nil {
				t.Fatal(err)
			}
		}
	})
}

func TestCursorsOfOtherQuestionsAreRefused(t *testing.T) {
	storetest.Each(t, func(t *testing.T, c store.Config) {
		f, _, _ := asked(t, c)
		q := store.Find{Organization: store.SingleUser, Kind: store.FoundHarmonies, Limit: 1}
		var page *store.FoundPage
		f.read(func(ctx context.Context, tx store.Tx) (err error) {
			page, err = q.Find(ctx, tx)
			return err
		})
		for _, q := range []store.Find{
			{Organization: store.SingleUser, Kind: store.FoundHarmonies, Succession: []string{"V"}, After: page.Next, Limit: 1},
			{Organization: store.SingleUser, Kind: store.FoundScores, After: page.Next, Limit: 1},
			{Organization: store.SingleUser, Kind: store.FoundHarmonies, After: "no cursor", Limit: 1},
		} {
			err := f.Read(t.Context(), func(tx store.Tx) error {
				_, err := q.Find(t.Context(), tx)
				return err
			})
			if !errors.Is(err, store.ErrCursor) {
				t.Errorf("%+v: %v", q, err)
			}
		}
	})
}
