package worker

import (
	"io"

	"partwright/musicxml"
	"partwright/musicxml/archive"
)

// openArchive yields the members of a file that is an archive; handled is false
// where it is none.
func (in *Inputs) openArchive(f file, yield func(Item) bool) (ok, handled bool) {
	r, size, err := openRegular(f.path)
	if err != nil {
		return false, false // reading it as a score says why
	}
	defer func() { _ = r.Close() }()
	if !archive.IsArchive(r, size, in.Archives) {
		return false, false
	}
	return in.members(f, r, size, yield), true
}

// members yields what an archive holds. The layout of one that the caller named
// begins at its top, as that of a folder does; one met in a folder becomes a
// folder of its name.
func (in *Inputs) members(f file, r io.ReaderAt, size int64, yield func(Item) bool) bool {
	top := ""
	if !f.named {
		top = withoutExtension(f.place) + "/"
	}
	in.found.Add(-1) // its members take its place
	for m, err := range archive.Scores(r, size, in.Archives) {
		in.found.Add(1)
		item := Item{Name: f.path, Place: top + withoutExtension(m.Path), Skipped: m.Skipped, Note: m.Note}
		if m.Path != "" {
			item.Name += "/" + m.Path
		}
		data := m.Data
		item.Read = func() ([]byte, error) { return data, nil }
		if err != nil {
			item.Skipped = ""
			item.Read = func() ([]byte, error) { return nil, musicxml.ArchiveError(item.Name, err) }
		}
		if !yield(item) {
			return false
		}
	}
	return true
}
