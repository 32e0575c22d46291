package api

import (
	"mime"
	"path"
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxFileName is the longest name that most file systems hold, in bytes.
const maxFileName = 255

// cleanFileName makes a client's file name harmless: only the last element of a
// path, no control or invisible directing characters, valid UTF-8, and short
// enough. It may be empty.
func cleanFileName(name string) string {
	name = strings.ToValidUTF8(name, "\uFFFD")
	if i := strings.LastIndexAny(name, `/\`); i >= 0 {
		name = name[i+1:]
	}
	name = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsControl(r), r == '\u2028', r == '\u2029':
			return ' '
		case r >= '\u202A' && r <= '\u202E', r >= '\u2066' && r <= '\u2069':
			return -1 // bidirectional overrides disguise a suffix
		}
		return r
	}, name)
	name = strings.TrimSpace(name)
	if name == "." || name == ".." {
		return ""
	}
	return shorten(name, maxFileName)
}

// shorten cuts the middle out of a name, so that its suffix stays.
func shorten(name string, most int) string {
	if len(name) <= most {
		return name
	}
	suffix := path.Ext(name)
	if len(suffix) > 16 {
		suffix = ""
	}
	stem := name[:most-len(suffix)]
	for !utf8.ValidString(stem) {
		stem = stem[:len(stem)-1]
	}
	return stem + suffix
}

// nameIn returns the file name of a Content-Disposition header, cleaned.
func nameIn(header string) string {
	if header == "" {
		return ""
	}
	_, params, err := mime.ParseMediaType(header)
	if err != nil {
		return ""
	}
	return cleanFileName(params["filename"])
}

// attachment is a Content-Disposition for a score made from the one named name:
// "Song.musicxml" becomes "Song.marked.musicxml".
func attachment(name, infix, mediaType string) string {
	suffix := ".musicxml"
	for extension, of := range mediaTypes {
		if of == mediaType {
			suffix = extension
		}
	}
	stem := name
	switch ext := strings.ToLower(path.Ext(name)); ext {
	case ".musicxml", ".xml", ".mxl":
		stem = name[:len(name)-len(ext)]
	}
	if stem == "" {
		stem = "score"
	}
	tail := infix + suffix
	return mime.FormatMediaType("attachment", map[string]string{"filename": shorten(stem, maxFileName-len(tail)) + tail})
}
