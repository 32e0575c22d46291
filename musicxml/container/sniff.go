package container

import "bytes"

// Kind is what bytes are, judged by how they begin and never by a file name.
type Kind uint8

const (
	Unknown Kind = iota
	// Empty is nothing but white space.
	Empty
	// XML begins with markup, in UTF-8, UTF-16 or a superset of ASCII.
	XML
	// Zip may be a container or an archive of scores; see [IsContainer].
	Zip
	Gzip
	Tar
	// Packed is some other packed format, which is not read.
	Packed
)

// SniffLength is how many bytes [Sniff] looks at.
const SniffLength = 2048

// Sniff tells what data is from its first [SniffLength] bytes.
func Sniff(data []byte) Kind {
	data = data[:min(len(data), SniffLength)]
	begins := func(magic string) bool { return bytes.HasPrefix(data, []byte(magic)) }
	switch {
	case begins("PK\x03\x04"), begins("PK\x05\x06"):
		return Zip
	case begins("\x1F\x8B"):
		return Gzip
	case len(data) > 262 && string(data[257:262]) == "ustar":
		return Tar
	case begins("BZh"), begins("\xFD7zXZ\x00"), begins("7z\xBC\xAF\x27\x1C"), begins("Rar!\x1A\x07"), begins("\x28\xB5\x2F\xFD"):
		return Packed
	}
	return sniffText(data)
}

// sniffText drops byte order marks, and the zeros of UTF-16, before it looks.
func sniffText(data []byte) Kind {
	for _, mark := range []string{"\xEF\xBB\xBF", "\xFF\xFE", "\xFE\xFF"} {
		data = bytes.TrimPrefix(data, []byte(mark))
	}
	text := bytes.TrimLeft(data, " \t\r\n\x00")
	switch {
	case len(text) == 0:
		return Empty
	case text[0] == '<' && len(text) > 1 && text[1] != ' ':
		return XML
	}
	return Unknown
}

// BeginsScore tells whether the root element of a MusicXML score, or a DOCTYPE
// that names it, is among the first [SniffLength] bytes.
func BeginsScore(data []byte) bool {
	text := bytes.ReplaceAll(data[:min(len(data), SniffLength)], []byte{0}, nil) // UTF-16
	for _, root := range []string{"score-partwise", "score-timewise"} {
		if bytes.Contains(text, []byte("<"+root)) || bytes.Contains(text, []byte("<!DOCTYPE "+root)) {
			return true
		}
	}
	return false
}
