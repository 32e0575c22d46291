package charset

import (
	"bytes"
	"fmt"
	"slices"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding"
)

// Encode writes text, in UTF-8 as [Decode] gave it, in the encoding again: what
// was not changed comes back as the same bytes, and a byte order mark comes
// back. Characters that the encoding lacks become character references, which
// only character data and attribute values may hold. The bytes may share the
// text.
func (e Encoding) Encode(text []byte) ([]byte, error) {
	switch {
	case e.relabel:
		return e.encodeRelabeled(text), nil
	case e.form == utf16Little, e.form == utf16Big:
		return e.encodeUTF16(text), nil
	case e.form == ascii:
		return encodeASCII(text), nil
	case e.form == other:
		return e.encodeCodec(text)
	case e.mark:
		return slices.Concat(utf8Mark, text), nil
	}
	return text, nil
}

// encodeRelabeled writes UTF-8 under a declaration that tells so.
func (e Encoding) encodeRelabeled(text []byte) []byte {
	var mark []byte
	if e.mark && e.form == utf8Form {
		mark = utf8Mark
	}
	_, start, end := declaration(text)
	return slices.Concat(mark, text[:start], []byte("UTF-8"), text[end:])
}

func (e Encoding) encodeUTF16(text []byte) []byte {
	out := make([]byte, 0, 2*len(text)+2)
	unit := func(c uint16) {
		if e.form == utf16Little {
			out = append(out, byte(c), byte(c>>8))
		} else {
			out = append(out, byte(c>>8), byte(c))
		}
	}
	if e.mark {
		unit(0xFEFF)
	}
	for len(text) > 0 {
		c, size := utf8.DecodeRune(text)
		text = text[size:]
		if high, low := utf16.EncodeRune(c); high != utf8.RuneError {
			unit(uint16(high))
			unit(uint16(low))
		} else {
			unit(uint16(c))
		}
	}
	return out
}

func (e Encoding) encodeCodec(text []byte) ([]byte, error) {
	out, err := encoding.HTMLEscapeUnsupported(e.codec.NewEncoder()).Bytes(text)
	if err != nil {
		return nil, fmt.Errorf("writing the score in %s: %w", e.declared, err)
	}
	return out, nil
}

func encodeASCII(text []byte) []byte {
	if bytes.IndexFunc(text, func(c rune) bool { return c >= utf8.RuneSelf }) < 0 {
		return text
	}
	var out []byte
	for _, c := range string(text) {
		if c < utf8.RuneSelf {
			out = append(out, byte(c))
		} else {
			out = fmt.Appendf(out, "&#%d;", c)
		}
	}
	return out
}
