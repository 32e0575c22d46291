package main

import (
	"errors"
	"os"
	"path/filepath"
	"strings"

	"partwright/worker"
)

// besideScores is the word for labels that lie beside each score.
const besideScores = "beside"

// labelFiles finds the analysis that belongs to a score.
type labelFiles struct {
	// one is the same for every score; nil for none.
	one    *worker.Labels
	beside bool
}

// newLabelFiles reads what --labels says: nothing, a file for the only score, or
// that the files lie beside the scores.
func newLabelFiles(flag string, paths []string) (*labelFiles, error) {
	switch flag {
	case "":
		return &labelFiles{}, nil
	case besideScores:
		return &labelFiles{beside: true}, nil
	}
	if info, err := os.Stat(paths[0]); len(paths) > 1 || err == nil && info.IsDir() {
		return nil, errors.New("--labels FILE is for one score: put the labels of several beside them and say --labels beside")
	}
	one, err := fromFile(flag, worker.ReadLabels)
	return &labelFiles{one: one}, err
}

// of returns the labels of a score, nil where there are none: nothing lies beside a
// score from an archive or from standard input. A NAME.txt that holds no numeral is
// some other text.
func (l *labelFiles) of(score string) (*worker.Labels, error) {
	if !l.beside {
		return l.one, nil
	}
	if !isFile(score) {
		return nil, nil //nolint:nilnil // nothing is beside it, and nothing is wrong
	}
	name := strings.TrimSuffix(score, filepath.Ext(score))
	if isFile(name + ".rntxt") {
		return fromFile(name+".rntxt", worker.ReadLabels)
	}
	if !isFile(name + ".txt") {
		return nil, nil //nolint:nilnil // as above
	}
	labels, err := fromFile(name+".txt", worker.ReadLabels)
	var other *worker.SettingsError
	if errors.As(err, &other) {
		return nil, nil //nolint:nilnil // as above
	}
	return labels, err
}

// isFile reports whether a path is a regular file: a pipe would be read for ever.
func isFile(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.Mode().IsRegular()
}
