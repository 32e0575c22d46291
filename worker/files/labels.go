package files

import (
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"
	"strings"

	"partwright/worker/settings"
)

// labelSuffixes are those of the files that may hold the labels of a score of the
// same name, the one that goes first first.
var labelSuffixes = []string{".rntxt", ".txt"}

// IsLabels reports whether a file may hold labels, by its name.
func IsLabels(name string) bool { return extension(name, labelSuffixes) != "" }

// maxLabels bounds the labels of one archive or form together, in bytes: they are
// held in memory until their scores have come.
const maxLabels = 64 << 20

// LabelFiles are files that came with scores and may be their labels. Nil holds none.
type LabelFiles struct {
	files map[string]labelFile
	bytes int
}

type labelFile struct {
	name string
	data []byte
	err  error
}

// Add adds the file at a path among the scores; name is what messages call it, err
// says why it could not be read.
func (l *LabelFiles) Add(place, name string, data []byte, err error) {
	if l.bytes += len(data); l.bytes > maxLabels {
		data, err = nil, fmt.Errorf("the labels that came together are larger than %d bytes", maxLabels)
	}
	if l.files == nil {
		l.files = map[string]labelFile{}
	}
	l.files[place] = labelFile{name, data, err}
}

// Beside returns how to read the labels of the score at a path among these files:
// NAME.rntxt, or NAME.txt if it holds a numeral; nil where there are none.
func (l *LabelFiles) Beside(score string) func() (*settings.Labels, error) {
	if l == nil {
		return nil
	}
	name := strings.TrimSuffix(score, path.Ext(score))
	for _, suffix := range labelSuffixes {
		if f, ok := l.files[name+suffix]; ok {
			return func() (*settings.Labels, error) { return labelsFrom(f.name, f.data, f.err) }
		}
	}
	return nil
}

// labelsOnDisk returns the same for a file on disk.
func labelsOnDisk(score string) func() (*settings.Labels, error) {
	for _, name := range labelsNames(score) {
		if info, err := os.Stat(name); err == nil && info.Mode().IsRegular() {
			return func() (*settings.Labels, error) {
				data, err := readLabelsFile(name)
				return labelsFrom(name, data, err)
			}
		}
	}
	return nil
}

// labelsNames are the files on disk that may hold the labels of a score, the one that
// goes first first.
func labelsNames(score string) []string {
	name := strings.TrimSuffix(score, filepath.Ext(score))
	names := make([]string, 0, len(labelSuffixes))
	for _, suffix := range labelSuffixes {
		names = append(names, name+suffix)
	}
	return names
}

func readLabelsFile(name string) ([]byte, error) {
	r, _, err := openRegular(name)
	if err != nil {
		return nil, err
	}
	defer func() { _ = r.Close() }()
	return io.ReadAll(io.LimitReader(r, settings.MaxBytes+1))
}

// labelsFrom reads labels; a NAME.txt without a numeral is some other text, and nil.
func labelsFrom(name string, data []byte, err error) (*settings.Labels, error) {
	var labels *settings.Labels
	if err == nil {
		labels, err = settings.ReadLabels(name, data)
	} else {
		err = &settings.Error{File: name, What: settings.LabelsFile, Lines: []settings.Problem{{Message: err.Error()}}}
	}
	if err != nil && extension(name, labelSuffixes) != labelSuffixes[0] {
		return nil, nil //nolint:nilnil // no labels, and nothing wrong
	}
	return labels, err
}
