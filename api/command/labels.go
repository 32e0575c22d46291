package command

import (
	"errors"
	"iter"
	"os"
	"slices"

	"partwright/worker/files"
	"partwright/worker/request"
	"partwright/worker/settings"
)

// withLabels gives the only score the labels in a file, where --labels names one.
func withLabels(items iter.Seq[files.Item], flag string, paths []string) (iter.Seq[files.Item], error) {
	if flag == "" || flag == request.Beside {
		return items, nil
	}
	isFolder := func(name string) bool {
		info, err := os.Stat(name)
		return err == nil && info.IsDir()
	}
	if len(paths) > 1 || slices.ContainsFunc(paths, isFolder) {
		return nil, errors.New("--labels FILE is for one score: put the labels of several beside them and say --labels beside")
	}
	source, err := readSource(flag)
	if err != nil {
		return nil, err
	}
	one, err := settings.ReadLabels(source.Name, []byte(source.Text))
	if err != nil {
		return nil, err
	}
	return func(yield func(files.Item) bool) {
		for item := range items {
			item.Labels = func() (*settings.Labels, error) { return one, nil }
			if !yield(item) {
				return
			}
		}
	}, nil
}
