package musicxml

import (
	"fmt"

	"partwright/musicxml/markup"
)

// place addresses a note or direction by counts from 1: the part in the order of
// the document, the measure in its part, and which note (or which direction) of
// the measure. It holds where a program writes the score anew, with other white
// space, ids and names, partwise or timewise.
type place struct{ part, measure, index int32 }

// String returns "1.12.3".
func (p place) String() string { return fmt.Sprintf("%d.%d.%d", p.part, p.measure, p.index) }

func parsePlace(s string) (p place, ok bool) {
	n, err := fmt.Sscanf(s, "%d.%d.%d", &p.part, &p.measure, &p.index)
	return p, err == nil && n == 3 && p.String() == s
}

// eachMeasure calls visit for every measure of every part in document order, with
// the element that holds its notes: <measure> in score-partwise, <part> in
// score-timewise. The place has no index yet.
func eachMeasure(t *markup.Tree, visit func(at place, holder markup.ID)) {
	outer, inner := markup.NamePart, markup.NameMeasure
	timewise := t.Elements[t.Root()].Name == markup.NameScoreTimewise
	if timewise {
		outer, inner = inner, outer
	}
	first := int32(0)
	for a := range named(t, t.Root(), outer) {
		first++
		second := int32(0)
		for b := range named(t, a, inner) {
			second++
			if timewise {
				visit(place{part: second, measure: first}, b)
			} else {
				visit(place{part: first, measure: second}, b)
			}
		}
	}
}

// named ranges over the children of an element that have the name.
func named(t *markup.Tree, parent markup.ID, name markup.Name) func(func(markup.ID) bool) {
	return func(yield func(markup.ID) bool) {
		for c := t.Elements[parent].First; c != markup.None; c = t.Elements[c].Next {
			t.Work.Step(1)
			if t.Elements[c].Name == name && !yield(c) {
				return
			}
		}
	}
}

// firstMeasure returns the element that holds the first measure of the lowest part,
// and how many staves that part has there; markup.None if there is no measure.
func firstMeasure(t *markup.Tree) (holder markup.ID, staves int) {
	holder = markup.None
	eachMeasure(t, func(at place, id markup.ID) {
		if at.measure == 1 {
			holder = id
		}
	})
	if holder == markup.None {
		return holder, 1
	}
	return holder, stavesIn(t, holder)
}

// stavesIn returns how many staves a measure declares, 1 where it does not.
func stavesIn(t *markup.Tree, holder markup.ID) int {
	staves := 1
	for a := range named(t, holder, markup.NameAttributes) {
		if s := t.Child(a, markup.NameStaves); s != markup.None {
			staves = smallNumber(t.Content(s), staves)
		}
	}
	return staves
}

// smallNumber reads a count from 1 to 999; anything else is the default.
func smallNumber(text []byte, otherwise int) int {
	if len(text) == 0 || len(text) > 3 {
		return otherwise
	}
	n := 0
	for _, c := range text {
		if c < '0' || c > '9' {
			return otherwise
		}
		n = n*10 + int(c-'0')
	}
	return max(n, 1)
}
