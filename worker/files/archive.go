package files

import (
	"io"
	"iter"

	"partwright/musicxml"
	"partwright/musicxml/archive"
	"partwright/worker/settings"
)

// Archive is an archive whose scores are items.
type Archive struct {
	Content io.ReaderAt
	// Size is how many bytes it has.
	Size   int64
	Limits archive.Limits
	// Name stands before the names of its members, "" for none; Top before their
	// places.
	Name, Top string
	// Beside asks for the labels that lie beside scores, as [Inputs] has it.
	Beside bool
	// Texts takes .rntxt and .txt files for progressions, as [Inputs] has it.
	Texts bool
}

// Items yields the members of the archive in the order of its entries, and what
// keeps the rest from being read.
func (a *Archive) Items() iter.Seq[Item] {
	return func(yield func(Item) bool) {
		labels := a.labels()
		for m, err := range archive.Scores(a.Content, a.Size, a.Limits) {
			item := Item{Name: a.nameOf(m.Path), Place: a.Top + withoutExtension(m.Path), Skipped: m.Skipped, Note: m.Note}
			item.Expected = (a.Beside || a.Texts) && IsLabels(m.Path)
			item.Read = func() ([]byte, error) { return m.Data, nil }
			item.Labels = labels.Beside(m.Path)
			if err != nil {
				item.Skipped = ""
				item.Read = func() ([]byte, error) { return nil, musicxml.ArchiveError(item.Name, err) }
			}
			if !yield(item) {
				return
			}
		}
		if a.Texts {
			a.texts(yield)
		}
	}
}

// texts yields the progressions of the archive.
func (a *Archive) texts(yield func(Item) bool) {
	for m, err := range archive.Files(a.Content, a.Size, a.textLimits(), maxLabels, IsLabels) {
		item := Item{Name: a.nameOf(m.Path), Place: a.Top + withoutExtension(m.Path)}
		item.Read = func() ([]byte, error) { return m.Data, err }
		if !yield(item) {
			return
		}
	}
}

// textLimits bound a text in the archive.
func (a *Archive) textLimits() archive.Limits {
	limits := a.Limits
	limits.Bytes = settings.MaxBytes
	return limits
}

func (a *Archive) nameOf(path string) string {
	if a.Name == "" || path == "" {
		return a.Name + path
	}
	return a.Name + "/" + path
}

// labels takes the labels out beforehand: they may stand behind their score.
func (a *Archive) labels() *LabelFiles {
	if !a.Beside {
		return nil
	}
	all := &LabelFiles{}
	for m, err := range archive.Files(a.Content, a.Size, a.textLimits(), maxLabels, IsLabels) {
		all.Add(m.Path, a.nameOf(m.Path), m.Data, err)
	}
	return all
}

// openArchive yields the members of a file that is an archive; handled is false
// where it is none.
func (in *Inputs) openArchive(f file, yield func(Item) bool) (ok, handled bool) {
	r, size, err := openRegular(f.path)
	if err != nil {
		return false, false // reading it as a score says why
	}
	defer func() { _ = r.Close() }()
	if !archive.IsArchive(f.path, r, size, in.Archives) {
		return false, false
	}
	return in.members(f, r, size, yield), true
}

// members yields what an archive holds. The layout of one that the caller named
// begins at its top, as that of a folder does; one met in a folder becomes a
// folder of its name.
func (in *Inputs) members(f file, r io.ReaderAt, size int64, yield func(Item) bool) bool {
	a := Archive{Content: r, Size: size, Limits: in.Archives, Name: f.path, Beside: in.Beside, Texts: in.Texts}
	if !f.named {
		a.Top = withoutExtension(f.place) + "/"
	}
	in.found.Add(-1) // its members take its place
	for item := range a.Items() {
		in.found.Add(1)
		if !yield(item) {
			return false
		}
	}
	return true
}
