package musicxml

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"partwright/musicxml/charset"
	"partwright/musicxml/container"
	"partwright/musicxml/markup"
)

// open takes the score out of its container, decodes it and parses it. What it
// learns on the way stays in the document, so that the score can go back.
func (d *Document) open(name string, data []byte, limits Limits) error {
	d.data = data
	switch kind := container.Sniff(data); kind {
	case container.Empty:
		return &InputError{Code: "empty", File: name, Problem: "The file is empty.", Advice: "Export the score again."}
	case container.Zip:
		packed, err := container.Open(data, container.Limits{Bytes: limits.MaxBytes, Entries: limits.MaxEntries, Ratio: limits.MaxRatio})
		if err != nil && limits.MaxBytes > 0 && int64(len(data)) > limits.MaxBytes {
			// Whoever read it stopped there.
			return &InputError{Code: CodeLimit, File: name, Problem: fmt.Sprintf("The container has more than %d bytes.", limits.MaxBytes),
				Advice: "Send less at once, or raise the limit."}
		}
		if err != nil {
			return unpacking(name, err)
		}
		d.packed, data = packed, packed.Score
	case container.Gzip, container.Tar, container.Packed:
		return &InputError{Code: "packed", File: name, Problem: "The file is packed in a way that no score is.",
			Advice: "Send a .musicxml or .mxl file."}
	}
	entry := ""
	if d.packed != nil {
		entry = d.packed.Name
	}
	text, encoding, err := charset.Decode(data)
	if err != nil {
		return decoding(name, entry, err)
	}
	d.encoding = encoding
	d.tree, err = markup.Parse(text, markup.Limits{
		Bytes: limits.MaxBytes, Depth: limits.MaxDepth, Elements: limits.MaxElements,
		Attributes: limits.MaxAttributes, TotalAttributes: limits.MaxElements,
		Work: limits.Work,
	})
	if err != nil {
		return parsing(name, entry, err)
	}
	return nil
}

func unpacking(name string, err error) error {
	e := &InputError{Code: "container", File: name, Problem: sentence(err.Error()), Advice: "Export the score again."}
	var at *container.Error
	if errors.As(err, &at) {
		e.Entry, e.Problem, e.Advice = at.Entry, sentence("the container "+at.Problem), sentence(at.Advice)
		if at.Entry != "" {
			e.Problem = sentence(at.Error())
		}
	}
	if errors.Is(err, container.ErrLimit) {
		e.Code = CodeLimit
	}
	return e
}

func decoding(name, entry string, err error) error {
	e := &InputError{Code: "encoding", File: name, Entry: entry, Problem: sentence(err.Error())}
	var at *charset.Error
	if errors.As(err, &at) {
		e.Line, e.Problem, e.Advice = at.Line, sentence(at.Problem), sentence(at.Advice)
	}
	return e
}

func parsing(name, entry string, err error) error {
	e := &InputError{Code: "not-well-formed", File: name, Entry: entry, Advice: "Export the score again."}
	problem := err.Error()
	var at *markup.Error
	if errors.As(err, &at) {
		e.Line, e.Column, problem = at.Line, at.Column, at.Problem
	}
	e.Problem = sentence("the XML cannot be read: " + problem)
	if errors.Is(err, markup.ErrLimit) {
		e.Code, e.Problem, e.Advice = CodeLimit, sentence("the document has "+problem), "Send less at once, or raise the limit."
	}
	return e
}

// sentence makes a clause a sentence.
func sentence(clause string) string {
	if clause == "" {
		return ""
	}
	first, size := utf8.DecodeRuneInString(clause)
	return string(unicode.ToUpper(first)) + strings.TrimSuffix(clause[size:], ".") + "."
}
