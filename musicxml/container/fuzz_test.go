package container

import (
	"archive/zip"
	"bytes"
	"errors"
	"testing"
)

// FuzzContainer: a container is read or refused by an [Error]; what is read can be
// packed again and holds the new score then, everything else as it was.
func FuzzContainer(f *testing.F) {
	s := entry{name: "s.xml", data: score}
	f.Add(pack(f, listing(`<rootfile full-path="s.xml"/>`), s))
	f.Add(pack(f, entry{"mimetype", "application/vnd.recordare.musicxml", stored}, listing(`<rootfile full-path="s.xml"/>`), s, entry{name: "p.png", data: "\x89PNG"}))
	f.Add(pack(f, s))
	f.Add(pack(f, listing(`<rootfile full-path="s.xml"/>`), entry{"s.xml", score, stored}))
	f.Add(pack(f, entry{"s.xml", score, func(h *zip.FileHeader) { h.Extra = []byte{1, 0, 8, 0, 1, 2, 3, 4, 5, 6, 7, 8} }}))
	f.Fuzz(func(t *testing.T, data []byte) {
		limits := Limits{Bytes: 1 << 20, Entries: 100}
		c, err := Open(data, limits)
		if err != nil {
			var e *Error
			if !errors.As(err, &e) || e.Advice == "" || c != nil {
				t.Fatalf("read: %v, error %v", c != nil, err)
			}
			return
		}
		if same, err := c.Repack(c.Score); err != nil || !bytes.Equal(same, data) {
			t.Fatal("an equal score changed the container")
		}
		other := append([]byte("<x/>"), c.Score...)
		packed, err := c.Repack(other)
		if err != nil {
			return
		}
		c2, err := Open(packed, limits)
		if err != nil || !bytes.Equal(c2.Score, other) || c2.Name != c.Name || len(c2.files.File) != len(c.files.File) {
			t.Fatalf("packed again: %v", err)
		}
	})
}
