package store

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"

	"github.com/klauspost/compress/zstd"
)

// packer and unpacker are safe for concurrent use as long as only whole blobs go
// through them. The fastest level, since a score is packed, its report and its
// marked score: at the next level that was a tenth of all the work on it.
var (
	packer   = must(zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedFastest), zstd.WithEncoderConcurrency(1)))
	unpacker = must(zstd.NewReader(nil, zstd.WithDecoderConcurrency(0), zstd.WithDecoderMaxMemory(1<<30)))
)

// must is for coders whose options are constants.
func must[T any](coder T, err error) T {
	if err != nil {
		panic(err)
	}
	return coder
}

// Blob is a document as it is kept: compressed with Zstandard (RFC 8878), or what stands
// for it in a row; see [Store.Fetch].
type Blob []byte

// Pack compresses a document; nil stays nil.
func Pack(document []byte) Blob {
	if document == nil {
		return nil
	}
	return packer.EncodeAll(document, make([]byte, 0, len(document)/8))
}

// Unpack returns the document; nil for nil.
func (b Blob) Unpack() ([]byte, error) {
	switch {
	case b == nil:
		return nil, nil
	case b.isName():
		return nil, fmt.Errorf("%w: the table blobs has no row for it; restore a back-up", ErrBlobGone)
	case b.isGone():
		return nil, fmt.Errorf("%w: %s; restore it from a back-up of the storage of scores and answers", ErrBlobGone, b[1:])
	case b.isOutside():
		return nil, errors.New("a stored document lies outside the database and was not fetched")
	}
	document, err := unpacker.DecodeAll(b, nil)
	if err != nil {
		return nil, fmt.Errorf("unpacking a stored document: %w", err)
	}
	return document, nil
}

// Score is a score on its way into the store: packed before the transaction,
// which other writers wait for.
type Score struct {
	// Hash is the SHA-256 of the bytes in hexadecimal; Size counts them.
	Hash string
	Size int64
	blob Blob
	// place is where it was carried to, nil for nowhere.
	place Blob
}

// kept is what stands in the row of the score.
func (s *Score) kept() Blob {
	if s.place != nil {
		return s.place
	}
	return s.blob
}

// NewScore packs a score.
func NewScore(data []byte) Score {
	sum := sha256.Sum256(data)
	if data == nil {
		data = []byte{}
	}
	return Score{Hash: hex.EncodeToString(sum[:]), Size: int64(len(data)), blob: Pack(data)}
}
