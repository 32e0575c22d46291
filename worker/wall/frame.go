package wall

import (
	"bufio"
	"bytes"
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
	out     io.Writer
	// whole is what is sent next: one write wakes the other process once.
	whole bytes.Buffer
	in    *bufio.Reader
	enc   *gob.Encoder
	dec   *gob.Decoder
}

// mostBody bounds what follows a message: far above any score with its answer.
const mostBody = 8 << 30

var errBroken = errors.New("what the child process of the service says cannot be understood")

func newLine(in io.Reader, out io.Writer) *line {
	l := &line{out: out, in: bufio.NewReaderSize(in, 64<<10)}
	l.enc, l.dec = gob.NewEncoder(&l.whole), gob.NewDecoder(l.in)
	return l
}

func (l *line) send(message any, bodies ...[]byte) error {
	l.sending.Lock()
	defer l.sending.Unlock()
	l.whole.Reset()
	if err := l.enc.Encode(message); err != nil {
		return err
	}
	for i, b := range bodies {
		if l.whole.Len()+len(b) > mostTogether {
			return l.sendApart(bodies[i:])
		}
		l.whole.Write(b)
	}
	_, err := l.out.Write(l.whole.Bytes())
	return err
}

// mostTogether is how many bytes are copied to be sent by one write.
const mostTogether = 1 << 20

// sendApart sends what is there of a message, then the rest of its bodies one by one.
func (l *line) sendApart(rest [][]byte) error {
	if _, err := l.out.Write(l.whole.Bytes()); err != nil {
		return err
	}
	for _, b := range rest {
		if _, err := l.out.Write(b); err != nil {
			return err
		}
	}
	return nil
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
