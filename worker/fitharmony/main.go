// Command fitharmony counts and fits the numbers of package harmony, and writes
// analyses for measuring. Run it from the project root, where ../shared/data
// holds the labeled scores:
//
//	go run ./worker/fitharmony counts            writes theory/harmony/counts.tsv
//	go run ./worker/fitharmony weights           fits theory/harmony/weights.tsv
//	go run ./worker/fitharmony validate          cross-validates every set
//	go run ./worker/fitharmony table SCORES LABELS  how often each confidence is right
//	go run ./worker/fitharmony write SCORES OUT  writes OUT/NAME.rntxt for SCORES/NAME.mxl
package main

import (
	"flag"
	"fmt"
	"log"
	"os"
	"path/filepath"

	"partwright/theory/harmony"
)

// fitted names the weights that textbook examples can tell something about.
const fitted = `^(habits|key-habits|first-habits|leap|pivot|unsettled|outside|signature)$`

func main() {
	log.SetFlags(0)
	data := flag.String("data", "../shared/data", "folder that holds analyses and textbooks")
	out := flag.String("out", "theory/harmony", "folder to write to")
	ridge := flag.Float64("ridge", 3, "how much a weight may not move, in hundredths")
	only := flag.String("only", fitted, "fit the weights whose names match only")
	held := flag.Bool("validate", false, "hold each fold back first")
	flag.Parse()
	var err error
	switch {
	case flag.Arg(0) == "counts":
		err = counts(*data, *out)
	case flag.Arg(0) == "weights":
		err = fitWeights(*data, *out, *only, *ridge, *held)
	case flag.Arg(0) == "validate":
		err = validate(os.Stdout, *data)
	case flag.Arg(0) == "table" && flag.NArg() == 3:
		err = table(os.Stdout, flag.Arg(1), flag.Arg(2))
	case flag.Arg(0) == "write" && flag.NArg() == 3:
		err = writeAnalyses(flag.Arg(1), flag.Arg(2))
	default:
		err = fmt.Errorf("say what to do: counts, weights, validate, table SCORES LABELS, or write SCORES OUT")
	}
	if err != nil {
		log.Fatal(err)
	}
}

func labelFiles(data, pattern string) ([]*harmony.RomanText, error) {
	paths, err := filepath.Glob(filepath.Join(data, pattern))
	if err != nil {
		return nil, err
	}
	if len(paths) == 0 {
		return nil, fmt.Errorf("%s holds no %s", data, pattern)
	}
	var out []*harmony.RomanText
	for _, path := range paths {
		r, err := readLabels(path)
		if err != nil {
			return nil, err
		}
		out = append(out, r)
	}
	return out, nil
}

func counts(data, out string) error {
	t := tally{}
	for pattern, weight := range map[string]float64{"analyses/chorales/*.txt": countWeight["chorales"], "textbooks/*.rntxt": countWeight["textbooks"]} {
		labels, err := labelFiles(data, pattern)
		if err != nil {
			return err
		}
		for _, r := range labels {
			t.count(r, weight)
		}
	}
	file, err := os.Create(filepath.Join(out, "counts.tsv"))
	if err != nil {
		return err
	}
	if err := t.write(file); err != nil {
		return err
	}
	return file.Close()
}
