package store

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"
	"strings"
)

// Choice chooses among what was found in scores that come one by one, as [Find.Find] does
// among the rows of the database. It knows no pages.
type Choice struct {
	find        Find
	title, text []string
	columns     map[string][]int
}

// Choice is for a question that is asked without a database. The error is a
// [*SuccessionError].
func (q Find) Choice() (*Choice, error) {
	if n := len(q.Succession); n > MostInSuccession {
		return nil, &SuccessionError{n}
	}
	return &Choice{q, words(q.Title), words(q.Text), columnsOf(foundRowTypes[q.Kind])}, nil
}

var foundRowTypes = map[string]reflect.Type{
	FoundScores:    reflect.TypeFor[FoundScore](),
	FoundFindings:  reflect.TypeFor[FoundFinding](),
	FoundHarmonies: reflect.TypeFor[FoundHarmony](),
}

// columnsOf says which field of a row has which name in JSON, that of [FindBy].
func columnsOf(row reflect.Type) map[string][]int {
	columns := map[string][]int{}
	for _, f := range reflect.VisibleFields(row) {
		if name := f.Tag.Get("json"); name != "" {
			columns[name] = f.Index
		}
	}
	return columns
}

// Each calls f with every row of one score that is chosen, a pointer to a [FoundScore],
// [FoundFinding] or [FoundHarmony], until one is an error.
func (c *Choice) Each(found *Found, f func(row any) error) error {
	in := found.Score.FoundIn
	if !c.inWords(&in) {
		return nil
	}
	try := func(row any) error {
		if !c.is(row) {
			return nil
		}
		return f(row)
	}
	switch c.find.Kind {
	case FoundScores:
		return try(&found.Score)
	case FoundFindings:
		for i := range found.Findings {
			found.Findings[i].FoundIn = in
			if err := try(&found.Findings[i]); err != nil {
				return err
			}
		}
	default:
		for i := range found.Harmonies {
			h := &found.Harmonies[i]
			h.FoundIn = in
			if !endsWith(h, c.find.Succession) {
				continue
			}
			if err := try(h); err != nil {
				return err
			}
		}
	}
	return nil
}

// inWords says whether a score has the words that are wanted.
func (c *Choice) inWords(in *FoundIn) bool {
	has := func(text string, wanted []string) bool {
		if len(wanted) == 0 {
			return true
		}
		there := words(text)
		return !slices.ContainsFunc(wanted, func(w string) bool { return !slices.Contains(there, w) })
	}
	return has(in.Title, c.title) && has(in.Title+" "+in.Composer+" "+in.File, c.text)
}

// is says whether the columns of a row have the values that are wanted.
func (c *Choice) is(row any) bool {
	for name, value := range c.find.Is {
		if value != "" && c.Value(row, name) != value {
			return false
		}
	}
	return true
}

// Value is what stands in a column of [FindBy] in a row.
func (c *Choice) Value(row any, name string) string {
	return reflect.ValueOf(row).Elem().FieldByIndex(c.columns[name]).String()
}

// endsWith says whether a harmony is the last of a succession.
func endsWith(h *FoundHarmony, succession []string) bool {
	n := len(succession)
	if n == 0 {
		return true
	}
	before := n - 1
	return h.Numeral == succession[before] && len(h.Before) >= before &&
		slices.Equal(h.Before[len(h.Before)-before:], succession[:before])
}

// mostColumns is how many columns are counted by at once.
const mostColumns = 3

// CheckCountBy refuses columns that rows of a kind cannot be counted by. Those of a
// catalogue, behind [InCatalogue], are known to the database alone.
func CheckCountBy(kind string, by []string, catalogue bool) error {
	known := FindBy(kind)
	if len(by) > mostColumns {
		return fmt.Errorf("at most %d columns", mostColumns)
	}
	for i, name := range by {
		of, ofCatalogue := strings.CutPrefix(name, InCatalogue)
		if !(slices.Contains(known, name) || catalogue && ofCatalogue && of != "") || slices.Contains(by[:i], name) {
			return fmt.Errorf("%s can be counted by %s, each once", kind, strings.Join(known, ", "))
		}
	}
	return nil
}

// Tally counts rows that a [Choice] gives, all of them.
type Tally struct {
	choice *Choice
	by     []string
	groups map[string]*FoundGroup
	total  int64
}

// Tally begins to count by columns of [FindBy].
func (c *Choice) Tally(by []string) *Tally {
	return &Tally{choice: c, by: by, groups: map[string]*FoundGroup{}}
}

// Add counts a row.
func (t *Tally) Add(row any) {
	values := make([]string, len(t.by))
	for i, name := range t.by {
		values[i] = t.choice.Value(row, name)
	}
	key := strings.Join(values, "\x00")
	g := t.groups[key]
	if g == nil {
		g = &FoundGroup{Values: values}
		t.groups[key] = g
	}
	g.Count++
	t.total++
	if s, ok := row.(*FoundScore); ok {
		g.Measures += s.Measures
	}
}

// Counts are the largest groups, at most most, in the order of [Find.Count].
func (t *Tally) Counts(most int) *FoundCounts {
	counts := &FoundCounts{By: t.by, Groups: make([]FoundGroup, 0, len(t.groups)), Total: t.total, Complete: true}
	for _, g := range t.groups {
		counts.Groups = append(counts.Groups, *g)
	}
	slices.SortFunc(counts.Groups, func(a, b FoundGroup) int {
		return cmp.Or(cmp.Compare(b.Count, a.Count), slices.Compare(a.Values, b.Values))
	})
	counts.Groups = counts.Groups[:min(most, len(counts.Groups))]
	return counts
}
