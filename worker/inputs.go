package worker

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"os"
	"path"
	"path/filepath"
	"strings"
	"sync/atomic"

	"partwright/musicxml"
)

// Item is one file that a run over many inputs came upon.
type Item struct {
	// Name is what messages and reports call it: a path as given, "-" for
	// standard input, "class.zip/alto/3.musicxml" for a member of an archive.
	Name string
	// Place is where answers about it belong: a path with slashes that mirrors
	// the folders it was found in, without the extension of the file.
	Place string
	// Skipped says why a file was passed over; empty for a score.
	Skipped string
	// Read returns the bytes. It may run on any goroutine, once.
	Read func() ([]byte, error)
}

// Inputs finds scores among files, folders and archives.
type Inputs struct {
	// Paths are files, folders (searched with everything below them), archives,
	// or "-" for Stdin.
	Paths []string
	Stdin io.Reader
	// Limits bound each score and each archive.
	Limits musicxml.Limits
	// Except is a folder that is not searched, such as the one that answers are
	// written to; nil for none.
	Except os.FileInfo

	found atomic.Int64
}

// Found returns how many items have been found so far, among them those that
// [Inputs.All] has not yielded yet. It grows while archives are opened.
func (in *Inputs) Found() int { return int(in.found.Load()) }

// All yields what the paths hold in a fixed order: paths as given, folders by
// name. A path that cannot be opened yields an item whose Read says why.
func (in *Inputs) All() iter.Seq[Item] {
	return func(yield func(Item) bool) {
		var files []file
		for _, p := range in.Paths {
			files = in.expand(files, p)
		}
		in.found.Add(int64(len(files)))
		for _, f := range files {
			if !in.open(f, yield) {
				return
			}
		}
	}
}

// file is a path on disk before it is opened.
type file struct {
	path string
	// place mirrors the folder, with the extension still on.
	place string
	// named is set for a path that the caller gave, which is opened whatever its
	// name ends in.
	named   bool
	skipped string
	err     error
}

// expand appends the files that a path stands for.
func (in *Inputs) expand(files []file, name string) []file {
	if name == "-" {
		return append(files, file{path: "-", place: "stdin", named: true})
	}
	info, err := os.Stat(name)
	if err != nil || !info.IsDir() {
		return append(files, file{path: name, place: filepath.Base(name), named: true, err: err})
	}
	_ = filepath.WalkDir(name, func(p string, entry fs.DirEntry, err error) error {
		base := filepath.Base(p)
		inside, _ := filepath.Rel(name, p)
		switch {
		case err != nil:
			files = append(files, file{path: p, place: base, err: err})
			if entry != nil && entry.IsDir() {
				return fs.SkipDir
			}
		case entry.IsDir():
			if p != name && (isHidden(base) || in.isExcept(entry)) {
				return fs.SkipDir
			}
		case !isHidden(base):
			files = append(files, file{path: p, place: filepath.ToSlash(inside), skipped: notAScore(base)})
		}
		return nil
	})
	return files
}

func (in *Inputs) isExcept(entry fs.DirEntry) bool {
	if in.Except == nil {
		return false
	}
	info, err := entry.Info()
	return err == nil && os.SameFile(info, in.Except)
}

// open yields the item, or the members, of one file.
func (in *Inputs) open(f file, yield func(Item) bool) bool {
	item := Item{Name: f.path, Place: withoutExtension(f.place), Skipped: f.skipped}
	if f.err != nil {
		item.Read = func() ([]byte, error) { return nil, accessError(f.path, f.err) }
		return yield(item)
	}
	if f.skipped == "" && f.path == "-" {
		item.Read = func() ([]byte, error) { return in.readAll(f.path, in.Stdin) }
		return yield(item)
	}
	item.Read = func() ([]byte, error) { return in.readFile(f.path) }
	return yield(item)
}

func (in *Inputs) readFile(name string) ([]byte, error) {
	// A named pipe or a device would be read for ever; Stat follows links.
	info, err := os.Stat(name)
	if err != nil {
		return nil, accessError(name, err)
	}
	if !info.Mode().IsRegular() {
		return nil, accessError(name, errors.New("not a regular file"))
	}
	r, err := os.Open(name)
	if err != nil {
		return nil, accessError(name, err)
	}
	defer r.Close()
	return in.readAll(name, r)
}

// readAll reads one byte more than a score may have, so that the reader of
// scores can tell that there was more.
func (in *Inputs) readAll(name string, r io.Reader) ([]byte, error) {
	limit := in.Limits.MaxBytes
	if limit <= 0 {
		limit = 64 << 20
	}
	data, err := io.ReadAll(io.LimitReader(r, limit+1))
	if err != nil {
		return nil, accessError(name, err)
	}
	return data, nil
}

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
var archiveExtensions = []string{".zip", ".tar.gz", ".tgz"}

// notAScore says why a file met in a folder or archive is passed over, or "".
func notAScore(name string) string {
	if extension(name, scoreExtensions) == "" && extension(name, archiveExtensions) == "" {
		return "not a score by its name (.musicxml, .xml, .mxl, .zip, .tar.gz)"
	}
	return ""
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
	if e := extension(place, scoreExtensions); e != "" {
		return strings.TrimSuffix(place, e)
	}
	if e := extension(place, archiveExtensions); e != "" {
		return strings.TrimSuffix(place, e)
	}
	if e := path.Ext(place); e != "" && len(e) < len(path.Base(place)) {
		return strings.TrimSuffix(place, e)
	}
	return place
}

func isHidden(base string) bool { return strings.HasPrefix(base, ".") && base != "." && base != ".." }
