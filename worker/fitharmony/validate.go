package main

import (
	"fmt"
	"io"

	"partwright/theory/harmony"
)

// validate cross-validates every set: each fold is read by a model that has seen
// none of its labels.
func validate(w io.Writer, data string) error {
	sets, err := readSets(data)
	if err != nil {
		return err
	}
	fmt.Fprintln(w, "set         eighths    full  numeral   key   root")
	for _, s := range sets.all() {
		h := s.compare(s.read(sets.models(s, harmony.BuiltInWeights())))
		fmt.Fprintf(w, "%-10s %8d   %5.1f   %5.1f   %5.1f  %5.1f\n",
			s.name, h.points, h.percent(h.full), h.percent(h.numeral), h.percent(h.key), h.percent(h.root))
	}
	return nil
}

// allSets are the labeled sets.
type allSets struct{ chorales, textbooks, songs, preludes *labeled }

func readSets(data string) (*allSets, error) {
	out := &allSets{}
	for name, set := range map[string]**labeled{"chorales": &out.chorales, "textbooks": &out.textbooks,
		"songs": &out.songs, "preludes": &out.preludes} {
		s, err := readSet(data, name)
		if err != nil {
			return nil, err
		}
		*set = s
	}
	return out, nil
}

func (a *allSets) all() []*labeled { return []*labeled{a.chorales, a.textbooks, a.songs, a.preludes} }

// models makes the models that a set may be read with, one for each of its
// folds: they have counted all sets but that fold.
func (a *allSets) models(s *labeled, weights map[string]float64) func(fold int) *harmony.Model {
	var models [folds]*harmony.Model
	each(folds, func(fold int) {
		t := tally{}
		for _, other := range []*labeled{a.chorales, a.textbooks} {
			leave := -1
			if other == s {
				leave = fold
			}
			for _, r := range other.outside(leave) {
				t.count(r, countWeight[other.name])
			}
		}
		models[fold] = harmony.NewModel(t, weights)
	})
	return func(fold int) *harmony.Model { return models[fold] }
}

// countWeight is how much a label of each set counts. A textbook's counts twice,
// since textbooks are few and show the changes of key that chorales lack:
// held-back folds prefer 2 to 1, 4 and 8.
var countWeight = map[string]float64{"chorales": 1, "textbooks": 2}
