// Command fitharmony counts and fits the numbers of package harmony, and writes
// analyses for measuring. Run it from the project root, where ../shared/data
// holds the labeled scores:
//
//	go run ./worker/fitharmony counts            writes theory/harmony/counts.tsv and counts-free.tsv
//	go run ./worker/fitharmony nets              trains theory/harmony/net-chorale.bin and net-free.bin
//	go run ./worker/fitharmony weights           fits theory/harmony/weights.tsv
//	go run ./worker/fitharmony weights-free      fits theory/harmony/weights-free.tsv
//	go run ./worker/fitharmony melodies          fits theory/harmony/tune/weights.tsv
//	go run ./worker/fitharmony basses            fits theory/harmony/tune/bass.tsv
//	go run ./worker/fitharmony validate          cross-validates every set
//	go run ./worker/fitharmony -nets FILE try STYLE NAME=VALUE,... cross-validates with other weights
//	go run ./worker/fitharmony table SCORES LABELS  how often each confidence is right
//	go run ./worker/fitharmony write SCORES OUT  writes OUT/NAME.rntxt for SCORES/NAME.mxl
package main

import (
	"flag"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"strings"

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
	kept := flag.String("nets", "", "file that keeps the nets of all folds for validate and try")
	flag.Parse()
	var err error
	switch {
	case flag.NArg() > 1 && strings.HasPrefix(flag.Arg(1), "-"): // it would be passed over, and -out with it
		err = fmt.Errorf("flags stand before %s", flag.Arg(0))
	case flag.Arg(0) == "counts":
		err = counts(*data, *out)
	case flag.Arg(0) == "weights":
		err = fitWeights(*data, *out, *only, *ridge, *held)
	case flag.Arg(0) == "weights-free":
		err = fitFree(*data, *out, *held)
	case flag.Arg(0) == "nets":
		err = trainNets(*data, *out)
	case flag.Arg(0) == "melodies":
		err = melodyLines.fit(os.Stdout, *data, *out, *held)
	case flag.Arg(0) == "basses":
		err = bassLines.fit(os.Stdout, *data, *out, *held)
	case flag.Arg(0) == "validate":
		err = validate(os.Stdout, *data, *kept)
	case flag.Arg(0) == "try" && flag.NArg() > 1:
		var style harmony.Style
		if style, err = harmony.ParseStyle(flag.Arg(1)); err == nil {
			err = try(os.Stdout, *data, *kept, style, flag.Args()[2:])
		}
	case flag.Arg(0) == "table" && flag.NArg() == 3:
		err = table(os.Stdout, flag.Arg(1), flag.Arg(2))
	case flag.Arg(0) == "write" && flag.NArg() == 3:
		err = writeAnalyses(flag.Arg(1), flag.Arg(2))
	default:
		err = fmt.Errorf("say what to do: counts, nets, weights, weights-free, melodies, basses, validate, table SCORES LABELS, or write SCORES OUT")
	}
	if err != nil {
		log.Fatal(err)
	}
}

// counts writes the tables of both styles.
func counts(data, out string) error {
	sets, err := readSets(data)
	if err != nil {
		return err
	}
	for style, table := range map[harmony.Style]struct{ name, from string }{
		harmony.ChoraleStyle: {"counts.tsv", "chorales and textbook examples"},
		harmony.FreeStyle:    {"counts-free.tsv", "songs, preludes, textbook examples and, for a fifth each, chorales"},
	} {
		file, err := os.Create(filepath.Join(out, table.name))
		if err != nil {
			return err
		}
		err = sets.count(style, func(*labeled) int { return -1 }).write(file, table.from)
		if closing := file.Close(); err == nil {
			err = closing
		}
		if err != nil {
			return err
		}
	}
	return nil
}
