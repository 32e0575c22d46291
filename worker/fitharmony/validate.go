package main

import (
	"fmt"
	"io"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/beatnet"
)

// validate cross-validates every set: each fold is read by models that have seen
// none of its labels, in the style that its texture asks for.
func validate(w io.Writer, data, kept string) error {
	sets, err := readSets(data)
	if err != nil {
		return err
	}
	nets, err := sets.keptNets(kept)
	if err != nil {
		return err
	}
	var sure certainties
	fmt.Fprintln(w, "set         eighths    full  numeral   key   root   free style")
	for _, s := range sets.all() {
		analyses := s.read(sets.models(s, nets))
		h := s.compare(analyses)
		free := 0
		for i, a := range analyses {
			if a.Style == harmony.FreeStyle {
				free++
			}
			sure.add(s, i, a)
		}
		fmt.Fprintf(w, "%-10s %8d   %5.1f   %5.1f   %5.1f  %5.1f   %d of %d\n", s.name, h.points,
			h.percent(h.full), h.percent(h.numeral), h.percent(h.key), h.percent(h.root), free, len(analyses))
	}
	sure.report(w)
	return nil
}

// styleNets trains the nets of both styles for each fold.
func (a *allSets) styleNets() map[harmony.Style][folds]*beatnet.Net {
	out := map[harmony.Style][folds]*beatnet.Net{}
	for style, r := range recipes {
		out[style] = a.foldNets(r)
	}
	return out
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

// reader chooses the model that reads a texture of a fold.
type reader func(fold int, t *theory.Texture) *harmony.Model

// models makes the models that a set may be read with: they have seen nothing of
// the fold that they read.
func (a *allSets) models(s *labeled, nets map[harmony.Style][folds]*beatnet.Net) reader {
	models := map[harmony.Style]*[folds]*harmony.Model{}
	for style := range recipes {
		models[style] = a.styleModels(s, style, harmony.BuiltInWeights(style), nets[style])
	}
	return func(fold int, t *theory.Texture) *harmony.Model { return models[harmony.StyleOf(t)][fold] }
}

// styleModels makes the models of one style, one for each fold of a set.
func (a *allSets) styleModels(s *labeled, style harmony.Style, weights map[string]float64, nets [folds]*beatnet.Net) *[folds]*harmony.Model {
	var models [folds]*harmony.Model
	each(folds, func(fold int) {
		t := a.count(style, func(other *labeled) int {
			if other == s {
				return fold
			}
			return -1
		})
		models[fold] = harmony.NewModel(t, weights).WithNet(nets[fold]).WithStyle(style)
	})
	return &models
}

// count counts the labels of all sets but a fold of each, for a style.
func (a *allSets) count(style harmony.Style, leave func(*labeled) int) tally {
	t := tally{}
	for _, s := range a.all() {
		weight := countWeights[style][s.name]
		if weight == 0 {
			continue
		}
		for _, r := range s.outside(leave(s)) {
			t.count(r, weight)
		}
	}
	return t
}

// countWeights are how much a label of each set counts in the tables of a style.
// For chorales a textbook's counts twice, since textbooks are few and show the
// changes of key that chorales lack: held-back folds prefer 2 to 1, 4 and 8.
var countWeights = map[harmony.Style]map[string]float64{
	harmony.ChoraleStyle: {"chorales": 1, "textbooks": 2},
	harmony.FreeStyle:    {"chorales": 0.2, "textbooks": 1, "songs": 1, "preludes": 1},
}
