package files

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strings"

	"partwright/musicxml"
)

// CodeNotAccessible is the code of what could not be opened.
const CodeNotAccessible = "not-accessible"

// accessError says why a file could not be opened, as the reader of scores would.
func accessError(name string, err error) error {
	// The path is in the message already.
	var pathErr *fs.PathError
	if errors.As(err, &pathErr) {
		err = pathErr.Err
	}
	return &musicxml.InputError{
		Code: CodeNotAccessible, File: name,
		Problem: fmt.Sprintf("The file could not be opened (%v).", err),
		Advice:  "Check the path and the permissions.",
	}
}

// scoreSuffixes are the suffixes that MusicXML 4.0 gives its files, and .xml,
// which older programs write.
var scoreSuffixes = []string{".musicxml", ".mxl", ".xml"}

// archiveSuffixes are those of the archives that are opened.
var archiveSuffixes = []string{".zip", ".tar.gz", ".tgz", ".tar"}

// IsArchiveName tells an archive by its name.
func IsArchiveName(name string) bool { return extension(name, archiveSuffixes) != "" }

// IsScoreName tells a score by its name.
func IsScoreName(name string) bool { return extension(name, scoreSuffixes) != "" }

// notAScore says why a file met in a folder is skipped, or "". Texts may be
// progressions.
func notAScore(name string, texts bool) string {
	if texts && extension(name, labelSuffixes) != "" {
		return ""
	}
	if extension(name, scoreSuffixes) == "" && extension(name, archiveSuffixes) == "" {
		return "not a score or archive by its name (.musicxml, .xml, .mxl, .zip, .tar.gz)"
	}
	return ""
}

// mayBeArchive tells whether it is worth looking into a file: one that was named
// is looked into whatever it is called.
func mayBeArchive(f file) bool {
	return f.named || extension(f.path, archiveSuffixes) != ""
}

// extension returns which of the suffixes a name has, as it is written there.
func extension(name string, suffixes []string) string {
	for _, e := range suffixes {
		if len(name) > len(e) && strings.EqualFold(name[len(name)-len(e):], e) {
			return name[len(name)-len(e):]
		}
	}
	return ""
}

// withoutExtension takes the suffix off the last element of a slash path.
func withoutExtension(place string) string {
	for _, suffixes := range [][]string{scoreSuffixes, archiveSuffixes} {
		if e := extension(place, suffixes); e != "" {
			return strings.TrimSuffix(place, e)
		}
	}
	if e := path.Ext(place); len(e) < len(path.Base(place)) {
		return strings.TrimSuffix(place, e)
	}
	return place
}
