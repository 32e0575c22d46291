package archive

import (
	"archive/tar"
	"bufio"
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"

	"partwright/musicxml/container"
)

// gzip reads a packed tar file, or a single packed score.
func (a *reader) gzip(r io.Reader) error {
	packed := &counter{r: r}
	z, err := gzip.NewReader(packed)
	if err != nil {
		return damaged(err)
	}
	name := z.Name
	in := bufio.NewReaderSize(&guard{z, packed, a.limits, 0}, container.SniffLength)
	head, err := in.Peek(container.SniffLength)
	if err != nil && !errors.Is(err, io.EOF) {
		return damaged(err)
	}
	if container.Sniff(head) == container.Tar {
		return a.tar(in)
	}
	if name == "" {
		name = "score.musicxml"
	}
	return a.member(name, head, func() ([]byte, error) { return a.readAll(in) })
}

func (a *reader) tar(r io.Reader) error {
	t := tar.NewReader(r)
	for entries := 1; ; entries++ {
		h, err := t.Next()
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil && !errors.Is(err, tar.ErrInsecurePath): // names are names here, never paths
			return damaged(err)
		case entries > a.limits.Entries:
			return &Error{Problem: fmt.Sprintf("the archive has more than %d entries", a.limits.Entries), Advice: "send it in parts, or raise the limit", limit: true}
		}
		if err := a.tarEntry(t, h); err != nil {
			return err
		}
	}
}

func (a *reader) tarEntry(t *tar.Reader, h *tar.Header) error {
	switch h.Typeflag {
	case tar.TypeReg:
	case tar.TypeDir, tar.TypeXGlobalHeader:
		return nil
	default:
		return a.member(h.Name, nil, func() ([]byte, error) {
			return nil, &Error{Problem: "a link or other special file, which is not followed", Advice: "pack the file itself"}
		})
	}
	head := make([]byte, container.SniffLength)
	n, err := io.ReadFull(t, head)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return damaged(err)
	}
	head = head[:n]
	if int64(n) < min(h.Size, int64(len(head))) {
		return damaged(io.ErrUnexpectedEOF)
	}
	var broken error
	err = a.member(h.Name, head, func() ([]byte, error) {
		if h.Size > a.limits.Bytes {
			return nil, a.tooLarge()
		}
		data, err := a.readAll(io.MultiReader(bytes.NewReader(head), t))
		if err != nil && !errors.As(err, new(*Error)) {
			broken = damaged(err) // what follows in the stream is lost too
			return nil, &Error{Problem: "is damaged or cut short", Advice: "save or send the archive again"}
		}
		return data, err
	})
	if err == nil {
		err = broken
	}
	return err
}

// readAll reads a member to its end or its limit.
func (a *reader) readAll(r io.Reader) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(r, a.limits.Bytes+1))
	if err == nil && int64(len(data)) > a.limits.Bytes {
		return nil, a.tooLarge()
	}
	return data, err
}

func (a *reader) tooLarge() error {
	return &Error{Problem: fmt.Sprintf("unpacks to more than %d bytes", a.limits.Bytes), Advice: "send less at once, or raise the limit", limit: true}
}

func damaged(err error) error {
	var own *Error
	if errors.As(err, &own) || errors.As(err, new(*overTotal)) {
		return err
	}
	problem := "the packed data is not valid"
	if errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) {
		problem = "it ends too early"
	}
	return &Error{Problem: "the archive is damaged or cut short (" + problem + ")", Advice: "save or send the archive again"}
}

// counter counts the packed bytes read.
type counter struct {
	r io.Reader
	n int64
}

func (c *counter) Read(p []byte) (int, error) {
	n, err := c.r.Read(p)
	c.n += int64(n)
	return n, err
}

// guard stops a stream that unpacks to too much, skipped files included.
type guard struct {
	r      io.Reader
	packed *counter
	limits Limits
	n      int64
}

// ratioFloor is the unpacked size from which the ratio counts.
const ratioFloor = 1 << 20

func (g *guard) Read(p []byte) (int, error) {
	n, err := g.r.Read(p)
	g.n += int64(n)
	switch {
	case g.n > g.limits.Total:
		return 0, &overTotal{g.limits.Total}
	case g.n > ratioFloor && g.n/int64(g.limits.Ratio) > g.packed.n:
		return 0, &Error{Problem: fmt.Sprintf("the archive unpacks to more than %d times its size", g.limits.Ratio), Advice: "send less at once, or raise the limit", limit: true}
	}
	return n, err
}
