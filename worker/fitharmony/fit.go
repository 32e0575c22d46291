package main

import (
	"bufio"
	_ "embed"
	"fmt"
	"log"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"sort"
	"strings"
	"sync"

	"partwright/theory/harmony"
)

//go:embed start.tsv
var startTable string

// fitter fits weights on textbook examples. Each example is read with habits
// counted without its fold, so that no weight learns to trust a succession only
// because the example itself was counted.
type fitter struct {
	textbooks *labeled
	models    [folds]*harmony.Model
	start     map[string]float64
	// ridge is the penalty, in points of a hundred, for each weight that has
	// moved by its own size.
	ridge float64
	// only, if set, keeps all other weights as they are.
	only *regexp.Regexp
}

func newFitter(data string, ridge float64) (*fitter, error) {
	f := &fitter{start: harmony.ParseTable(startTable), ridge: ridge}
	sets, err := readSets(data)
	if err != nil {
		return nil, err
	}
	f.textbooks = sets.textbooks
	f.models = *sets.styleModels(sets.textbooks, harmony.ChoraleStyle, f.start, sets.foldNets(recipes[harmony.ChoraleStyle]))
	return f, nil
}

// measure reads the examples of some folds with the given weights.
func (f *fitter) measure(weights map[string]float64, use func(fold int) bool) hits {
	models := [folds]*harmony.Model{}
	for i := range models {
		models[i] = f.models[i].WithWeights(weights)
	}
	var mu sync.Mutex
	var wait sync.WaitGroup
	total := hits{}
	for half := range 2 {
		wait.Go(func() {
			sum := hits{}
			for i := half; i < len(f.textbooks.examples); i += 2 {
				if fold := f.textbooks.fold[i]; use(fold) {
					sum.add(f.textbooks.grids[i].compare(models[fold].Analyze(f.textbooks.examples[i].texture)))
				}
			}
			mu.Lock()
			total.add(sum)
			mu.Unlock()
		})
	}
	wait.Wait()
	return total
}

func (h hits) percent(n int) float64 { return 100 * float64(n) / float64(max(h.points, 1)) }

// objective is what is made as large as possible: mostly the share of eighth
// notes right in key and numeral, a little of its parts, less the ridge.
func (f *fitter) objective(weights map[string]float64, use func(int) bool) float64 {
	h := f.measure(weights, use)
	value := h.merit()
	for name, start := range f.start {
		moved := (weights[name] - start) / scaleOf(start)
		value -= f.ridge * moved * moved
	}
	return value
}

func scaleOf(start float64) float64 { return math.Max(math.Abs(start), 0.5) }

// ascend improves one weight after another until a round changes nothing.
func (f *fitter) ascend(use func(int) bool, rounds int) map[string]float64 {
	weights := map[string]float64{}
	var names []string
	for name, v := range f.start {
		weights[name] = v
		if f.only == nil || f.only.MatchString(name) {
			names = append(names, name)
		}
	}
	sort.Strings(names)
	best := f.objective(weights, use)
	for round := range rounds {
		before := best
		for _, name := range names {
			for _, step := range []float64{-0.5, 0.5, -0.2, 0.2} {
				old := weights[name]
				weights[name] = old + step*scaleOf(f.start[name])
				if positive(name) && weights[name] < 0 {
					weights[name] = 0
				}
				if value := f.objective(weights, use); value > best+1e-9 {
					best = value
					break
				}
				weights[name] = old
			}
		}
		log.Printf("round %d: %.2f", round+1, best)
		if best-before < 0.02 {
			break
		}
	}
	return weights
}

// positive names weights that would turn into their opposite below zero.
func positive(name string) bool {
	return !strings.HasPrefix(name, "begin") && name != "leap" && name != "pivot"
}

func (h hits) String() string {
	return fmt.Sprintf("full %.1f numeral %.1f key %.1f root %.1f of %d eighths",
		h.percent(h.full), h.percent(h.numeral), h.percent(h.key), h.percent(h.root), h.points)
}

// fitWeights fits on all folds and writes weights.tsv; before, it tells what
// fitting without each fold gives on that fold.
func fitWeights(data, out, only string, ridge float64, validate bool) error {
	f, err := newFitter(data, ridge)
	if err != nil {
		return err
	}
	if only != "" {
		if f.only, err = regexp.Compile(only); err != nil {
			return err
		}
	}
	all := func(int) bool { return true }
	log.Printf("before: %v", f.measure(f.start, all))
	if validate {
		held := hits{}
		for fold := range folds {
			w := f.ascend(func(i int) bool { return i != fold }, 3)
			held.add(f.measure(w, func(i int) bool { return i == fold }))
		}
		log.Printf("held back: %v", held)
	}
	weights := f.ascend(all, 4)
	log.Printf("after: %v", f.measure(weights, all))
	f.certainty(weights).into(weights)
	return writeWeights(filepath.Join(out, "weights.tsv"), weightsHeader, weights)
}

func writeWeights(path, header string, weights map[string]float64) error {
	file, err := os.Create(path)
	if err != nil {
		return err
	}
	b := bufio.NewWriter(file)
	fmt.Fprint(b, header)
	names := make([]string, 0, len(weights))
	for name := range weights {
		names = append(names, name)
	}
	sort.Strings(names)
	for _, name := range names {
		fmt.Fprintf(b, "%s\t%.4g\n", name, weights[name])
	}
	if err := b.Flush(); err != nil {
		return err
	}
	return file.Close()
}

const weightsHeader = `# Weights of the harmonic model in log probability: what speaks against a reading.
# Most are set by ear (worker/fitharmony/start.tsv); those of habits were fitted by
# "go run ./worker/fitharmony weights" on textbook examples (scores and labels) of the
# dataset "When in Rome" (Gotham, Micchi, Napoles Lopez, Sailor, TISMIR 6(1), 2023),
# CC BY-SA 4.0; those of the net and of changes of key were chosen so that printed
# progressions and cross-validated textbook examples read best with it; those of
# confidence were fitted on cross-validated readings of chorales and textbook examples.
# weights.go says what each of them weighs.
`

const freeHeader = `# Weights of the harmonic model for the free style (songs, keyboard, ensembles) in
# log probability: what speaks against a reading. Begun by ear
# (worker/fitharmony/start-free.tsv) and fitted by "go run ./worker/fitharmony
# weights-free" on songs of the OpenScore Lieder Corpus (CC0) and keyboard preludes
# with labels of the dataset "When in Rome" (Gotham, Micchi, Napoles Lopez, Sailor,
# TISMIR 6(1), 2023), CC BY-SA 4.0; a derivative under the same licence.
# weights.go says what each of them weighs.
`
