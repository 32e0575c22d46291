package files

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"sync/atomic"

	"partwright/musicxml"
	"partwright/musicxml/archive"
	"partwright/musicxml/container"
	"partwright/worker/settings"
)

// Item is one file that a run over many inputs came upon.
type Item struct {
	// Name is what messages and reports call it: a path as given, "-" for
	// standard input, "class.zip/alto/3.musicxml" for a member of an archive.
	Name string
	// Place is where answers about it belong: a path with slashes that mirrors
	// the folders it was found in, without the extension of the file.
	Place string
	// Skipped says why a file was skipped; empty for a score.
	Skipped string
	// Note says what is odd about its name; empty for nothing.
	Note string
	// Expected tells that what was skipped is no surprise: labels that were
	// asked for.
	Expected bool
	// Read returns the bytes. It may run on any goroutine, once.
	Read func() ([]byte, error)
	// Labels returns the labels that lie beside the score, nil for none; the func
	// itself is nil where there are none to look at.
	Labels func() (*settings.Labels, error)
}

// Inputs finds scores among files, folders and archives.
type Inputs struct {
	// Paths are files, folders (searched with everything below them), archives,
	// or "-" for Stdin.
	Paths []string
	Stdin io.Reader
	// Limits bound each score, Archives each archive. An archive on standard
	// input may not be larger than a score.
	Limits   musicxml.Limits
	Archives archive.Limits
	// Beside asks for the labels beside each score, NAME.rntxt or NAME.txt in the
	// same folder of the disk or of the archive.
	Beside bool
	// Texts takes .rntxt and .txt files for progressions, which are items too.
	Texts bool
	// Except is a folder that is not searched, such as the one that answers are
	// written to; nil for none.
	Except os.FileInfo

	found atomic.Int64
}

// Found returns how many items have been found so far, among them those that
// [Inputs.All] has not yielded yet. It grows while archives are opened.
func (in *Inputs) Found() int { return int(in.found.Load()) }

// All yields what the paths hold in a fixed order: paths as given, folders by
// name, archives by entry. What cannot be opened yields an item whose Read says
// why.
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

// Fingerprint stands for what the paths hold now: another where a file came, went, or
// has another size or time than before. It is "" with standard input, which cannot be
// looked at twice.
func (in *Inputs) Fingerprint() string {
	sum := sha256.New()
	note := func(name string) {
		full, _ := filepath.Abs(name) // without a working directory the name must do
		_, _ = fmt.Fprintf(sum, "%q %q", name, full)
		if info, err := os.Stat(name); err == nil {
			_, _ = fmt.Fprintf(sum, " %v %d %d", info.Mode(), info.Size(), info.ModTime().UnixNano())
		}
	}
	for _, p := range in.Paths {
		if p == "-" {
			return ""
		}
		for _, f := range in.expand(nil, p) {
			note(f.path)
			if in.Beside {
				for _, labels := range labelsNames(f.path) {
					note(labels)
				}
			}
		}
	}
	return hex.EncodeToString(sum.Sum(nil))
}

// file is a path on disk before it is opened.
type file struct {
	path string
	// place mirrors the folder, with the extension still on.
	place string
	// named is set for a path that the caller gave.
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
	root := name
	if link, err := os.Lstat(name); err == nil && !link.IsDir() {
		root += string(filepath.Separator) // a link to a folder is followed where it was named
	}
	_ = filepath.WalkDir(root, func(p string, entry fs.DirEntry, err error) error {
		base := filepath.Base(p)
		inside, _ := filepath.Rel(root, p)
		switch {
		case err != nil:
			files = append(files, file{path: p, place: base, err: err})
			if entry != nil && entry.IsDir() {
				return fs.SkipDir
			}
		case entry.IsDir():
			if p != root && (container.IsHidden(base) || in.isExcept(entry)) {
				return fs.SkipDir
			}
		case !container.IsHidden(base):
			skipped := notAScore(base, in.Texts)
			if isLinkToFolder(p, entry) {
				skipped = "a link to a folder, which is followed only where it is named"
			}
			files = append(files, file{path: p, place: filepath.ToSlash(inside), skipped: skipped})
		}
		return nil
	})
	return files
}

// isLinkToFolder tells links that may lead round in a circle.
func isLinkToFolder(name string, entry fs.DirEntry) bool {
	if entry.Type()&fs.ModeSymlink == 0 {
		return false
	}
	info, err := os.Stat(name)
	return err == nil && info.IsDir()
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
	item := Item{Name: f.path, Place: withoutExtension(f.place), Skipped: f.skipped, Expected: in.Beside && IsLabels(f.path)}
	switch {
	case f.err != nil:
		item.Read = func() ([]byte, error) { return nil, accessError(f.path, f.err) }
	case f.skipped != "":
	case f.path == "-":
		data, err := in.readAll(f.path, in.Stdin, 0)
		if err == nil && archive.IsArchive(f.path, bytes.NewReader(data), int64(len(data)), in.Archives) {
			return in.members(f, bytes.NewReader(data), int64(len(data)), yield)
		}
		item.Read = func() ([]byte, error) { return data, err }
	case mayBeArchive(f):
		if ok, handled := in.openArchive(f, yield); handled {
			return ok
		}
		fallthrough
	default:
		item.Read = func() ([]byte, error) { return in.readFile(f.path) }
		if in.Beside {
			item.Labels = labelsOnDisk(f.path)
		}
	}
	return yield(item)
}

func (in *Inputs) readFile(name string) ([]byte, error) {
	r, size, err := openRegular(name)
	if err != nil {
		return nil, accessError(name, err)
	}
	defer func() { _ = r.Close() }()
	return in.readAll(name, r, size)
}

// openRegular opens a file and returns its size. A named pipe or a device, which
// would be read for ever, is refused.
func openRegular(name string) (*os.File, int64, error) {
	info, err := os.Stat(name)
	if err != nil {
		return nil, 0, err
	}
	if !info.Mode().IsRegular() {
		return nil, 0, errors.New("not a regular file")
	}
	r, err := os.Open(name) // #nosec G304 -- reading the files that the user names is the job
	return r, info.Size(), err
}

// readAll reads one byte more than a score may have, so that the reader of
// scores can tell that there was more. The size is what to expect, 0 where nobody knows.
func (in *Inputs) readAll(name string, r io.Reader, size int64) ([]byte, error) {
	limit := in.Limits.MaxBytes
	if limit <= 0 {
		limit = archive.DefaultBytes
	}
	var data bytes.Buffer
	data.Grow(int(min(size, limit+1)) + bytes.MinRead)
	if _, err := data.ReadFrom(io.LimitReader(r, limit+1)); err != nil {
		return nil, accessError(name, err)
	}
	return data.Bytes(), nil
}
