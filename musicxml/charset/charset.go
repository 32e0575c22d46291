// Package charset turns the bytes of an XML document into UTF-8 and back into
// the encoding they came in, by XML 1.0, section 4.3.3 and appendix F: a byte
// order mark decides, then the look of the first characters, then what the
// declaration says. Begin with [Decode].
//
// Nothing is guessed: bytes that are not what they are said to be are refused.
package charset

import (
	"bytes"
	"fmt"

	"golang.org/x/text/encoding"
)

// Encoding is how a document was written in bytes. The zero value is UTF-8
// without a byte order mark.
type Encoding struct {
	form form
	// mark tells that a byte order mark came first.
	mark bool
	// declared is what the XML declaration says, "" for nothing.
	declared string
	// codec is set for the form other.
	codec encoding.Encoding
	// relabel tells that the text cannot go back as it came: it goes as UTF-8,
	// and the declaration has to say so.
	relabel bool
}

type form uint8

const (
	utf8Form form = iota
	utf16Little
	utf16Big
	ascii
	other
)

// Error tells why bytes are not read as text.
type Error struct {
	// Line counts from 1; 0 where no line is to blame.
	Line int
	// Problem and Advice are clauses without a full stop.
	Problem, Advice string
}

// Error returns the problem and its line.
func (e *Error) Error() string {
	if e.Line == 0 {
		return e.Problem
	}
	return fmt.Sprintf("line %d: %s", e.Line, e.Problem)
}

var utf8Mark = []byte("\xEF\xBB\xBF")

// Decode returns the document in UTF-8 without a byte order mark, and how it
// was encoded. The text shares its bytes with data where nothing had to be
// converted. What cannot be decoded is an [*Error].
func Decode(data []byte) (text []byte, enc Encoding, err error) {
	switch {
	case bytes.HasPrefix(data, []byte("\xFF\xFE\x00\x00")), bytes.HasPrefix(data, []byte("\x00\x00\xFE\xFF")):
		return nil, enc, &Error{Problem: "the encoding is UTF-32, which is not read", Advice: asUTF8}
	case bytes.HasPrefix(data, utf8Mark):
		enc.mark = true
		text, err = decodeUTF8(data[len(utf8Mark):], &enc)
	case bytes.HasPrefix(data, []byte("\xFF\xFE")):
		enc.mark = true
		text, err = decodeUTF16(data[2:], utf16Little, &enc)
	case bytes.HasPrefix(data, []byte("\xFE\xFF")):
		enc.mark = true
		text, err = decodeUTF16(data[2:], utf16Big, &enc)
	case bytes.HasPrefix(data, []byte("<\x00")):
		text, err = decodeUTF16(data, utf16Little, &enc)
	case bytes.HasPrefix(data, []byte("\x00<")):
		text, err = decodeUTF16(data, utf16Big, &enc)
	default:
		text, err = decodeDeclared(data, &enc)
	}
	if err != nil {
		return nil, Encoding{}, err
	}
	return text, enc, nil
}

const asUTF8 = "export the score again, as UTF-8"

// Name returns the encoding's name: "UTF-8", "UTF-16LE", "UTF-16BE" or the one
// that the document declares.
func (e Encoding) Name() string {
	switch e.form {
	case utf16Little:
		return "UTF-16LE"
	case utf16Big:
		return "UTF-16BE"
	case ascii, other:
		return e.declared
	}
	return "UTF-8"
}

// Declared returns the encoding that the XML declaration names, or "".
func (e Encoding) Declared() string { return e.declared }

// Relabeled tells that [Encoding.Encode] does not give back the encoding
// declared: that one was wrong, or does not come back byte for byte.
func (e Encoding) Relabeled() bool { return e.relabel }

func lineOf(data []byte, at int) int { return 1 + bytes.Count(data[:at], []byte{'\n'}) }
