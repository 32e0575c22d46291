// Package archive takes the scores out of a .zip, .tar.gz or .tar file, one at a
// time. Begin with [Scores].
//
// Nothing is written to a disk. The paths it gives are safe to write under a
// folder all the same: they never lead out of it, never clash, and hold no
// control characters. Archives inside archives are not opened.
package archive

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"iter"
	"path"
	"strings"

	"partwright/musicxml/container"
)

// The limits that hold where [Limits] gives none.
const (
	DefaultBytes   = container.DefaultBytes
	DefaultTotal   = 8 << 30
	DefaultEntries = 100_000
	DefaultRatio   = container.DefaultRatio
)

// Limits bound what taking an archive apart may cost. A zero field means its
// default.
type Limits struct {
	// Bytes is the largest unpacked size of one member, Total that of all.
	Bytes, Total int64
	// Entries is how many entries there may be, folders and other files
	// included; Ratio how many times its packed size anything larger than
	// 1 MiB may unpack to.
	Entries, Ratio int
}

func (l Limits) withDefaults() Limits {
	if l.Bytes <= 0 {
		l.Bytes = DefaultBytes
	}
	if l.Total <= 0 {
		l.Total = DefaultTotal
	}
	if l.Entries <= 0 {
		l.Entries = DefaultEntries
	}
	if l.Ratio <= 0 {
		l.Ratio = DefaultRatio
	}
	return l
}

func (l Limits) ofMember() container.Limits {
	return container.Limits{Bytes: l.Bytes, Entries: l.Entries, Ratio: l.Ratio}
}

// Member is one file of an archive.
type Member struct {
	// Path is the file's path in the archive with slashes, made safe and unique;
	// Note says what was changed about it, "" for nothing.
	Path, Note string
	// Data holds the bytes of a score, plain or in a container.
	Data []byte
	// Skipped says why the file is none and was skipped, "" for a score.
	Skipped string
}

// ErrLimit is wrapped by an [Error] that reports one of the [Limits] passed.
var ErrLimit = container.ErrLimit

// Error tells why a member, or the rest of the archive, cannot be taken out.
type Error struct {
	// Path is the member's, as in [Member]; "" for the archive itself, after
	// which nothing more comes.
	Path string
	// Problem and Advice are clauses without a full stop.
	Problem, Advice string
	limit           bool
}

// Error returns the problem with the path before it.
func (e *Error) Error() string {
	if e.Path == "" {
		return e.Problem
	}
	return e.Path + ": " + e.Problem
}

// Unwrap returns [ErrLimit] for a limit that was passed.
func (e *Error) Unwrap() error {
	if e.limit {
		return ErrLimit
	}
	return nil
}

// reader yields the members of one archive.
type reader struct {
	limits Limits
	paths  paths
	yield  func(Member, error) bool
	// wanted chooses files by their path in place of scores, of at most so many bytes
	// together; nil for scores.
	wanted func(path string) bool
	most   int64
	total  int64
	found  bool
}

// Scores yields every file of an archive in the order of its entries: scores,
// files skipped, and an [*Error] beside a member that cannot be taken out,
// after which the others go on. The content says what kind of archive it is.
// An archive without anything meant as a score ends with an error.
func Scores(r io.ReaderAt, size int64, limits Limits) iter.Seq2[Member, error] {
	return func(yield func(Member, error) bool) {
		a := &reader{limits: limits.withDefaults(), yield: yield}
		if err := a.read(r, size); err != nil {
			if !errors.Is(err, errStopped) {
				yield(Member{}, asError("", err))
			}
			return
		}
		if !a.found {
			yield(Member{}, &Error{Problem: "the archive holds no score", Advice: "put .musicxml, .xml or .mxl files into it"})
		}
	}
}

// Files yields those files of an archive, scores or not, whose path is wanted, in
// the order of its entries and under the paths that [Scores] gives them; an [*Error]
// stands beside one that cannot be taken out, and beside every one once they have
// more bytes together than most. That the rest of the archive cannot be read is left
// to Scores to tell.
func Files(r io.ReaderAt, size int64, limits Limits, most int64, wanted func(path string) bool) iter.Seq2[Member, error] {
	return func(yield func(Member, error) bool) {
		a := &reader{limits: limits.withDefaults(), yield: yield, wanted: wanted, most: most}
		_ = a.read(r, size)
	}
}

// errStopped ends the reading when the caller wants no more.
var errStopped = errors.New("stopped")

func (a *reader) read(r io.ReaderAt, size int64) error {
	head := make([]byte, container.SniffLength)
	n, err := r.ReadAt(head, 0)
	if err != nil && !errors.Is(err, io.EOF) {
		return fmt.Errorf("reading the archive: %w", err)
	}
	all := io.NewSectionReader(r, 0, size)
	switch container.Sniff(head[:n]) {
	case container.Zip:
		return a.zip(r, size)
	case container.Gzip:
		return a.gzip(all)
	case container.Tar:
		return a.tar(all)
	case container.Empty:
		return &Error{Problem: "the file is empty", Advice: "send the archive again"}
	}
	return &Error{Problem: "the file is no archive that is read", Advice: "send a .zip, .tar.gz or .tar file"}
}

// IsArchive tells whether a file is to be taken apart by [Scores] rather than
// read as a score: tar and gzip files are, and zip files that are no container.
// Older containers hold the score and nothing else; the name of the file, "-" for
// standard input, tells them from an archive of one score, whose name counts.
func IsArchive(name string, r io.ReaderAt, size int64, limits Limits) bool {
	head := make([]byte, container.SniffLength)
	n, _ := r.ReadAt(head, 0) // what cannot be read is no archive
	switch container.Sniff(head[:n]) {
	case container.Gzip, container.Tar:
		return true
	case container.Zip:
		z, err := container.OpenZip(r, size, limits.withDefaults().Entries)
		if err != nil {
			// Too many entries for an archive are too many for a score: let
			// Scores say so.
			return errors.Is(err, ErrLimit)
		}
		return !container.IsContainer(z) && (len(z.File) != 1 || !namesScore(name))
	}
	return false
}

// namesScore tells whether a file of that name is to be a score.
func namesScore(name string) bool {
	switch strings.ToLower(path.Ext(name)) {
	case ".mxl", ".musicxml", ".xml":
		return true
	}
	return name == "-"
}

// member yields one file. load returns all its bytes, given that the beginning
// makes it worth it; it is not called for others.
func (a *reader) member(name string, head []byte, load func() ([]byte, error)) error {
	m := Member{}
	m.Path, m.Note = a.paths.safe(name)
	if a.wanted != nil {
		return a.file(m, load)
	}
	verdict := judge(m.Path, head)
	m.Skipped = verdict.skip
	var err error
	switch {
	case verdict.nested:
		err = errNested
	case verdict.skip == "":
		if m.Data, err = load(); err == nil {
			err = a.check(m, verdict)
		}
	}
	switch {
	case errors.As(err, new(*overTotal)):
		return err
	case err != nil:
		m.Data = nil
		err = asError(m.Path, err)
	}
	// One that cannot be taken out has its own error.
	a.found = a.found || m.Skipped == ""
	if !a.yield(m, err) {
		return errStopped
	}
	return nil
}

// file yields a file that is wanted.
func (a *reader) file(m Member, load func() ([]byte, error)) error {
	if isSystemFile(m.Path) || !a.wanted(m.Path) {
		return nil
	}
	var err error
	if a.total <= a.most {
		m.Data, err = load()
		a.total += int64(len(m.Data))
	}
	if a.total > a.most {
		err = &Error{Problem: fmt.Sprintf("files of its kind have more than %d bytes together", a.most), Advice: "send fewer at once", limit: true}
	}
	if err != nil {
		m.Data, err = nil, asError(m.Path, err)
	}
	if !a.yield(m, err) {
		return errStopped
	}
	return nil
}

// check counts a member and makes sure that a zip file in it is a container.
func (a *reader) check(m Member, v verdict) error {
	if a.total += int64(len(m.Data)); a.total > a.limits.Total {
		return &overTotal{a.limits.Total}
	}
	if !v.zip {
		return nil
	}
	z, err := container.OpenZip(bytes.NewReader(m.Data), int64(len(m.Data)), a.limits.Entries)
	if err != nil {
		return err
	}
	if !container.IsContainer(z) {
		return errNested
	}
	return nil
}

var errNested = &Error{Problem: "an archive inside the archive, which is not opened", Advice: "send it by itself"}

// overTotal ends the reading: the members together unpack to too much.
type overTotal struct{ total int64 }

func (e *overTotal) Error() string {
	return fmt.Sprintf("the archive unpacks to more than %d bytes", e.total)
}

// asError gives an error of any part of the way a place and a form.
func asError(path string, err error) *Error {
	e := &Error{Path: path, Problem: err.Error(), Advice: "save or send the archive again", limit: errors.Is(err, ErrLimit)}
	var own *Error
	var inner *container.Error
	switch {
	case errors.As(err, new(*overTotal)):
		e.Advice, e.limit = "send fewer scores at once, or raise the limit", true
	case errors.As(err, &own):
		e.Problem, e.Advice, e.limit = own.Problem, own.Advice, own.limit
	case errors.As(err, &inner):
		e.Problem, e.Advice = inner.Problem, inner.Advice
		if path == "" {
			e.Problem = "the archive " + inner.Problem
		}
	}
	return e
}
