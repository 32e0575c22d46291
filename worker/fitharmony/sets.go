package main

import (
	"fmt"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"

	"partwright/theory/harmony"
)

// folds is the number of parts of a cross-validation. Examples of one book stand
// next to each other, so each fold holds some of every book.
const folds = 5

// labeled is a set of scores with human analyses, in folds.
type labeled struct {
	name     string
	examples []*example
	grids    []*grid
	fold     []int
	// unscored are analyses whose score counts measures otherwise: they can be
	// counted but not compared.
	unscored []*harmony.RomanText
}

// countedDifferently names chorales whose score and analysis count measures differently
// after a repeat; they cannot be compared.
var countedDifferently = map[string]bool{"043": true, "121": true, "179": true, "197": true, "253": true, "333": true, "359": true}

// setFiles says where each set lies: scores and, under the same stem, labels.
var setFiles = map[string]struct{ scores, labels string }{
	"chorales":  {"chorales-open/*.mxl", "analyses/chorales"},
	"textbooks": {"textbooks/*.mxl", "textbooks"},
	"songs":     {"repertoire/lieder-*.mxl", "repertoire"},
	"preludes":  {"repertoire/bachkb-*.mxl", "repertoire"},
}

// readSet reads a set. Songs lie in folds by composer, so that no cycle is on
// both sides of a split; everything else is a work by itself.
func readSet(data, name string) (*labeled, error) {
	s := &labeled{name: name}
	paths, err := filepath.Glob(filepath.Join(data, setFiles[name].scores))
	if err != nil {
		return nil, err
	}
	if len(paths) == 0 {
		return nil, fmt.Errorf("%s holds no %s", data, setFiles[name].scores)
	}
	works := map[string]int{}
	for i, path := range paths {
		labels, err := firstOf(filepath.Join(data, setFiles[name].labels), stem(path))
		if err != nil || labels == nil {
			continue
		}
		if name == "chorales" && countedDifferently[stem(path)] {
			s.unscored = append(s.unscored, labels)
			continue
		}
		t, err := readTexture(path)
		if err != nil {
			return nil, err
		}
		fold := i % folds
		if name == "songs" {
			fold = foldOf(works, composer(labels))
		}
		e := &example{stem(path), t, labels}
		s.examples, s.grids, s.fold = append(s.examples, e), append(s.grids, newGrid(e)), append(s.fold, fold)
	}
	return s, nil
}

// foldOf deals works to folds in the order in which they come.
func foldOf(works map[string]int, work string) int {
	if _, known := works[work]; !known {
		works[work] = len(works) % folds
	}
	return works[work]
}

func composer(r *harmony.RomanText) string {
	for _, line := range r.Header {
		if strings.EqualFold(line.Tag, "composer") {
			return line.Value
		}
	}
	return ""
}

// outside are the labels that a model for a fold may learn from: those of all
// other folds. Fold -1 leaves nothing out.
func (s *labeled) outside(fold int) []*harmony.RomanText {
	out := slices.Clone(s.unscored)
	for i, e := range s.examples {
		if s.fold[i] != fold {
			out = append(out, e.labels)
		}
	}
	return out
}

// read analyzes every example with the model of its fold.
func (s *labeled) read(model reader) []*harmony.Analysis {
	out := make([]*harmony.Analysis, len(s.examples))
	each(len(out), func(i int) { out[i] = model(s.fold[i], s.examples[i].texture).Analyze(s.examples[i].texture) })
	return out
}

// compare counts where analyses agree with the labels.
func (s *labeled) compare(all []*harmony.Analysis) hits {
	total := hits{}
	for i, a := range all {
		total.add(s.grids[i].compare(a))
	}
	return total
}

// each calls do for 0 to n-1, several at a time.
func each(n int, do func(i int)) {
	var wait sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := range next {
				do(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wait.Wait()
}
