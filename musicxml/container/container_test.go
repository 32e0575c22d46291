package container

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"io"
	"io/fs"
	"strings"
	"testing"
)

const score = `<score-partwise version="4.0"><part-list/></score-partwise>`

// entry is one file of a zip made for a test.
type entry struct {
	name, data string
	change     func(*zip.FileHeader)
}

func pack(t testing.TB, entries ...entry) []byte {
	t.Helper()
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, e := range entries {
		//lint:ignore SA1019 Modified would add an extra field that no case asks for
		h := zip.FileHeader{Name: e.name, Method: zip.Deflate, ModifiedDate: 44<<9 | 5<<5 | 1, ModifiedTime: 12 << 11}
		h.SetMode(0o644)
		var packed bytes.Buffer
		deflate, _ := flate.NewWriter(&packed, 9)
		_, _ = io.WriteString(deflate, e.data)
		_ = deflate.Close()
		h.CRC32, h.CompressedSize64, h.UncompressedSize64 = crc32.ChecksumIEEE([]byte(e.data)), uint64(packed.Len()), uint64(len(e.data))
		if e.change != nil {
			e.change(&h)
		}
		body := packed.Bytes()
		if h.Method == zip.Store {
			body, h.CompressedSize64 = []byte(e.data), uint64(len(e.data))
		}
		f, err := w.CreateRaw(&h)
		if err == nil {
			_, err = f.Write(body)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func listing(rootfiles string) entry {
	return entry{name: listingName, data: `<?xml version="1.0"?><container><rootfiles>` + rootfiles + `</rootfiles></container>`}
}

func stored(h *zip.FileHeader) { h.Method = zip.Store }

func TestOpen(t *testing.T) {
	tests := []struct {
		name    string
		entries []entry
		want    string
		why     string
	}{
		{"by the rules", []entry{
			{"mimetype", "application/vnd.recordare.musicxml", stored},
			listing(`<rootfile full-path="score.xml" media-type="application/vnd.recordare.musicxml+xml"/>`),
			{name: "score.xml", data: score},
		}, "score.xml", "W3C MusicXML 4.0: mimetype first and stored, the first root file is the score"},
		{"no media type", []entry{listing(`<rootfile full-path="a/score.xml"/>`), {name: "a/score.xml", data: score}}, "a/score.xml", "the media type is optional"},
		{"listing last", []entry{{name: "s.xml", data: score}, listing(`<rootfile full-path="s.xml"/>`)}, "s.xml", "zip directories have no order"},
		{"picture first", []entry{
			listing(`<rootfile full-path="p.png" media-type="image/png"/><rootfile full-path="s.xml" media-type="application/vnd.recordare.musicxml+xml"/>`),
			{name: "p.png", data: "\x89PNG"}, {name: "s.xml", data: score},
		}, "s.xml", "the first root file that is a score"},
		{"untyped picture first", []entry{
			listing(`<rootfile full-path="p.png"/><rootfile full-path="s.xml"/>`), {name: "p.png", data: "\x89PNG"}, {name: "s.xml", data: score},
		}, "s.xml", "without a type the content tells"},
		{"backslash", []entry{listing(`<rootfile full-path="a\s.xml"/>`), {name: "a/s.xml", data: score}}, "a/s.xml", "common practice, no source"},
		{"namespace", []entry{
			{name: listingName, data: `<c:container xmlns:c="urn:oasis:names:tc:opendocument:xmlns:container"><c:rootfiles><c:rootfile full-path="s.xml"/></c:rootfiles></c:container>`},
			{name: "s.xml", data: score},
		}, "s.xml", "OCF puts the listing in a namespace"},
		{"upwards", []entry{listing(`<rootfile full-path="../../etc/s.xml"/>`), {name: "../../etc/s.xml", data: score}}, "../../etc/s.xml", "a name in memory leads nowhere"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c, err := Open(pack(t, tt.entries...), Limits{})
			if err != nil {
				t.Fatalf("%v; %s", err, tt.why)
			}
			if c.Name != tt.want || string(c.Score) != score || c.Unlisted {
				t.Errorf("%q: %q; %s", c.Name, c.Score, tt.why)
			}
		})
	}
}

func TestOpenWithoutListing(t *testing.T) {
	c, err := Open(pack(t, entry{name: "__MACOSX/._s.xml", data: score}, entry{name: "s.xml", data: score}, entry{name: "drawing.svg", data: "<svg/>"}), Limits{})
	if err != nil || !c.Unlisted || c.Name != "s.xml" {
		t.Errorf("%v", err)
	}
}

func TestOpenRefuses(t *testing.T) {
	s := entry{name: "s.xml", data: score}
	root := listing(`<rootfile full-path="s.xml"/>`)
	with := func(change func(*zip.FileHeader)) []byte {
		return pack(t, root, entry{"s.xml", score, change})
	}
	blanks := score + strings.Repeat(" ", 3<<20)
	good := pack(t, root, s)
	tests := []struct {
		name string
		data []byte
		says string
	}{
		{"score missing", pack(t, listing(`<rootfile full-path="lost.xml"/>`), s), `"lost.xml" is named in`},
		{"an archive with a packed score", pack(t, s, entry{name: "b.mxl", data: string(good)}), "holds several scores"},
		{"other media only", pack(t, listing(`<rootfile full-path="p.png" media-type="image/png"/>`), s), "image/png"},
		{"empty listing", pack(t, listing(""), s), "names no score"},
		{"broken listing", pack(t, entry{name: listingName, data: "<container>"}, s), "not well-formed"},
		{"listing with an entity", pack(t, entry{name: listingName, data: `<!DOCTYPE c [<!ENTITY e "s.xml">]><c><rootfile full-path="&e;"/></c>`}, s), "ENTITY"},
		{"symbolic link", with(func(h *zip.FileHeader) { h.SetMode(0o777 | fs.ModeSymlink) }), "symbolic link"},
		{"encrypted", with(func(h *zip.FileHeader) { h.Flags |= 1 }), "encrypted"},
		{"other method", with(func(h *zip.FileHeader) { h.Method = 12 }), "method"},
		{"wrong checksum", with(func(h *zip.FileHeader) { h.CRC32++ }), "checksum"},
		{"longer than it says", with(func(h *zip.FileHeader) { h.UncompressedSize64-- }), "damaged"},
		{"shorter than it says", with(func(h *zip.FileHeader) { h.UncompressedSize64++ }), "damaged"},
		{"says 1 TB", with(func(h *zip.FileHeader) { h.UncompressedSize64 = 1 << 40 }), "unpacks to more"},
		{"bomb", pack(t, root, entry{name: "s.xml", data: blanks}), "times its size"},
		{"truncated", good[:len(good)-30], "cut short"},
		{"nothing in it", pack(t), "no score"},
		{"several and no listing", pack(t, s, entry{name: "t.xml", data: score}), "several scores"},
		{"twice", pack(t, root, s, s), "twice"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c, err := Open(tt.data, Limits{})
			var e *Error
			if !errors.As(err, &e) || c != nil {
				t.Fatalf("read: %v, error %v", c != nil, err)
			}
			if !strings.Contains(err.Error(), tt.says) || e.Advice == "" {
				t.Errorf("says %q, advice %q", err, e.Advice)
			}
		})
	}
}

func TestLimits(t *testing.T) {
	var many []entry
	for range 30 {
		many = append(many, entry{name: "x"})
	}
	long := entry{name: strings.Repeat("x", 60_000)}
	for name, data := range map[string][]byte{
		"entries": pack(t, many...), "long names": pack(t, long, long, long, long, long, long, long, long),
	} {
		if _, err := Open(data, Limits{Entries: 20}); !errors.Is(err, ErrLimit) {
			t.Errorf("%s: %v", name, err)
		}
	}
	data := pack(t, listing(`<rootfile full-path="s.xml"/>`), entry{name: "s.xml", data: score})
	if _, err := Open(data, Limits{Bytes: 20}); !errors.Is(err, ErrLimit) {
		t.Errorf("bytes: %v", err)
	}
}

func TestRepackKeepsTheRest(t *testing.T) {
	extra := func(h *zip.FileHeader) { h.Extra = []byte{0x55, 0x78, 2, 0, 1, 2}; h.Comment = "a picture" }
	data := pack(t, entry{"mimetype", "application/vnd.recordare.musicxml", stored},
		listing(`<rootfile full-path="s.xml"/>`), entry{name: "s.xml", data: score}, entry{"p.png", "\x89PNG", extra})
	c, err := Open(data, Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if same, err := c.Repack([]byte(score)); err != nil || !bytes.Equal(same, data) {
		t.Errorf("an equal score changed the container: %v", err)
	}
	marked := []byte(strings.Replace(score, "/>", "><x/></part-list>", 1))
	packed, err := c.Repack(marked)
	if err != nil {
		t.Fatal(err)
	}
	c2, err := Open(packed, Limits{})
	if err != nil || !bytes.Equal(c2.Score, marked) {
		t.Fatalf("%v", err)
	}
	for i, old := range c.files.File {
		f := c2.files.File[i]
		if f.Name != old.Name || f.Method != old.Method || !f.Modified.Equal(old.Modified) || f.Comment != old.Comment || !bytes.Equal(f.Extra, old.Extra) || f.Mode() != old.Mode() {
			t.Errorf("entry %q became %+v", old.Name, f.FileHeader)
		}
		if i != 2 && f.CRC32 != old.CRC32 {
			t.Errorf("entry %q changed", f.Name)
		}
	}
	again, err := c2.Repack([]byte(score))
	if err != nil {
		t.Fatal(err)
	}
	if c3, err := Open(again, Limits{}); err != nil || string(c3.Score) != score {
		t.Errorf("back again: %v", err)
	}
}

// APPNOTE.TXT, 4.5.3: the Zip64 field repeats the sizes, which are no longer true.
func TestRepackDropsOldSizes(t *testing.T) {
	zip64 := append([]byte{1, 0, 16, 0}, make([]byte, 16)...)
	other := []byte{0x55, 0x78, 2, 0, 1, 2}
	data := pack(t, listing(`<rootfile full-path="s.xml"/>`), entry{"s.xml", score, func(h *zip.FileHeader) { h.Extra = append(zip64, other...) }})
	c, err := Open(data, Limits{})
	if err != nil {
		t.Fatal(err)
	}
	packed, err := c.Repack([]byte("<x/>"))
	if err != nil {
		t.Fatal(err)
	}
	c2, err := Open(packed, Limits{})
	if err != nil || !bytes.Equal(c2.entry.Extra, other) {
		t.Errorf("extra fields %v, %v", c2.entry.Extra, err)
	}
}

// A directory may name packed bytes twice: a few kilobytes copied entry by entry would
// grow without bound.
func TestOverlappingEntriesAreRefused(t *testing.T) {
	big := strings.Repeat("0123456789abcdef", 1000)
	data := pack(t, listing(`<rootfile full-path="s.xml"/>`), entry{name: "s.xml", data: score}, entry{"a", big, stored}, entry{"b", big, stored})
	if _, err := Open(data, Limits{}); err != nil {
		t.Fatal(err)
	}
	// The packed size stands at byte 20 of an entry of the directory (APPNOTE.TXT, 4.3.12).
	for at := 0; ; at += 4 {
		next := bytes.Index(data[at:], []byte("PK\x01\x02"))
		if next < 0 {
			break
		}
		at += next
		if binary.LittleEndian.Uint32(data[at+20:]) == uint32(len(big)) {
			binary.LittleEndian.PutUint32(data[at+20:], uint32(len(data)-100))
		}
	}
	if _, err := Open(data, Limits{}); err == nil || !strings.Contains(err.Error(), "overlaps another entry") {
		t.Errorf("%v", err)
	}
}

// Some zip programs deflate folders like files, which takes two bytes for nothing.
func TestRepackTakesDeflatedFolders(t *testing.T) {
	data := pack(t, listing(`<rootfile full-path="s.xml"/>`), entry{name: "s.xml", data: score}, entry{name: "pictures!"}, entry{name: "p.png", data: "\x89PNG"})
	data = bytes.ReplaceAll(data, []byte("pictures!"), []byte("pictures/"))
	c, err := Open(data, Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if f := c.files.File[2]; f.Method != zip.Deflate || f.CompressedSize64 == 0 {
		t.Fatalf("no deflated folder: %+v", f.FileHeader)
	}
	packed, err := c.Repack([]byte(strings.Replace(score, "/>", "><x/></part-list>", 1)))
	if err != nil {
		t.Fatal(err)
	}
	c2, err := Open(packed, Limits{})
	if err != nil || len(c2.files.File) != 4 || c2.files.File[2].Name != "pictures/" || !c2.files.File[2].FileInfo().IsDir() || string(Peek(c2.files.File[3], Limits{})) != "\x89PNG" {
		t.Errorf("%v", err)
	}
}

func TestSniff(t *testing.T) {
	tests := map[string]Kind{
		"": Empty, "\n \n": Empty, "\xEF\xBB\xBF": Empty, "<?xml version='1.0'?>": XML, "\xFF\xFE<\x00?\x00": XML, "\x00<\x00?": XML,
		"\n<score-partwise>": XML, "\x89PNG": Unknown, "hello": Unknown, "< b": Unknown, "PK\x03\x04": Zip, "PK\x05\x06": Zip,
		"\x1F\x8B\x08": Gzip, strings.Repeat("a", 257) + "ustar\x0000": Tar, "Rar!\x1A\x07\x00": Packed,
	}
	for data, want := range tests {
		if got := Sniff([]byte(data)); got != want {
			t.Errorf("%q: %d, want %d", data, got, want)
		}
	}
}
