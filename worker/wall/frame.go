package wall

import (
	"bufio"
	"encoding/gob"
	"errors"
	"fmt"
	"io"
	"sync"
)

// line is one end of what a parent and a child say to each other: a message in gob,
// then the bytes that belong to it as they are.
type line struct {
	sending sync.Mutex
	out     *bufio.Writer
	in      *bufio.Reader
	enc     *gob.Encoder
	dec     *gob.Decoder
}

// mostBody bounds what follows a message: far above any score with its answer.
const mostBody = 8 << 30

var errBroken = errors.New("what the child process of the service says cannot be understood")

func newLine(in io.Reader, out io.Writer) *line {
	l := &line{out: bufio.NewWriterSize(out, 64<<10), in: bufio.NewReaderSize(in, 64<<10)}
	l.enc, l.dec = gob.NewEncoder(l.out), gob.NewDecoder(l.in)
	return l
}

func (l *line) send(message any, bodies ...[]byte) error {
	l.sending.Lock()
	defer l.sending.Unlock()
	if err := l.enc.Encode(message); err != nil {
		return err
	}
	for _, b := range bodies {
		if _, err := l.out.Write(b); err != nil {
			return err
		}
	}
	return l.out.Flush()
}

func (l *line) receive(message any) error {
	err := l.dec.Decode(message)
	if err == nil || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return err
	}
	return fmt.Errorf("%w: %w", errBroken, err)
}

func (l *line) body(n int) ([]byte, error) {
	if n < 0 || n > mostBody {
		return nil, errBroken
	}
	body := make([]byte, n)
	_, err := io.ReadFull(l.in, body)
	return body, err
}
