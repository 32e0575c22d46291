package charset

import (
	"bytes"
	"errors"
	"strings"
	"testing"
)

// The byte sequences are those of the encodings' own tables: ISO/IEC 8859-1,
// RFC 1489 (KOI8-R), JIS X 0208 as Shift_JIS, Unicode 15, table 3-6 (UTF-8) and
// D91 (surrogate pairs).
func TestDecodeAndEncode(t *testing.T) {
	tests := []struct {
		name, data, text, encoding string
		transcoded                 bool
		why                        string
	}{
		{"plain", "<a>é</a>", "<a>é</a>", "UTF-8", false, "XML 1.0, 4.3.3: neither mark nor declaration means UTF-8"},
		{"declared UTF-8", `<?xml version="1.0" encoding="utf-8"?><a>é</a>`, `<?xml version="1.0" encoding="utf-8"?><a>é</a>`, "UTF-8", false, "names of encodings ignore case"},
		{"mark", "\xEF\xBB\xBF<a>é</a>", "<a>é</a>", "UTF-8", false, "the mark is no part of the text"},
		{"UTF-16LE", "\xFF\xFE<\x00a\x00/\x00>\x00", "<a/>", "UTF-16LE", true, "the mark gives the order"},
		{"UTF-16BE", "\xFE\xFF\x00<\x00a\x00/\x00>", "<a/>", "UTF-16BE", true, "the mark gives the order"},
		{"no mark LE", "<\x00a\x00>\x00\xE9\x00<\x00/\x00a\x00>\x00", "<a>é</a>", "UTF-16LE", true, "appendix F: told by the first character"},
		{"no mark BE", "\x00<\x00a\x00/\x00>", "<a/>", "UTF-16BE", true, "appendix F: told by the first character"},
		{"surrogates", "\xFE\xFF\xD8\x34\xDD\x1E", "\U0001D11E", "UTF-16BE", true, "Unicode: the G clef is D834 DD1E"},
		{"Latin-1", "<?xml version='1.0' encoding='ISO-8859-1'?><a>\xC9\xDF</a>", "<?xml version='1.0' encoding='ISO-8859-1'?><a>Éß</a>", "ISO-8859-1", true, "ISO 8859-1: C9 is É, DF is ß"},
		{"Latin-1 controls", "<?xml version='1.0' encoding='latin1'?><a>\x85</a>", "<?xml version='1.0' encoding='latin1'?><a>\u0085</a>", "latin1", true, "ISO 8859-1 has U+0085 there, Windows-1252 an ellipsis"},
		{"KOI8-R", "<?xml version='1.0' encoding='KOI8-R'?><a>\xF0\xC5\xD3\xCE\xD1</a>", "<?xml version='1.0' encoding='KOI8-R'?><a>Песня</a>", "KOI8-R", true, "RFC 1489"},
		{"Shift_JIS", "<?xml version='1.0' encoding='Shift_JIS'?><a>\x89\xB9</a>", "<?xml version='1.0' encoding='Shift_JIS'?><a>音</a>", "Shift_JIS", true, "JIS X 0208, row 18 cell 27"},
		{"ASCII", "<?xml version='1.0' encoding='US-ASCII'?><a/>", "<?xml version='1.0' encoding='US-ASCII'?><a/>", "US-ASCII", false, "ASCII is UTF-8"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			text, enc, err := Decode([]byte(tt.data))
			if err != nil {
				t.Fatalf("%v; %s", err, tt.why)
			}
			if string(text) != tt.text || enc.Name() != tt.encoding || isTranscoded(enc) != tt.transcoded {
				t.Errorf("got %q in %s (transcoded %v); %s", text, enc.Name(), isTranscoded(enc), tt.why)
			}
			back, err := enc.Encode(text)
			if err != nil || string(back) != tt.data {
				t.Errorf("writing back gives %q, %v", back, err)
			}
		})
	}
}

func TestDecodeRefuses(t *testing.T) {
	tests := []struct {
		name, data string
		line       int
		says       string
	}{
		{"Latin-1 bytes said to be UTF-8", "<?xml version='1.0' encoding='UTF-8'?>\n<a>\xC9tude</a>", 2, "probably the text is ISO-8859-1"},
		{"Latin-1 bytes, nothing said", "<a>\n\n\xC9tude</a>", 3, "declares no encoding"},
		{"unknown", "<?xml version='1.0' encoding='klingon'?><a/>", 1, `"klingon" is not known`},
		{"not ASCII", "<?xml version='1.0' encoding='US-ASCII'?>\n<a>\xC9</a>", 2, "0xC9"},
		{"EBCDIC only in name", "<?xml version='1.0' encoding='IBM037'?><a/>", 1, "not written in it"},
		{"half a UTF-16 character", "\xFF\xFE<\x00a", 1, "half a character"},
		{"lone surrogate", "\xFE\xFF\x00\n\xD8\x34\x00a", 2, "surrogate"},
		{"UTF-32", "\xFF\xFE\x00\x00<\x00\x00\x00", 0, "UTF-32"},
		{"broken Shift_JIS", "<?xml version='1.0' encoding='Shift_JIS'?>\n<a>\x89</a>", 2, "not \"Shift_JIS\""},
		{"replacement encoding", "<?xml version='1.0' encoding='iso-2022-kr'?><a/>", 1, "not known"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			text, _, err := Decode([]byte(tt.data))
			var e *Error
			if !errors.As(err, &e) {
				t.Fatalf("decoded as %q", text)
			}
			if e.Line != tt.line || !strings.Contains(e.Problem, tt.says) || e.Advice == "" {
				t.Errorf("line %d: %q, advice %q", e.Line, e.Problem, e.Advice)
			}
		})
	}
}

func TestEncodeKeepsToTheEncoding(t *testing.T) {
	const head = "<?xml version='1.0' encoding='ISO-8859-1'?>"
	_, enc, err := Decode([]byte(head + "<a>\xE9</a>"))
	if err != nil {
		t.Fatal(err)
	}
	got, err := enc.Encode([]byte(head + "<a>é 音</a>"))
	if want := head + "<a>\xE9 &#38899;</a>"; err != nil || string(got) != want {
		t.Errorf("got %q, %v, want %q", got, err, want)
	}
}

func TestEncodeTellsTheTruth(t *testing.T) {
	data := []byte(`<?xml version="1.0" encoding="UTF-16" standalone="no"?><a>é</a>`)
	text, enc, err := Decode(data)
	if err != nil || !bytes.Equal(text, data) || !enc.Relabeled() {
		t.Fatalf("%q, relabeled %v, %v", text, enc.Relabeled(), err)
	}
	got, err := enc.Encode(text)
	if want := `<?xml version="1.0" encoding="UTF-8" standalone="no"?><a>é</a>`; err != nil || string(got) != want {
		t.Errorf("got %q, %v", got, err)
	}
}

// FuzzDecode: what is decoded is UTF-8 and, but for a label that is wrong,
// comes back byte for byte.
func FuzzDecode(f *testing.F) {
	for _, seed := range []string{
		"<a>é</a>", "\xEF\xBB\xBF<a/>", "\xFF\xFE<\x00a\x00", "\xFE\xFF\x00<\xD8\x34\xDD\x1E", "<\x00a\x00", "\x00<\x00a",
		"<?xml version='1.0' encoding='ISO-8859-1'?><a>\xE9</a>", "<?xml version='1.0' encoding='Shift_JIS'?><a>\x89\xB9</a>",
		"<?xml version='1.0' encoding='iso-2022-jp'?><a>\x1b$B2;\x1b(B</a>", "<?xml version='1.0' encoding='gb18030'?><a>\x84\x31\xA4\x37</a>",
		"<?xml version='1.0' encoding='UTF-16'?><a>\xC3\xA9</a>", "<?xml version = '1.0' encoding\n=\n\"big5\" ?>\xAD\xB5",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		text, enc, err := Decode(data)
		if err != nil {
			if text != nil {
				t.Error("half a result beside an error")
			}
			return
		}
		if enc.form != ascii && !bytes.Equal(text, bytes.ToValidUTF8(text, nil)) {
			t.Errorf("%q is not UTF-8", text)
		}
		back, err := enc.Encode(text)
		if err != nil {
			t.Fatalf("encoding again: %v", err)
		}
		if !enc.Relabeled() {
			if !bytes.Equal(back, data) {
				t.Errorf("%q came back as %q", data, back)
			}
			return
		}
		again, enc2, err := Decode(back)
		if err != nil || enc2.Relabeled() || len(again) < len(text)-16 {
			t.Errorf("relabeled text %q: %v", again, err)
		}
	})
}

// isTranscoded reports whether the text had to be converted, so that offsets in it
// are not offsets in the bytes.
func isTranscoded(e Encoding) bool { return e.form != utf8Form && e.form != ascii }
