package charset

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/ianaindex"
)

func decodeUTF8(data []byte, enc *Encoding) ([]byte, error) {
	enc.declared, _, _ = declaration(data)
	if utf8.Valid(data) {
		return data, nil
	}
	at := 0
	for {
		c, size := utf8.DecodeRune(data[at:])
		if c == utf8.RuneError && size <= 1 {
			break
		}
		at += size
	}
	source := "it declares no encoding and so is UTF-8"
	if enc.declared != "" {
		source = "it declares " + quote(enc.declared)
	} else if enc.mark {
		source = "its byte order mark says UTF-8"
	}
	return nil, &Error{
		Line: lineOf(data, at),
		Problem: fmt.Sprintf("the byte 0x%02X is not UTF-8, but %s; probably the text is ISO-8859-1 or Windows-1252, where the byte is %q",
			data[at], source, charmap.Windows1252.DecodeByte(data[at])),
		Advice: "export the score again as UTF-8, or make the declaration name the encoding that the text has",
	}
}

func decodeUTF16(data []byte, f form, enc *Encoding) ([]byte, error) {
	enc.form = f
	unit := func(i int) rune {
		if f == utf16Little {
			return rune(data[i]) | rune(data[i+1])<<8
		}
		return rune(data[i])<<8 | rune(data[i+1])
	}
	text := make([]byte, 0, len(data)/2+len(data)/16)
	for i := 0; i < len(data); i += 2 {
		if i+1 == len(data) {
			return nil, &Error{Line: lineOf(text, len(text)), Problem: "the text is " + enc.Name() + " and ends in half a character", Advice: asUTF8}
		}
		c := unit(i)
		if utf16.IsSurrogate(c) {
			low := rune(0)
			if i+3 < len(data) {
				low = unit(i + 2)
			}
			if c = utf16.DecodeRune(c, low); c == utf8.RuneError {
				return nil, &Error{Line: lineOf(text, len(text)), Problem: "the text is not valid " + enc.Name() + ": half of a surrogate pair", Advice: asUTF8}
			}
			i += 2
		}
		text = utf8.AppendRune(text, c)
	}
	enc.declared, _, _ = declaration(text)
	return text, nil
}

// decodeDeclared reads what begins as ASCII does: by its declaration, else as
// UTF-8.
func decodeDeclared(data []byte, enc *Encoding) ([]byte, error) {
	name, _, _ := declaration(data)
	switch strings.ToLower(name) {
	case "", "utf-8", "utf8":
		return decodeUTF8(data, enc)
	case "utf-16", "utf-16le", "utf-16be", "ucs-2", "iso-10646-ucs-2", "unicode":
		// Written by programs that declare what they hold in memory. Such a
		// text cannot be UTF-16, or its declaration could not be read.
		enc.relabel = true
		return decodeUTF8(data, enc)
	case "us-ascii", "ascii":
		if i := bytes.IndexFunc(data, func(c rune) bool { return c >= utf8.RuneSelf }); i >= 0 {
			return nil, &Error{Line: lineOf(data, i), Advice: asUTF8,
				Problem: fmt.Sprintf("the text declares %s, but holds the byte 0x%02X, which is not ASCII", quote(name), data[i])}
		}
		enc.form, enc.declared = ascii, name
		return data, nil
	}
	codec := lookUp(name)
	if codec == nil {
		return nil, &Error{Line: 1, Problem: "the encoding " + quote(name) + " is not known", Advice: asUTF8}
	}
	enc.form, enc.declared, enc.codec = other, name, codec
	return decodeCodec(data, enc)
}

func decodeCodec(data []byte, enc *Encoding) ([]byte, error) {
	text, err := enc.codec.NewDecoder().Bytes(data)
	if err != nil {
		return nil, &Error{Problem: "the text is not " + quote(enc.declared), Advice: asUTF8}
	}
	if again, _, _ := declaration(text); again != enc.declared {
		return nil, &Error{Line: 1, Problem: "the text declares " + quote(enc.declared) + ", but is not written in it", Advice: asUTF8}
	}
	back, err := enc.codec.NewEncoder().Bytes(text)
	if err == nil && bytes.Equal(back, data) {
		return text, nil
	}
	if at := bytes.IndexRune(text, utf8.RuneError); at >= 0 {
		return nil, &Error{Line: lineOf(text, at), Problem: "the line holds bytes that are not " + quote(enc.declared), Advice: asUTF8}
	}
	enc.relabel = true
	return text, nil
}

// lookUp finds an encoding by any of its registered names, then by the names
// that the WHATWG Encoding Standard adds; nil if there is none.
func lookUp(name string) encoding.Encoding {
	for _, index := range []*ianaindex.Index{ianaindex.IANA, ianaindex.MIME} {
		if codec, err := index.Encoding(name); err == nil && codec != nil {
			return codec
		}
	}
	if codec, err := htmlindex.Get(name); err == nil && codec != encoding.Replacement {
		return codec
	}
	return nil
}

// quote shows a name from a document, cut to a sensible length.
func quote(name string) string { return fmt.Sprintf("%.40q", name) }
