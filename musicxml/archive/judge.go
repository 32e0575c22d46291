package archive

import (
	"bytes"
	"path"
	"strings"

	"partwright/musicxml/container"
)

// verdict is what the name and the beginning of a member make of it.
type verdict struct {
	// skip says why it is no score; "" if it may be one.
	skip string
	// zip asks to make sure that the member is a container, nested tells that
	// it is an archive without looking further.
	zip, nested bool
}

// judge tells scores from the files that lie beside them. Content goes before
// the name; the name of a score is enough, though, to have a damaged one
// reported rather than skipped.
func judge(name string, head []byte) verdict {
	if isSystemFile(name) {
		return verdict{skip: "a file that the system adds"}
	}
	extension := strings.ToLower(path.Ext(name))
	named := namesScore(name)
	switch kind := container.Sniff(head); {
	case kind == container.XML && container.BeginsScore(head):
		return verdict{}
	case kind == container.XML && named:
		if root := rootName(head); root != "" && extension == ".xml" {
			return verdict{skip: "its root element <" + root + "> is not that of a score"}
		}
		return verdict{}
	case kind == container.Zip && extension == ".mxl":
		return verdict{}
	case kind == container.Zip && (extension == "" || extension == ".zip" || named):
		return verdict{zip: true}
	case kind == container.Gzip, kind == container.Tar, kind == container.Packed:
		return verdict{nested: true}
	case named:
		return verdict{}
	}
	return verdict{skip: "no MusicXML score"}
}

// isSystemFile tells what Mac OS, Windows and office programs put into folders, and
// hidden files.
func isSystemFile(name string) bool {
	for _, part := range strings.Split(name, "/") {
		if part == "__MACOSX" || container.IsHidden(part) {
			return true
		}
	}
	base := strings.ToLower(path.Base(name))
	return base == "thumbs.db" || base == "desktop.ini"
}

// rootName returns the name of the root element, "" if the beginning of the
// document does not reach it.
func rootName(head []byte) string {
	text := bytes.ReplaceAll(head, []byte{0}, nil) // UTF-16
	for {
		start := bytes.IndexByte(text, '<')
		if start < 0 {
			return ""
		}
		text = text[start:]
		end := ">"
		switch {
		case bytes.HasPrefix(text, []byte("<!--")):
			end = "-->"
		case bytes.HasPrefix(text, []byte("<?")):
			end = "?>"
		case !bytes.HasPrefix(text, []byte("<!")):
			length := bytes.IndexAny(text, " \t\r\n/>")
			if length < 0 || length > 80 {
				return ""
			}
			return strings.ToValidUTF8(clean(string(text[1:length])), "_")
		}
		length := bytes.Index(text, []byte(end))
		if length < 0 {
			return ""
		}
		text = text[length+len(end):]
	}
}
