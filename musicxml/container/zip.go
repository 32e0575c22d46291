package container

import (
	"archive/zip"
	"errors"
	"io"
	"io/fs"
)

// OpenZip reads the directory of a zip file with at most maxEntries entries.
// The directory is read through a budget, so that neither a false count nor
// overlong names make it cost more memory than entries of ordinary length do.
func OpenZip(r io.ReaderAt, size int64, maxEntries int) (*zip.Reader, error) {
	// An entry of the directory takes 46 bytes (APPNOTE.TXT, section 4.3.12)
	// and its name; the tail may be read twice in looking for the comment.
	const tail, entry = 256 << 10, 1024
	budget := &budgetReader{r: r, left: tail + int64(maxEntries)*entry}
	z, err := zip.NewReader(budget, size)
	budget.unlimited = true
	switch {
	case budget.spent:
		return nil, limitf("", "has more than %d entries, or a directory too long for them", maxEntries)
	case err != nil && !errors.Is(err, zip.ErrInsecurePath): // names are names here, never paths
		return nil, &Error{Problem: "is damaged or cut short (" + cause(err) + ")", Advice: "save or upload it again"}
	case len(z.File) > maxEntries:
		return nil, limitf("", "has more than %d entries", maxEntries)
	}
	return z, nil
}

type budgetReader struct {
	r                io.ReaderAt
	left             int64
	spent, unlimited bool
}

func (b *budgetReader) ReadAt(p []byte, at int64) (int, error) {
	if !b.unlimited {
		if b.left -= int64(len(p)); b.left < 0 {
			b.spent = true
			return 0, io.ErrUnexpectedEOF
		}
	}
	return b.r.ReadAt(p, at)
}

// flagEncrypted is bit 0 of the general purpose flags (APPNOTE.TXT, 4.4.4).
const flagEncrypted = 1

// ratioFloor is the unpacked size up to which any ratio is allowed: too little
// to hurt, and short scores of empty measures pack very well.
const ratioFloor = 1 << 20

// Unpack returns the bytes of one entry. It refuses links, encrypted entries,
// and what is or turns out to be larger than the limits allow, before memory is
// taken for it.
func Unpack(f *zip.File, limits Limits) ([]byte, error) {
	limits = limits.withDefaults()
	if err := checkEntry(f, limits); err != nil {
		return nil, err
	}
	in, err := f.Open()
	if err != nil {
		return nil, damaged(f.Name, err)
	}
	defer func() { _ = in.Close() }()
	data := make([]byte, f.UncompressedSize64)
	if _, err := io.ReadFull(in, data); err != nil {
		return nil, damaged(f.Name, err)
	}
	// Only the end of the entry tells whether its size and checksum hold.
	if n, err := in.Read(make([]byte, 1)); n != 0 || !errors.Is(err, io.EOF) {
		return nil, damaged(f.Name, err)
	}
	return data, nil
}

// Peek returns the first [SniffLength] bytes of an entry, nothing if it cannot be
// unpacked.
func Peek(f *zip.File, limits Limits) []byte {
	if checkEntry(f, limits.withDefaults()) != nil {
		return nil
	}
	in, err := f.Open()
	if err != nil {
		return nil
	}
	defer func() { _ = in.Close() }()
	head := make([]byte, SniffLength)
	n, _ := io.ReadFull(in, head) // an entry may well be shorter
	return head[:n]
}

func checkEntry(f *zip.File, limits Limits) error {
	switch mode := f.Mode(); {
	case mode&fs.ModeSymlink != 0:
		return &Error{Entry: f.Name, Problem: "is a symbolic link, which is not followed", Advice: "pack the file itself"}
	case !mode.IsRegular():
		return &Error{Entry: f.Name, Problem: "is no ordinary file", Advice: "pack the file itself"}
	case f.Flags&flagEncrypted != 0:
		return &Error{Entry: f.Name, Problem: "is encrypted", Advice: "pack it without a password"}
	case f.Method != zip.Store && f.Method != zip.Deflate:
		return &Error{Entry: f.Name, Problem: "is packed by a method that is not read", Advice: "pack it as an ordinary zip file (deflate)"}
	case f.UncompressedSize64 > uint64(limits.Bytes):
		return limitf(f.Name, "unpacks to more than %d bytes", limits.Bytes)
	case f.UncompressedSize64 > ratioFloor && f.UncompressedSize64/uint64(limits.Ratio) > f.CompressedSize64:
		return limitf(f.Name, "unpacks to more than %d times its size", limits.Ratio)
	}
	return nil
}

func damaged(name string, err error) error {
	return &Error{Entry: name, Problem: "is damaged or cut short (" + cause(err) + ")", Advice: "save or upload it again"}
}

func cause(err error) string {
	switch {
	case err == nil || errors.Is(err, zip.ErrFormat):
		return "the sizes or signatures do not fit"
	case errors.Is(err, zip.ErrChecksum):
		return "the checksum does not fit"
	case errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF):
		return "it ends too early"
	}
	return "the packed data is not valid"
}
