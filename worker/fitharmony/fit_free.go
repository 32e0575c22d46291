package main

import (
	_ "embed"
	"log"
	"maps"
	"os"
	"path/filepath"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/beatnet"
)

//go:embed start-free.tsv
var startFreeTable string

// fitFree fits the weights of the free style on songs and preludes, each read with
// tables and a net that have not seen its fold. With validate it fits on three folds
// and reads the other two, and the other way round, before it fits on all.
func fitFree(data, out string, validate bool) error {
	sets, err := readSets(data)
	if err != nil {
		return err
	}
	nets := sets.foldNets(recipes[harmony.FreeStyle])
	start := harmony.ParseTable(startFreeTable)
	if validate {
		total := map[string]*hits{}
		for _, fitted := range []func(int) bool{func(fold int) bool { return fold < 3 }, func(fold int) bool { return fold >= 3 }} {
			w := sets.ascendFree(nets, start, fitted)
			for _, p := range sets.freeParts(func(fold int) bool { return !fitted(fold) }) {
				if total[p.name] == nil {
					total[p.name] = &hits{}
				}
				total[p.name].add(p.compare(p.read(sets.freeReader(p, w, nets))))
			}
		}
		for name, h := range total {
			log.Printf("%s held back: %v", name, *h)
		}
	}
	weights := sets.ascendFree(nets, start, func(int) bool { return true })
	var sure certainties
	for _, p := range sets.freeParts(func(int) bool { return true }) {
		for i, a := range p.read(sets.freeReader(p, weights, nets)) {
			sure.add(p, i, a)
		}
	}
	fitCertainty(sure.without(harmony.FreeStyle, -1)).into(weights)
	return writeWeights(filepath.Join(out, "weights-free.tsv"), freeHeader, weights)
}

// freeParts are the songs and the preludes of some folds.
func (a *allSets) freeParts(use func(fold int) bool) []*labeled {
	var out []*labeled
	for _, s := range []*labeled{a.songs, a.preludes} {
		p := &labeled{name: s.name, unscored: s.unscored}
		for i := range s.examples {
			if use(s.fold[i]) {
				p.examples, p.grids, p.fold = append(p.examples, s.examples[i]), append(p.grids, s.grids[i]), append(p.fold, s.fold[i])
			}
		}
		out = append(out, p)
	}
	return out
}

func (a *allSets) named(name string) *labeled {
	for _, s := range a.all() {
		if s.name == name {
			return s
		}
	}
	return nil
}

func (a *allSets) freeReader(p *labeled, weights map[string]float64, nets [folds]*beatnet.Net) reader {
	models := a.styleModels(a.named(p.name), harmony.FreeStyle, weights, nets)
	return fixed(models)
}

// fixed reads every texture with the model of its fold.
func fixed(models *[folds]*harmony.Model) reader {
	return func(fold int, _ *theory.Texture) *harmony.Model { return models[fold] }
}

// partShare is how much each set counts: preludes are few.
var partShare = map[string]float64{"songs": 0.65, "preludes": 0.35}

// ascendFree turns the knobs of the free style on some folds.
func (a *allSets) ascendFree(nets [folds]*beatnet.Net, start map[string]float64, use func(fold int) bool) map[string]float64 {
	parts := a.freeParts(use)
	models := make([]*[folds]*harmony.Model, len(parts))
	for i, p := range parts {
		models[i] = a.styleModels(a.named(p.name), harmony.FreeStyle, start, nets)
	}
	return ascendKnobs(os.Stderr, start, freeKnobs, 2, 0.04, func(w map[string]float64) float64 {
		all := 0.0
		for i, p := range parts {
			var turned [folds]*harmony.Model
			for f := range turned {
				turned[f] = models[i][f].WithWeights(w)
			}
			h := p.compare(p.read(fixed(&turned)))
			all += partShare[p.name] * h.merit()
		}
		return all
	})
}

// merit is what fits make as large as possible: mostly the share of eighth notes
// right in key and numeral, a little of its parts.
func (h hits) merit() float64 {
	return 0.6*h.percent(h.full) + 0.2*h.percent(h.numeral) + 0.1*h.percent(h.key) + 0.1*h.percent(h.root)
}

// knob is a weight, or all weights of a prefix that ends in a space, that are
// moved together: by a factor, or by a step where add is set.
type knob struct {
	name  string
	steps []float64
	add   bool
}

// freeKnobs are what a fit moves; few, so that some dozens of songs can tell.
var freeKnobs = []knob{
	{"key-net", []float64{0.7, 1.4}, false}, {"root-net", []float64{0.6, 1.6}, false},
	{"begin-net", []float64{0.6, 1.6}, false}, {"within-net", []float64{0.6, 1.6}, false},
	{"strong ", []float64{0.8, 1.25}, false}, {"held ", []float64{0.8, 1.25}, false},
	{"begin ", []float64{-0.2, 0.2}, true}, {"missing ", []float64{0.8, 1.25}, false},
	{"bass moves", []float64{0.7, 1.4}, false}, {"outside", []float64{0.8, 1.25}, false},
	{"habits", []float64{0.8, 1.25}, false}, {"leap", []float64{-0.4, 0.4}, true},
}

// turned returns weights with a knob turned by one of its steps.
func (k knob) turned(weights map[string]float64, step float64) map[string]float64 {
	out := maps.Clone(weights)
	for name := range out {
		if name != k.name && !(strings.HasSuffix(k.name, " ") && strings.HasPrefix(name, k.name)) {
			continue
		}
		if k.add {
			out[name] += step
		} else {
			out[name] *= step
		}
	}
	return out
}
