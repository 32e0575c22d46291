// Command fitharmony counts and fits the numbers of package harmony, and writes
// analyses for measuring. Run it from the project root, where ../shared/data
// holds the labelled scores:
//
//	go run ./worker/fitharmony counts            writes theory/harmony/counts.tsv
//	go run ./worker/fitharmony write SCORES OUT  writes OUT/NAME.rntxt for SCORES/NAME.mxl
package main

import (
	"flag"
	"fmt"
	"log"
	"os"
	"path/filepath"
)

func main() {
	log.SetFlags(0)
	data := flag.String("data", "../shared/data", "folder that holds analyses and textbooks")
	out := flag.String("out", "theory/harmony", "folder to write to")
	flag.Parse()
	var err error
	switch {
	case flag.Arg(0) == "counts":
		err = counts(*data, *out)
	case flag.Arg(0) == "write" && flag.NArg() == 3:
		err = writeAnalyses(flag.Arg(1), flag.Arg(2))
	default:
		err = fmt.Errorf("say what to do: counts, or write SCORES OUT")
	}
	if err != nil {
		log.Fatal(err)
	}
}

func counts(data, out string) error {
	t := tally{}
	for _, pattern := range []string{"analyses/chorales/*.txt", "textbooks/*.rntxt"} {
		paths, err := filepath.Glob(filepath.Join(data, pattern))
		if err != nil {
			return err
		}
		for _, path := range paths {
			r, err := readLabels(path)
			if err != nil {
				return err
			}
			t.count(r, 1)
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
