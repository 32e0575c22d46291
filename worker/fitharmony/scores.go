package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/separation"
)

// example is a score with its human analysis.
type example struct {
	name    string
	texture *theory.Texture
	labels  *harmony.RomanText
}

func readTexture(path string) (*theory.Texture, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	d, err := musicxml.Read(path, data, musicxml.Limits{})
	if err != nil {
		return nil, err
	}
	return separation.FindVoices(d.Score), nil
}

func readLabels(path string) (*harmony.RomanText, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	r, err := harmony.ReadRomanText(strings.ToValidUTF8(string(text), "?"))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return r, nil
}

var prefix = regexp.MustCompile(`^chor(\d)`)

// stem is the name that a score and its analysis share.
func stem(path string) string {
	name := filepath.Base(path)
	name = strings.TrimSuffix(name, filepath.Ext(name))
	return prefix.ReplaceAllString(name, "$1")
}

// writeAnalyses analyzes every score of a folder and writes NAME.rntxt to out.
func writeAnalyses(scores, out string) error {
	paths, err := filepath.Glob(filepath.Join(scores, "*.mxl"))
	if err != nil {
		return err
	}
	if len(paths) == 0 {
		return fmt.Errorf("%s holds no .mxl score", scores)
	}
	for _, path := range paths {
		t, err := readTexture(path)
		if err != nil {
			return err
		}
		file, err := os.Create(filepath.Join(out, stem(path)+".rntxt"))
		if err != nil {
			return err
		}
		err = harmony.Analyze(t).WriteRomanText(file, nil)
		if closing := file.Close(); err == nil {
			err = closing
		}
		if err != nil {
			return err
		}
	}
	return nil
}
