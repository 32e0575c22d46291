package musicxml

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"

	"partwright/musicxml/markup"
)

// open returns the text of the score and its name inside a container.
func open(name string, data []byte) (text []byte, entry string, err error) {
	if len(bytes.TrimSpace(data)) == 0 {
		return nil, "", &InputError{Code: "empty", File: name, Problem: "The file is empty.", Advice: "Export the score again."}
	}
	if !bytes.HasPrefix(data, []byte("PK\x03\x04")) {
		return bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")), "", nil
	}
	fail := func(err error) ([]byte, string, error) {
		return nil, "", &InputError{Code: "container", File: name, Problem: "The container cannot be read: " + err.Error() + "."}
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return fail(err)
	}
	read := func(path string) ([]byte, error) {
		f, err := z.Open(path)
		if err != nil {
			return nil, err
		}
		defer func() { _ = f.Close() }()
		return io.ReadAll(io.LimitReader(f, 64<<20))
	}
	listing, err := read("META-INF/container.xml")
	if err != nil {
		return fail(err)
	}
	tree, err := markup.Parse(listing)
	if err != nil {
		return fail(err)
	}
	for id := range tree.Elements {
		if tree.Elements[id].Name == markup.NameRootfile {
			path, _ := tree.Attr(markup.ID(id), markup.NameFullPath)
			text, err := read(string(path))
			if err != nil {
				return fail(err)
			}
			return bytes.TrimPrefix(text, []byte("\xef\xbb\xbf")), string(path), nil
		}
	}
	return fail(errors.New("it names no score"))
}

func malformed(name, entry string, err error) error {
	e := &InputError{Code: "not-well-formed", File: name, Entry: entry, Problem: "The text is not well-formed XML: " + err.Error() + ".", Advice: "Export the score again."}
	var at *markup.Error
	if errors.As(err, &at) {
		e.Line, e.Column = at.Line, at.Column
		e.Problem = "The text is not well-formed XML: " + at.Problem + "."
	}
	return e
}
