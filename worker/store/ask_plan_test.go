package store

import (
	"strings"
	"testing"
)

// A page is read in the order of an index: no table is gone through and nothing is
// sorted, so that it costs the same however much there is (sqlite.org, "EXPLAIN QUERY
// PLAN": SCAN and USE TEMP B-TREE say otherwise).
func TestPagesAreReadInTheOrderOfAnIndex(t *testing.T) {
	s, err := Open(t.Context(), Config{Dir: t.TempDir()})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = s.Close() }()
	is := func(pairs ...string) map[string]string {
		all := map[string]string{}
		for i := 0; i < len(pairs); i += 2 {
			all[pairs[i]] = pairs[i+1]
		}
		return all
	}
	after := cursor{Batch: "B", Number: 1, Position: 1}.String()
	for name, q := range map[string]Find{
		"all findings":           {Kind: FoundFindings},
		"a page further on":      {Kind: FoundFindings, After: after},
		"a rule":                 {Kind: FoundFindings, Is: is("rule", "spacing"), After: after},
		"a rule among voices":    {Kind: FoundFindings, Is: is("rule", "parallel-fifths", "voices", "S B", "mode", "minor")},
		"voices":                 {Kind: FoundFindings, Is: is("voices", "S B")},
		"a key":                  {Kind: FoundFindings, Is: is("key", "G minor")},
		"a numeral":              {Kind: FoundFindings, Is: is("numeral", "N6")},
		"a batch":                {Kind: FoundFindings, Is: is("batch", "B")},
		"words":                  {Kind: FoundFindings, Text: "nun komm"},
		"harmonies of a key":     {Kind: FoundHarmonies, Is: is("key", "G minor")},
		"a numeral of harmonies": {Kind: FoundHarmonies, Is: is("numeral", "N6")},
		"a succession":           {Kind: FoundHarmonies, Succession: []string{"ii65", "V7", "vi"}},
		"a succession, further":  {Kind: FoundHarmonies, Succession: []string{"V7", "vi"}, After: cursor{Batch: "B", Number: 1, Position: 1, Trail: []byte("vi V7 ")}.String()},
		"a cadence":              {Kind: FoundHarmonies, Is: is("cadence", "DC")},
		"a formula":              {Kind: FoundHarmonies, Is: is("formula", "ii65 V7 vi")},
		"scores of a composer":   {Kind: FoundScores, Is: is("composer", "c")},
		"scores of a version":    {Kind: FoundScores, Is: is("engine", "v1.0.0")},
		"a severity":             {Kind: FoundFindings, Is: is("severity", "fault")},
		"a family":               {Kind: FoundFindings, Is: is("family", "consecutives"), After: after},
		"a mode":                 {Kind: FoundHarmonies, Is: is("mode", "minor")},
		"scores of a key":        {Kind: FoundScores, Is: is("key", "G minor")},
		"copies":                 {Kind: FoundScores, Is: is("shape", "s")},
		"scores by title":        {Kind: FoundScores, Title: "komm"},
		"of a catalogue":         {Kind: FoundScores, Catalogue: is("licence", "CC0")},
		"findings of one":        {Kind: FoundFindings, Is: is("rule", "spacing"), Catalogue: is("licence", "CC0")},
	} {
		q.Organization, q.Limit = SingleUser, 100
		var plans []string
		err := s.Read(t.Context(), func(tx Tx) error {
			_, err := q.Find(t.Context(), Explaining(tx, &plans))
			return err
		})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for _, plan := range plans {
			// A page that was cut is gone through to find the scores of its rows.
			plan = strings.Replace(plan, "\nSCAN t\n", "\n", 1)
			if strings.Contains(plan, "SCAN") || strings.Contains(plan, "TEMP B-TREE") || !strings.Contains(plan, "USING") {
				t.Errorf("%s:\n%s", name, plan)
			}
		}
	}
}
