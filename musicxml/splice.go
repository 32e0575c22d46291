package musicxml

import (
	"slices"
)

// edit replaces text[from:to] by with.
type edit struct {
	from, to int32
	with     []byte
}

// splice collects changes to one text. Every offset is of the text as it was.
type splice []edit

func (s *splice) insert(at int32, with ...[]byte) {
	for _, w := range with {
		*s = append(*s, edit{at, at, w})
	}
}

func (s *splice) replace(from, to int32, with []byte) { *s = append(*s, edit{from, to, with}) }

func (s *splice) remove(from, to int32) { s.replace(from, to, nil) }

// apply returns the changed text. Edits at one place keep the order in which
// they were made. Of edits that overlap, the one that begins first wins.
func (s splice) apply(text []byte) []byte {
	slices.SortStableFunc(s, func(a, b edit) int { return int(a.from) - int(b.from) })
	size := len(text)
	for _, e := range s {
		size += len(e.with) - int(e.to-e.from)
	}
	out := make([]byte, 0, max(size, 0))
	at := int32(0)
	for _, e := range s {
		if e.from < at {
			continue
		}
		out = append(out, text[at:e.from]...)
		out = append(out, e.with...)
		at = e.to
	}
	return append(out, text[at:]...)
}
