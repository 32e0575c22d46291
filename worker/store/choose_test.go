package store_test

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"testing"

	"partwright/worker/store"
)

// A choice among scores that come one by one gives the rows that a plain look finds and that
// the database gives, and counts them as it does.
func TestChoiceAnswersAsTheDatabaseDoes(t *testing.T) {
	f, batches, all := asked(t, store.Config{Dir: t.TempDir()})
	by := map[string][]string{
		store.FoundFindings: {"rule", "composer"}, store.FoundHarmonies: {"numeral", "cadence", "formula"}, store.FoundScores: {"key", "shape"},
	}
	for _, q := range questions(batches[1].ID) {
		choice, err := q.Choice()
		if err != nil {
			t.Fatal(err)
		}
		tally := choice.Tally(by[q.Kind])
		var got []string
		for i := range all {
			err := choice.Each(&all[i], func(row any) error {
				tally.Add(row)
				got = append(got, fmt.Sprintf("%+v", reflect.ValueOf(row).Elem().Interface()))
				return nil
			})
			if err != nil {
				t.Fatal(err)
			}
		}
		want := f.pages(q.Find)
		slices.Sort(want)
		slices.Sort(got)
		if !slices.Equal(got, want) {
			t.Errorf("%s: %d rows are chosen, the database has %d", q.name, len(got), len(want))
		}
		if got, want := tally.Counts(1000), f.counts(q.Find, by[q.Kind]...); !reflect.DeepEqual(got, want) {
			t.Errorf("%s: counted\n%+v, the database has\n%+v", q.name, got, want)
		}
		if most := len(tally.Counts(1).Groups); most > 1 {
			t.Errorf("%s: %d groups where one was asked for", q.name, most)
		}
	}
	enough := errors.New("enough")
	choice, _ := store.Find{Kind: store.FoundScores}.Choice()
	if err := choice.Each(&all[0], func(any) error { return enough }); !errors.Is(err, enough) {
		t.Errorf("%v, want the error of whoever takes the rows", err)
	}
	_, err := store.Find{Kind: store.FoundHarmonies, Succession: make([]string, store.MostInSuccession+1)}.Choice()
	if !errors.As(err, new(*store.SuccessionError)) {
		t.Errorf("%v, want a succession that is too long", err)
	}
}
