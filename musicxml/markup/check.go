package markup

import (
	"bytes"
	"unicode/utf8"
)

// checkCharacters refuses what XML 1.0, production [2] Char, does not allow
// anywhere; the decoder looks for it in character data alone.
func checkCharacters(text []byte, _ Limits) *fault {
	for i := 0; i < len(text); {
		if c := text[i]; c < utf8.RuneSelf {
			if c < ' ' && c != '\t' && c != '\n' && c != '\r' {
				return faultf(i, "the control character %U", c)
			}
			i++
			continue
		}
		c, size := utf8.DecodeRune(text[i:])
		if c == utf8.RuneError && size == 1 {
			return faultf(i, "the byte 0x%02X is not UTF-8", text[i])
		}
		if c == 0xFFFE || c == 0xFFFF {
			return faultf(i, "the character %U", c)
		}
		i += size
	}
	return nil
}

// checkTagSizes refuses tags with too many attributes before the decoder, which
// has no limit, sets them up in memory.
func checkTagSizes(text []byte, limits Limits) *fault {
	for i := 0; ; {
		next := bytes.IndexByte(text[i:], '<')
		if next < 0 {
			return nil
		}
		end, equals := skipMarkup(text, i+next)
		if equals > limits.Attributes {
			return limitf(i+next, "more than %d attributes in one tag", limits.Attributes)
		}
		i = end
	}
}

// skipMarkup returns the end of the markup that begins at text[i] and, for a
// tag, how many '=' it has outside quotes. Where the markup is broken it ends
// early, and the decoder will say so.
func skipMarkup(text []byte, i int) (end, equals int) {
	for _, m := range []struct{ open, close string }{{"<!--", "-->"}, {"<![CDATA[", "]]>"}, {"<?", "?>"}} {
		if bytes.HasPrefix(text[i:], []byte(m.open)) {
			i += len(m.open)
			length := bytes.Index(text[i:], []byte(m.close))
			if length < 0 {
				return len(text), 0
			}
			return i + length, 0
		}
	}
	for i++; i < len(text); i++ {
		switch c := text[i]; c {
		case '>', '<':
			return i, equals
		case '=':
			equals++
		case '"', '\'':
			length := bytes.IndexByte(text[i+1:], c)
			if length < 0 {
				return len(text), equals
			}
			i += length + 1
		}
	}
	return i, equals
}
