package archive

import (
	"io"
	"strings"

	"partwright/musicxml/container"
)

func (a *reader) zip(r io.ReaderAt, size int64) error {
	z, err := container.OpenZip(r, size, a.limits.Entries)
	if err != nil {
		return err
	}
	if container.IsContainer(z) {
		return &Error{Problem: "the file is one score in a container, no archive of scores", Advice: "send it as a score"}
	}
	limits := a.limits.ofMember()
	for _, f := range z.File {
		if strings.HasSuffix(f.Name, "/") {
			continue
		}
		load := func() ([]byte, error) { return container.Unpack(f, limits) }
		var head []byte
		if a.wanted == nil { // a file that is wanted is known by its path
			head = container.Peek(f, limits)
		}
		if err := a.member(f.Name, head, load); err != nil {
			return err
		}
	}
	return nil
}
