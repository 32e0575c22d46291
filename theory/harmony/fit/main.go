// Command fit counts and fits the numbers of package harmony. Run it from the
// project root, where ../shared/data holds the labelled scores:
//
//	go run ./theory/harmony/fit counts    writes theory/harmony/counts.tsv
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

func main() {
	log.SetFlags(0)
	data := flag.String("data", "../shared/data", "folder that holds analyses and textbooks")
	out := flag.String("out", "theory/harmony", "folder to write to")
	flag.Parse()
	var err error
	switch flag.Arg(0) {
	case "counts":
		err = counts(*data, *out)
	case "write":
		err = writeAll(flag.Args()[1:])
	default:
		err = fmt.Errorf("say what to do: counts")
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
			text, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			r, err := harmony.ReadRomanText(strings.ToValidUTF8(string(text), "?"))
			if err != nil {
				return fmt.Errorf("%s: %w", path, err)
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

func writeAll(args []string) error {
	out := args[0]
	for _, path := range args[1:] {
		t, err := loadTemp(path)
		if err != nil {
			return err
		}
		a := harmony.Analyze(t)
		f, err := os.Create(filepath.Join(out, strings.TrimSuffix(filepath.Base(path), ".txt")+".rntxt"))
		if err != nil {
			return err
		}
		a.WriteRomanText(f, nil)
		f.Close()
	}
	return nil
}
