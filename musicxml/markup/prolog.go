package markup

import "bytes"

// prolog reads up to the start tag of the root.
func (s *plainScanner) prolog() int {
	i := s.declaration()
	if i < 0 {
		return -1
	}
	if i = s.misc(i); i >= 0 && bytes.HasPrefix(s.t.Text[i:], doctypeOpen) {
		if i = s.doctype(i); i >= 0 {
			i = s.misc(i)
		}
	}
	return i
}

// misc skips white space and comments.
func (s *plainScanner) misc(i int) int {
	for {
		i = skipSpace(s.t.Text, i)
		if !bytes.HasPrefix(s.t.Text[i:], commentOpen) {
			return i
		}
		if i = s.comment(i); i < 0 {
			return -1
		}
	}
}

// declaration reads the XML declaration, if the text has one. The standard
// decoder looks into it for the version alone.
func (s *plainScanner) declaration() int {
	text := s.t.Text
	if !bytes.HasPrefix(text, []byte("<?")) {
		return 0
	}
	length := bytes.Index(text[:min(len(text), 256)], []byte("?>"))
	if length < 0 || checkCharacters(text[:length], s.limits) != nil {
		return -1
	}
	for _, version := range []string{`<?xml version="1.0"`, `<?xml version='1.0'`} {
		if bytes.HasPrefix(text, []byte(version)) {
			return length + 2
		}
	}
	return -1
}

var doctypeOpen = []byte("<!DOCTYPE ")

// doctype reads a document type declaration without an internal subset.
func (s *plainScanner) doctype(at int) int {
	text := s.t.Text
	for i := at + len(doctypeOpen); i < len(text); i++ {
		switch c := text[i]; c {
		case '>':
			if checkCharacters(text[at:i], s.limits) != nil {
				return -1
			}
			return i + 1
		case '[', '<':
			return -1
		case '"', '\'':
			length := bytes.IndexByte(text[i+1:], c)
			if length < 0 || bytes.ContainsAny(text[i:i+1+length], "[<") {
				return -1
			}
			i += 1 + length
		}
	}
	return -1
}

func skipSpace(text []byte, i int) int {
	for i < len(text) && class[text[i]]&space != 0 {
		i++
	}
	return i
}
