package container

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"strings"

	"github.com/klauspost/compress/flate"
)

// flagDescriptor is bit 3 of the general purpose flags: sizes follow the data.
const flagDescriptor = 8

// Repack returns the container with another score in the place of its own.
// Every other entry, the order, names, times and methods are kept; the other
// entries but folders are copied packed, byte for byte. With an equal score it returns the
// bytes that came in.
func (c *Container) Repack(score []byte) ([]byte, error) {
	if bytes.Equal(score, c.Score) {
		return c.data, nil
	}
	var out bytes.Buffer
	out.Grow(len(c.data) + len(score)/16)
	w := zip.NewWriter(&out)
	if err := w.SetComment(c.files.Comment); err != nil {
		return nil, fmt.Errorf("packing the container: %w", err)
	}
	for _, f := range c.files.File {
		var err error
		switch {
		case f == c.entry:
			err = writeScore(w, f.FileHeader, score)
		case strings.HasSuffix(f.Name, "/"):
			err = writeFolder(w, f.FileHeader)
		default:
			err = w.Copy(f)
		}
		if err != nil {
			return nil, fmt.Errorf("packing %q into the container: %w", f.Name, err)
		}
	}
	if err := w.Close(); err != nil {
		return nil, fmt.Errorf("packing the container: %w", err)
	}
	return out.Bytes(), nil
}

// writeFolder writes the header of a folder. Some programs deflate its nothing, which
// takes two bytes; the library writes none for a folder.
func writeFolder(w *zip.Writer, header zip.FileHeader) error {
	header.Method, header.CRC32 = zip.Store, 0
	header.CompressedSize64, header.UncompressedSize64 = 0, 0
	header.Flags &^= flagDescriptor
	header.Extra = withoutZip64(header.Extra)
	_, err := w.CreateRaw(&header)
	return err
}

// writeScore writes the score under the header of the old one.
func writeScore(w *zip.Writer, header zip.FileHeader, score []byte) error {
	packed := score
	if header.Method == zip.Deflate {
		// The tables of an ordinary compressor, near a megabyte, cost more
		// than all else that is done with a short score. This one has none,
		// packs about as well as a zip program at its fastest level, and
		// keeps nothing of one score for the next.
		var buffer bytes.Buffer
		if err := flate.StatelessDeflate(&buffer, score, true, nil); err != nil {
			return err
		}
		packed = buffer.Bytes()
	}
	header.CRC32 = crc32.ChecksumIEEE(score)
	header.UncompressedSize64, header.CompressedSize64 = uint64(len(score)), uint64(len(packed))
	header.Flags &^= flagDescriptor
	header.Extra = withoutZip64(header.Extra)
	body, err := w.CreateRaw(&header)
	if err != nil {
		return err
	}
	_, err = body.Write(packed)
	return err
}

// withoutZip64 drops the extra field that would give the old sizes
// (APPNOTE.TXT, 4.5.3).
func withoutZip64(extra []byte) []byte {
	const zip64 = 1
	var kept []byte
	for len(extra) >= 4 {
		size := 4 + int(binary.LittleEndian.Uint16(extra[2:]))
		if size > len(extra) {
			break
		}
		if binary.LittleEndian.Uint16(extra) != zip64 {
			kept = append(kept, extra[:size]...)
		}
		extra = extra[size:]
	}
	return kept
}
