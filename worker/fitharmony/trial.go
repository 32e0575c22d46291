package main

import (
	"encoding/gob"
	"fmt"
	"io"
	"maps"
	"os"
	"strconv"
	"strings"

	"partwright/theory/harmony"
	"partwright/theory/harmony/beatnet"
)

// keptNets reads the nets of all folds from a file, or trains them and keeps them
// there, so that trials of weights need not train again; no path keeps nothing.
func (a *allSets) keptNets(path string) (map[harmony.Style][folds]*beatnet.Net, error) {
	if file, err := os.Open(path); err == nil {
		defer file.Close()
		var nets map[harmony.Style][folds]*beatnet.Net
		return nets, gob.NewDecoder(file).Decode(&nets)
	}
	nets := a.styleNets()
	if path == "" {
		return nets, nil
	}
	file, err := os.Create(path)
	if err != nil {
		return nil, err
	}
	err = gob.NewEncoder(file).Encode(nets)
	if closing := file.Close(); err == nil {
		err = closing
	}
	return nets, err
}

// try cross-validates the sets of a style with other weights than the built-in
// ones. Each trial is a list such as "key-net=0.2,begin *0.5": a weight is set, or
// all weights of a prefix are multiplied.
func try(w io.Writer, data, kept string, style harmony.Style, trials []string) error {
	sets, err := readSets(data)
	if err != nil {
		return err
	}
	nets, err := sets.keptNets(kept)
	if err != nil {
		return err
	}
	lots := []*labeled{sets.chorales, sets.textbooks}
	if style == harmony.FreeStyle {
		lots = []*labeled{sets.songs, sets.preludes}
	}
	for _, trial := range append([]string{""}, trials...) {
		weights, err := changed(harmony.BuiltInWeights(style), trial)
		if err != nil {
			return err
		}
		fmt.Fprintf(w, "%s:\n", trial)
		for _, s := range lots {
			fmt.Fprintf(w, "  %-10s %v\n", s.name, s.compare(s.read(fixed(sets.styleModels(s, style, weights, nets[style])))))
		}
	}
	return nil
}

func changed(weights map[string]float64, trial string) (map[string]float64, error) {
	out := maps.Clone(weights)
	for _, change := range strings.Split(trial, ",") {
		at := strings.IndexAny(change, "=*")
		if at < 0 {
			continue
		}
		value, err := strconv.ParseFloat(change[at+1:], 64)
		if err != nil {
			return nil, fmt.Errorf("%q: %w", change, err)
		}
		found := false
		for name := range out {
			switch {
			case change[at] == '=' && name == change[:at]:
				out[name], found = value, true
			case change[at] == '*' && strings.HasPrefix(name, change[:at]):
				out[name], found = out[name]*value, true
			}
		}
		if !found {
			return nil, fmt.Errorf("%q: no such weight", change)
		}
	}
	return out, nil
}
