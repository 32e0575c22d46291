package markup

import "strings"

// Classes of ASCII bytes in the plain subset.
const (
	nameStart uint8 = 1 << iota
	nameByte
	space
	// plainText, plainDouble and plainSingle stand for themselves in character
	// data and in values in double and single quotes.
	plainText
	plainDouble
	plainSingle
)

var class = func() (table [256]uint8) {
	for c := range 128 {
		b := byte(c)
		letter := b >= 'a' && b <= 'z' || b >= 'A' && b <= 'Z' || b == '_' || b == ':'
		if letter {
			table[c] |= nameStart
		}
		if letter || b >= '0' && b <= '9' || b == '-' || b == '.' {
			table[c] |= nameByte
		}
		if isSpace(b) {
			table[c] |= space
		}
		if b < ' ' && !isSpace(b) {
			continue
		}
		for kind, special := range map[uint8]string{plainText: "<&]", plainDouble: `<&"`, plainSingle: "<&'"} {
			if strings.IndexByte(special, b) < 0 {
				table[c] |= kind
			}
		}
	}
	return table
}()
