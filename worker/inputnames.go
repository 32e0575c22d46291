package worker

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strings"

	"partwright/musicxml"
)

// accessError says why a file could not be opened, as the reader of scores would.
func accessError(name string, err error) error {
	// The path is in the message already.
	var pathErr *fs.PathError
	if errors.As(err, &pathErr) {
		err = pathErr.Err
	}
	return &musicxml.InputError{
		Code: "not-accessible", File: name,
		Problem: fmt.Sprintf("The file could not be opened (%v).", err),
		Advice:  "Check the path and the permissions.",
	}
}

// scoreExtensions are the endings that MusicXML 4.0 gives its files, and .xml,
// which older programs write.
var scoreExtensions = []string{".musicxml", ".mxl", ".xml"}

// archiveExtensions are those of the archives that are opened.
var archiveExtensions = []string{".zip", ".tar.gz", ".tgz", ".tar"}

// notAScore says why a file met in a folder is passed over, or "".
func notAScore(name string) string {
	if extension(name, scoreExtensions) == "" && extension(name, archiveExtensions) == "" {
		return "not a score or archive by its name (.musicxml, .xml, .mxl, .zip, .tar.gz)"
	}
	return ""
}

// mayBeArchive tells whether it is worth looking into a file: one that was named
// is looked into whatever it is called.
func mayBeArchive(f file) bool {
	return f.named || extension(f.path, archiveExtensions) != ""
}

// extension returns which of the endings a name has, as it is written there.
func extension(name string, endings []string) string {
	for _, e := range endings {
		if len(name) > len(e) && strings.EqualFold(name[len(name)-len(e):], e) {
			return name[len(name)-len(e):]
		}
	}
	return ""
}

// withoutExtension takes the ending off the last element of a slash path.
func withoutExtension(place string) string {
	for _, endings := range [][]string{scoreExtensions, archiveExtensions} {
		if e := extension(place, endings); e != "" {
			return strings.TrimSuffix(place, e)
		}
	}
	if e := path.Ext(place); len(e) < len(path.Base(place)) {
		return strings.TrimSuffix(place, e)
	}
	return place
}

func isHidden(base string) bool { return strings.HasPrefix(base, ".") && base != "." && base != ".." }
