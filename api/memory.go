package api

import (
	"errors"
	"io"
	"sync/atomic"
)

// errUploadMemory is returned when the scores being worked on take all the memory
// that uploads may have.
var errUploadMemory = errors.New("no memory for another upload")

// memory bounds the bytes of all uploads together. Bytes are claimed as they
// arrive, not as they are announced, so that nobody reserves what is not sent.
type memory struct {
	limit   int64
	claimed atomic.Int64
}

// firstClaim is the size of the first buffer; most scores fit.
const firstClaim = 64 << 10

// read reads all of r. The hint is its length, or -1. Call release when the bytes
// are no longer used.
func (m *memory) read(r io.Reader, hint int64) (data []byte, release func(), err error) {
	var claimed int64
	release = func() {
		m.claimed.Add(-claimed)
		claimed = 0
	}
	grow := func(size int64) error {
		if m.claimed.Add(size-claimed) > m.limit {
			m.claimed.Add(claimed - size)
			return errUploadMemory
		}
		claimed = size
		grown := make([]byte, len(data), size)
		copy(grown, data)
		data = grown
		return nil
	}
	for {
		if len(data) == cap(data) {
			if err := grow(nextSize(int64(cap(data)), hint)); err != nil {
				release()
				return nil, nil, err
			}
		}
		n, err := r.Read(data[len(data):cap(data)])
		data = data[:len(data)+n]
		if errors.Is(err, io.EOF) {
			return data, release, nil
		}
		if err != nil {
			release()
			return nil, nil, err
		}
	}
}

// nextSize doubles, but not past the length announced and the byte in which the
// end shows.
func nextSize(size, hint int64) int64 {
	next := max(2*size, firstClaim)
	if hint >= size && hint < next {
		next = hint + 1
	}
	return next
}
