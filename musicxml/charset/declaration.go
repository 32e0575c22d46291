package charset

import "bytes"

// declaration finds the encoding that an XML declaration at the beginning of an
// ASCII-like text names, and where the name stands; "" if there is none.
func declaration(text []byte) (name string, start, end int) {
	if !bytes.HasPrefix(text, []byte("<?xml")) {
		return "", 0, 0
	}
	length := bytes.Index(text[:min(len(text), 1024)], []byte("?>"))
	if length < 0 {
		return "", 0, 0
	}
	for at := len("<?xml"); at < length; {
		at += spaces(text[at:length])
		key := at
		for at < length && text[at] != '=' && spaces(text[at:length]) == 0 {
			at++
		}
		word := text[key:at]
		at += spaces(text[at:length])
		if at >= length || text[at] != '=' {
			return "", 0, 0
		}
		at++
		at += spaces(text[at:length])
		if at >= length || text[at] != '"' && text[at] != '\'' {
			return "", 0, 0
		}
		value := at + 1
		size := bytes.IndexByte(text[value:length], text[at])
		if size < 0 {
			return "", 0, 0
		}
		if string(word) == "encoding" {
			return string(text[value : value+size]), value, value + size
		}
		at = value + size + 1
	}
	return "", 0, 0
}

// spaces counts the white space that b begins with.
func spaces(b []byte) int { return len(b) - len(bytes.TrimLeft(b, " \t\r\n")) }
