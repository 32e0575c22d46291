package address

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"iter"
	"os"
	"strings"
	"time"
)

// Storage holds what addresses name. It is safe for concurrent use. All errors that are
// not those of the context are [*Error]s.
type Storage interface {
	// Read returns all that an address holds. Of something longer than limit it returns
	// one byte more, so that whoever reads on can tell.
	Read(ctx context.Context, address string, limit int64) ([]byte, error)
	// Has reports whether there is something at an address.
	Has(ctx context.Context, address string) (bool, error)
	// List yields the addresses below a folder, or with a prefix of keys, in the order of
	// their bytes, from the first that comes after one; "" begins at the beginning. Hidden
	// files are left out. It ends with the first error.
	List(ctx context.Context, folder, after string) iter.Seq2[string, error]
	// Create begins what an address is to hold.
	Create(ctx context.Context, address string) (*Part, error)
	// Remove takes away what an address holds; that nothing is there is no error.
	Remove(ctx context.Context, address string) error
}

// Part is what is not whole yet. End it by [Part.Commit] or [Part.Discard].
type Part struct {
	*os.File
	commit func(context.Context, *os.File) (bool, error)
}

// Commit puts what was written at the address, whole, if there is nothing yet. Where
// there is something it stays as it is, and written is false.
func (p *Part) Commit(ctx context.Context) (written bool, err error) {
	defer p.Discard()
	return p.commit(ctx, p.File)
}

// Discard removes what was written, unless it has been committed.
func (p *Part) Discard() {
	_ = p.Close()
	_ = os.Remove(p.Name())
}

// Error is why something could not be done with an address.
type Error struct {
	Address string
	// Retryable tells that it may go well later: a server was busy, a network or a disk
	// failed. It is false for what is not there or not allowed.
	Retryable bool
	Err       error
}

// Error says what and where.
func (e *Error) Error() string { return fmt.Sprintf("%s: %v", e.Address, e.Err) }

// Unwrap returns the cause.
func (e *Error) Unwrap() error { return e.Err }

// IsRetryable reports whether what failed may go well later.
func IsRetryable(err error) bool {
	var e *Error
	return errors.As(err, &e) && e.Retryable
}

// Config says how storage is used. The zero value works.
type Config struct {
	// Tries is how often a request is sent, and how often something is read that breaks
	// off (default 10, with up to a second between).
	Tries int
	// Timeout bounds one try of a read, and how long a server may be silent (default 1
	// minute).
	Timeout time.Duration
	// Spool is the folder for what is not whole yet and goes to object storage (default
	// that of the system).
	Spool string
	// Parts is the folder for what is not whole yet and goes to files, on the same disk as
	// these (default: beside them, where whoever makes the same file removes what a killed
	// process has left). See [ForgetParts].
	Parts string
}

func (c Config) withDefaults() Config {
	c.Tries = cmp.Or(c.Tries, 10)
	c.Timeout = cmp.Or(c.Timeout, time.Minute)
	return c
}

// Open returns the storage that addresses of every kind lead to. No request is sent
// before an address asks for one.
func Open(c Config) Storage {
	c = c.withDefaults()
	return &anywhere{folders: folders{parts: c.Parts}, objects: &objects{config: c}}
}

// anywhere sends an address to the storage of its kind.
type anywhere struct {
	folders folders
	objects *objects
}

const (
	fileScheme   = "file://"
	objectScheme = "s3://"
)

// at returns the storage of an address, and what that storage calls it.
func (a *anywhere) at(address string) (Storage, string, error) {
	scheme, _, named := strings.Cut(address, "://")
	switch {
	case strings.HasPrefix(address, objectScheme):
		return a.objects, address, nil
	case strings.HasPrefix(address, fileScheme+"/"):
		return a.folders, strings.TrimPrefix(address, fileScheme), nil
	case named:
		return nil, "", &Error{Address: address, Err: fmt.Errorf("there is no storage called %s: name a path, file:///PATH or s3://BUCKET/KEY", scheme)}
	case address == "":
		return nil, "", &Error{Err: errors.New("the address is empty")}
	}
	return a.folders, address, nil
}

// Read implements [Storage].
func (a *anywhere) Read(ctx context.Context, address string, limit int64) ([]byte, error) {
	s, address, err := a.at(address)
	if err != nil {
		return nil, err
	}
	return s.Read(ctx, address, limit)
}

// Has implements [Storage].
func (a *anywhere) Has(ctx context.Context, address string) (bool, error) {
	s, address, err := a.at(address)
	if err != nil {
		return false, err
	}
	return s.Has(ctx, address)
}

// List implements [Storage].
func (a *anywhere) List(ctx context.Context, folder, after string) iter.Seq2[string, error] {
	s, folder, err := a.at(folder)
	if err != nil {
		return func(yield func(string, error) bool) { yield("", err) }
	}
	return s.List(ctx, folder, strings.TrimPrefix(after, fileScheme))
}

// Create implements [Storage].
func (a *anywhere) Create(ctx context.Context, address string) (*Part, error) {
	s, address, err := a.at(address)
	if err != nil {
		return nil, err
	}
	return s.Create(ctx, address)
}

// Remove implements [Storage].
func (a *anywhere) Remove(ctx context.Context, address string) error {
	s, address, err := a.at(address)
	if err != nil {
		return err
	}
	return s.Remove(ctx, address)
}

// IsObjects reports whether an address is one of object storage.
func IsObjects(address string) bool { return strings.HasPrefix(address, objectScheme) }

// Join is the address of a name in a folder, or after a prefix that ends in a slash.
func Join(folder, name string) string {
	return strings.TrimSuffix(folder, "/") + "/" + name
}
