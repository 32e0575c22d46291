package files

import (
	"cmp"
	"crypto/rand"
	"fmt"
	"os"
	"path"
	"strings"
	"unicode"
	"unicode/utf8"

	"partwright/worker/answer"
)

// OutDir is a folder that answers are written to, and nothing outside it.
type OutDir struct {
	root *os.Root
	// parts is a folder in this one for files that are not whole yet, "" to have them
	// beside what they will be.
	parts string
	*Places
}

// Places gives out paths that can be written under a folder, each once.
type Places struct {
	// taken holds the places given out, folded in case, because some file
	// systems cannot tell A from a.
	taken map[string]bool
}

// NewPlaces returns places of which none is taken.
func NewPlaces() *Places { return &Places{map[string]bool{}} }

// OpenOutDir opens a folder for answers and creates it where there is none.
func OpenOutDir(dir string) (*OutDir, error) {
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return nil, err
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	return &OutDir{root: root, Places: NewPlaces()}, nil
}

// Close releases the folder.
func (d *OutDir) Close() error { return d.root.Close() }

// PartsIn has files that are not whole yet lie in a folder of this one from now on. What
// is there was left by a process that was killed, and is removed.
func (d *OutDir) PartsIn(folder string) error {
	err := d.root.RemoveAll(folder)
	if err == nil {
		err = d.root.MkdirAll(folder, 0o750)
	}
	d.parts = folder
	return err
}

// Info identifies the folder, for [Inputs.Except].
func (d *OutDir) Info() (os.FileInfo, error) { return d.root.Stat(".") }

// Claim turns the place of an [Item] into a path in the folder that no other
// item has: a place asked for again gets "-2", "-3", … at its end. Elements
// that would lead out of the folder or that a file system refuses are replaced.
func (d *Places) Claim(place string) string {
	clean := cleanPlace(place)
	unique := clean
	for n := 2; d.taken[strings.ToLower(unique)]; n++ {
		unique = fmt.Sprintf("%s-%d", clean, n)
	}
	d.taken[strings.ToLower(unique)] = true
	return unique
}

// WriteFiles writes files under a place that no other item has.
func (d *OutDir) WriteFiles(place string, files []answer.File) error {
	return d.WriteAt(d.Claim(place), files)
}

// WriteAt writes files under a place that was claimed. It is safe for concurrent use,
// as [OutDir.Write] is.
func (d *OutDir) WriteAt(claimed string, files []answer.File) error {
	for _, f := range files {
		if err := d.Write(claimed+f.Suffix, f.Data); err != nil {
			return err
		}
	}
	return nil
}

// Write writes one file whole or not at all, and the folders above it.
func (d *OutDir) Write(name string, data []byte) error {
	f, err := d.Create(name)
	if err != nil {
		return err
	}
	if _, err := f.Write(data); err != nil {
		f.Discard()
		return err
	}
	return f.Commit()
}

// Part is a file that is not whole yet and lies under another name until it is.
type Part struct {
	*os.File
	root            *os.Root
	temporary, name string
}

// Create begins a file, and the folders above it. End it by [Part.Commit] or
// [Part.Discard].
func (d *OutDir) Create(name string) (*Part, error) {
	if dir := path.Dir(name); dir != "." {
		if err := d.root.MkdirAll(dir, 0o750); err != nil {
			return nil, err
		}
	}
	temporary := path.Join(cmp.Or(d.parts, path.Dir(name)), ".part-"+rand.Text())
	f, err := d.root.OpenFile(temporary, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o640)
	if err != nil {
		return nil, err
	}
	return &Part{f, d.root, temporary, name}, nil
}

// Commit gives the file its name; on an error there is none.
func (p *Part) Commit() error {
	err := p.Close()
	if err == nil {
		err = p.root.Rename(p.temporary, p.name)
	}
	if err != nil {
		_ = p.root.Remove(p.temporary)
	}
	return err
}

// Discard removes the file.
func (p *Part) Discard() {
	_ = p.Close()
	_ = p.root.Remove(p.temporary)
}

// ReadFile reads a file in the folder.
func (d *OutDir) ReadFile(name string) ([]byte, error) { return d.root.ReadFile(name) }

// Remove removes a file in the folder.
func (d *OutDir) Remove(name string) error { return d.root.Remove(name) }

// maxElement leaves room for suffixes under the 255 bytes that file systems allow.
const maxElement = 200

func cleanPlace(place string) string {
	var elements []string
	for _, element := range strings.FieldsFunc(place, func(r rune) bool { return r == '/' || r == '\\' }) {
		element = strings.Map(func(r rune) rune {
			if strings.ContainsRune(`<>:"|?*`, r) || !unicode.IsPrint(r) {
				return '_'
			}
			return r
		}, element)
		for len(element) > maxElement {
			_, size := utf8.DecodeLastRuneInString(element)
			element = element[:len(element)-size]
		}
		// Names that end in dots or blanks, "." and ".." among them, mean
		// something else to one file system or another.
		if element = strings.TrimRight(element, ". "); element != "" {
			elements = append(elements, element)
		}
	}
	if len(elements) == 0 {
		return "score"
	}
	for i := range elements[:len(elements)-1] {
		if answer.IsFileName(elements[i]) {
			elements[i] += "_"
		}
	}
	return strings.Join(elements, "/")
}
