package markup

import (
	"bytes"
	"strconv"
	"unicode/utf8"
)

var predefined = map[string]byte{"lt": '<', "gt": '>', "amp": '&', "apos": '\'', "quot": '"'}

// reference returns what the reference that raw begins with stands for and its
// length in bytes; ok is false where there is none or XML 1.0 allows none such.
func reference(raw []byte) (c rune, length int, ok bool) {
	end := bytes.IndexByte(raw, ';')
	if end < 2 {
		return 0, 0, false
	}
	body := raw[1:end]
	if body[0] != '#' {
		c, ok := predefined[string(body)]
		return rune(c), end + 1, ok
	}
	digits, base := body[1:], 10
	if len(digits) > 0 && digits[0] == 'x' {
		digits, base = digits[1:], 16
	}
	n, err := strconv.ParseUint(string(digits), base, 32)
	return rune(n), end + 1, err == nil && n <= utf8.MaxRune && allowed(rune(n))
}

// allowed is production [2] Char of XML 1.0.
func allowed(c rune) bool {
	return c == '\t' || c == '\n' || c == '\r' ||
		c >= ' ' && c <= 0xD7FF || c >= 0xE000 && c <= 0xFFFD || c >= 0x10000
}

// checkReferences refuses references that the standard decoder lets pass: those
// to surrogates. CDATA holds none.
func checkReferences(raw []byte, at int) *fault {
	if bytes.HasPrefix(raw, cdataOpen) {
		return nil
	}
	for i := 0; ; i++ {
		next := bytes.IndexByte(raw[i:], '&')
		if next < 0 {
			return nil
		}
		i += next
		if _, _, ok := reference(raw[i:]); !ok {
			return faultf(at+i, "the reference %.12q", raw[i:])
		}
	}
}

var (
	cdataOpen   = []byte("<![CDATA[")
	cdataClose  = []byte("]]>")
	commentOpen = []byte("<!--")
)

// isPlain tells whether character data stands for itself.
func isPlain(raw []byte) bool {
	for _, c := range raw {
		if c == '&' || c == '<' || c == '\r' {
			return false
		}
	}
	return true
}

// appendText adds what a stretch of accepted text without elements says:
// references and CDATA resolved, comments and processing instructions left out,
// line ends made line feeds (XML 1.0, section 2.11).
func appendText(out, raw []byte) []byte {
	for len(raw) > 0 {
		switch c := raw[0]; {
		case c == '&':
			c, length, _ := reference(raw)
			out, raw = utf8.AppendRune(out, c), raw[length:]
		case c == '\r':
			out, raw = append(out, '\n'), bytes.TrimPrefix(raw[1:], lineFeed)
		case bytes.HasPrefix(raw, cdataOpen):
			end := bytes.Index(raw, cdataClose)
			out = appendLines(out, raw[len(cdataOpen):end])
			raw = raw[end+len(cdataClose):]
		case bytes.HasPrefix(raw, commentOpen):
			raw = raw[len(commentOpen):]
			raw = raw[bytes.Index(raw, []byte("-->"))+3:]
		case c == '<':
			raw = raw[bytes.Index(raw, []byte("?>"))+2:]
		default:
			out, raw = append(out, c), raw[1:]
		}
	}
	return out
}

func appendLines(out, raw []byte) []byte {
	for i, c := range raw {
		switch {
		case c == '\r':
			out = append(out, '\n')
		case c == '\n' && i > 0 && raw[i-1] == '\r':
		default:
			out = append(out, c)
		}
	}
	return out
}

// trim cuts white space as XML 1.0 knows it, production [3] S.
func trim(b []byte) []byte {
	for len(b) > 0 && isSpace(b[0]) {
		b = b[1:]
	}
	for len(b) > 0 && isSpace(b[len(b)-1]) {
		b = b[:len(b)-1]
	}
	return b
}

func isSpace(c byte) bool { return c == ' ' || c == '\n' || c == '\t' || c == '\r' }
