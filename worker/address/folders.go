package address

import (
	"bytes"
	"context"
	"errors"
	"io"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"time"

	"partwright/musicxml/container"
)

// folders keep things in files. Parts is that of [Config].
type folders struct{ parts string }

// failedAt makes the error of a file. What is not there, or not allowed, will not be
// there later; a disk in another building may.
func failedAt(address string, err error) error {
	retryable := !errors.Is(err, fs.ErrNotExist) && !errors.Is(err, fs.ErrPermission) &&
		!errors.Is(err, fs.ErrInvalid) && !errors.Is(err, errNotRegular)
	// The path is in the message already.
	var pathErr *fs.PathError
	if errors.As(err, &pathErr) {
		err = pathErr.Err
	}
	return &Error{Address: address, Retryable: retryable, Err: err}
}

var errNotRegular = errors.New("not a regular file")

// Read implements [Storage].
func (folders) Read(ctx context.Context, address string, limit int64) ([]byte, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	// A named pipe or a device would be read for ever.
	info, err := os.Stat(address)
	if err == nil && !info.Mode().IsRegular() {
		err = errNotRegular
	}
	if err != nil {
		return nil, failedAt(address, err)
	}
	f, err := os.Open(address) // #nosec G304 -- reading what the caller names is the job
	if err != nil {
		return nil, failedAt(address, err)
	}
	defer func() { _ = f.Close() }()
	data, err := readAll(f, info.Size(), limit)
	if err != nil {
		return nil, failedAt(address, err)
	}
	return data, nil
}

// readAll reads at most one byte more than the limit. The size is what to expect.
func readAll(r io.Reader, size, limit int64) ([]byte, error) {
	var data bytes.Buffer
	data.Grow(int(min(max(size, 0), limit+1)) + bytes.MinRead)
	_, err := data.ReadFrom(io.LimitReader(r, limit+1))
	return data.Bytes(), err
}

// Has implements [Storage].
func (folders) Has(_ context.Context, address string) (bool, error) {
	_, err := os.Stat(address)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, failedAt(address, err)
	}
	return true, nil
}

// List implements [Storage].
func (folders) List(ctx context.Context, folder, after string) iter.Seq2[string, error] {
	return func(yield func(string, error) bool) {
		walk(ctx, folder, after, yield)
	}
}

// walk yields the files below a folder in the order of the bytes of their paths, and
// reports whether to go on.
func walk(ctx context.Context, folder, after string, yield func(string, error) bool) bool {
	entries, err := os.ReadDir(folder)
	if err != nil {
		yield("", failedAt(folder, err))
		return false
	}
	names := make([]string, 0, len(entries))
	for _, entry := range entries {
		name := entry.Name()
		if container.IsHidden(name) {
			continue
		}
		// A folder stands where its files do: "a.xml" before "a/1.xml".
		if entry.IsDir() {
			name += "/"
		}
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		if err := ctx.Err(); err != nil {
			yield("", err)
			return false
		}
		path := Join(folder, name)
		if inside, isFolder := strings.CutSuffix(path, "/"); isFolder {
			if path < after && !strings.HasPrefix(after, path) {
				continue // all of it comes before
			}
			if !walk(ctx, inside, after, yield) {
				return false
			}
		} else if path > after && !yield(path, nil) {
			return false
		}
	}
	return true
}

// partPrefix begins the names of files that are not whole yet: they are hidden.
const partPrefix = ".part-"

// Create implements [Storage].
func (s folders) Create(_ context.Context, address string) (*Part, error) {
	dir, name := filepath.Split(address)
	dir = filepath.Clean(dir)
	if s.parts != "" {
		return s.createApart(dir, address)
	}
	err := os.MkdirAll(dir, 0o750)
	if err != nil {
		return nil, failedAt(address, err)
	}
	f, err := os.CreateTemp(dir, partPrefix+name+"-*")
	if err != nil {
		return nil, failedAt(address, err)
	}
	return &Part{File: f, commit: func(_ context.Context, f *os.File) (bool, error) {
		written, err := nameOnce(f, address)
		if err != nil {
			return false, failedAt(address, err)
		}
		sweep(dir, name)
		return written, nil
	}}, nil
}

// createApart begins a file in the folder of parts. Once it is committed, a power cut
// takes neither it nor the folders that it is in.
func (s folders) createApart(dir, address string) (*Part, error) {
	err := makeFolders(s.parts)
	if err == nil {
		err = makeFolders(dir)
	}
	if err != nil {
		return nil, failedAt(address, err)
	}
	f, err := os.CreateTemp(s.parts, partPrefix+"*")
	if err != nil {
		return nil, failedAt(address, err)
	}
	return &Part{File: f, commit: func(_ context.Context, f *os.File) (bool, error) {
		written, err := nameOnce(f, address)
		if err == nil {
			err = syncFolder(dir)
		}
		if err != nil {
			return false, failedAt(address, err)
		}
		return written, nil
	}}, nil
}

// makeFolders makes a folder that lasts, with those above it.
func makeFolders(dir string) error {
	if info, err := os.Stat(dir); err == nil && info.IsDir() {
		return nil
	}
	above := filepath.Dir(dir)
	if above != dir {
		if err := makeFolders(above); err != nil {
			return err
		}
	}
	if err := os.Mkdir(dir, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	return syncFolder(above)
}

// syncFolder waits until the names in a folder are on the disk. Windows cannot.
func syncFolder(dir string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	d, err := os.Open(filepath.Clean(dir))
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// ForgetParts removes what killed processes have left in a folder of parts: files that
// nothing was written to since a moment.
func ForgetParts(dir string, since time.Time) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	errs := []error{err}
	for _, entry := range entries {
		info, err := entry.Info()
		if err != nil || !strings.HasPrefix(entry.Name(), partPrefix) || !info.ModTime().Before(since) {
			continue // whole by now, or none of ours
		}
		if err := os.Remove(filepath.Join(dir, entry.Name())); err != nil && !errors.Is(err, fs.ErrNotExist) {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}

// Remove implements [Storage].
func (folders) Remove(_ context.Context, address string) error {
	if err := os.Remove(address); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return failedAt(address, err)
	}
	return nil
}

// nameOnce gives a file its name if no other has it. A power cut may not leave a name
// without what it names.
func nameOnce(f *os.File, address string) (written bool, err error) {
	if err = f.Sync(); err == nil {
		err = f.Close()
	}
	if err != nil {
		return false, err
	}
	if err = os.Link(f.Name(), address); err == nil {
		return true, nil
	}
	if _, there := os.Lstat(address); there == nil {
		return false, nil
	}
	// Some file systems know no second name. Between the look and the renaming another
	// may have come first with the same.
	return true, os.Rename(f.Name(), address)
}

// sweep removes what killed processes have left of something that is whole now.
func sweep(dir, name string) {
	entries, _ := os.ReadDir(filepath.Clean(dir))
	for _, entry := range entries {
		if strings.HasPrefix(entry.Name(), partPrefix+name+"-") {
			_ = os.Remove(filepath.Join(dir, entry.Name()))
		}
	}
}
