package archive

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

const score = `<?xml version="1.0"?><score-partwise version="4.0"><part-list/></score-partwise>`

// file is one entry of an archive made for a test.
type file struct{ name, data string }

func zipOf(t testing.TB, files ...file) []byte {
	t.Helper()
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range files {
		// The flag for UTF-8 is left off, as in old archives.
		e, err := w.CreateHeader(&zip.FileHeader{Name: f.name, Method: zip.Deflate, NonUTF8: true})
		if err == nil {
			_, err = e.Write([]byte(f.data))
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

func tarOf(t testing.TB, files ...file) []byte {
	t.Helper()
	var out bytes.Buffer
	w := tar.NewWriter(&out)
	for _, f := range files {
		h := &tar.Header{Name: f.name, Mode: 0o644, Size: int64(len(f.data))}
		if target, ok := strings.CutPrefix(f.data, "-> "); ok {
			h.Typeflag, h.Linkname, h.Size, f.data = tar.TypeSymlink, target, 0, ""
		}
		err := w.WriteHeader(h)
		if err == nil {
			_, err = w.Write([]byte(f.data))
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

func gzipOf(t testing.TB, data []byte) []byte {
	t.Helper()
	var out bytes.Buffer
	w := gzip.NewWriter(&out)
	if _, err := w.Write(data); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// list tells in one line each what an archive yields.
func list(data []byte, limits Limits) []string {
	var lines []string
	for m, err := range Scores(bytes.NewReader(data), int64(len(data)), limits) {
		line := m.Path
		switch {
		case err != nil:
			line = "error " + err.Error()
		case m.Skipped != "":
			line += " skipped: " + m.Skipped
		default:
			line += fmt.Sprintf(" %d", len(m.Data))
		}
		if m.Note != "" {
			line += " (" + m.Note + ")"
		}
		lines = append(lines, line)
	}
	return lines
}

func TestScores(t *testing.T) {
	mxl := string(zipOf(t, file{"META-INF/container.xml", `<container/>`}, file{"s.xml", score}))
	n := fmt.Sprint(len(score))
	tests := []struct {
		name string
		data []byte
		want []string
		why  string
	}{
		{"folders", zipOf(t, file{"ann/", ""}, file{"ann/work.xml", score}, file{"ben/work.xml", score}),
			[]string{"ann/work.xml " + n, "ben/work.xml " + n}, "equal names are told apart by path"},
		{"container", zipOf(t, file{"a.mxl", mxl}, file{"b", mxl}),
			[]string{"a.mxl " + fmt.Sprint(len(mxl)), "b " + fmt.Sprint(len(mxl))}, "containers are scores, whatever their name"},
		{"open elsewhere", zipOf(t, file{"set/~$a.xml", "x"}, file{"set/.~lock.a.xml#", "x"}, file{"set/a.xml", score}),
			[]string{"set/~$a.xml skipped: a file that the system adds", "set/.~lock.a.xml# skipped: a file that the system adds", "set/a.xml " + n}, "office programs put these beside a document that is open; common practice, no source"},
		{"Mac", zipOf(t, file{"set/.DS_Store", "x"}, file{"__MACOSX/set/._a.xml", "x"}, file{"set/a.xml", score}),
			[]string{"set/.DS_Store skipped: a file that the system adds", "__MACOSX/set/._a.xml skipped: a file that the system adds", "set/a.xml " + n}, "common practice, no source"},
		{"beside", zipOf(t, file{"readme.txt", "hello"}, file{"score.pdf", "%PDF"}, file{"list.xml", "<?xml version='1.0'?><!-- c --><class/>"}, file{"picture.svg", "<svg/>"}, file{"letter.docx", mxl}, file{"a.musicxml", score}, file{"noname", score}),
			[]string{"readme.txt skipped: no MusicXML score", "score.pdf skipped: no MusicXML score", "list.xml skipped: its root element <class> is not that of a score", "picture.svg skipped: no MusicXML score", "letter.docx skipped: no MusicXML score", "a.musicxml " + n, "noname " + n}, "other files are named and passed over"},
		{"damaged goes on to the reader", zipOf(t, file{"empty.musicxml", ""}, file{"cut.xml", "<score-partw"}, file{"a.xml", score}),
			[]string{"empty.musicxml 0", "cut.xml 12", "a.xml " + n}, "a score by name is never passed over in silence"},
		{"nested", zipOf(t, file{"in.zip", string(zipOf(t, file{"s.xml", score}))}, file{"in.tar.gz", string(gzipOf(t, []byte("x")))}, file{"a.xml", score}),
			[]string{"error in.zip: an archive inside the archive, which is not opened", "error in.tar.gz: an archive inside the archive, which is not opened", "a.xml " + n}, "archives inside are refused, the others go on"},
		{"none", zipOf(t, file{"readme.txt", "hello"}),
			[]string{"readme.txt skipped: no MusicXML score", "error the archive holds no score"}, "an archive without a score is an error"},
		{"nested only", zipOf(t, file{"in.zip", string(zipOf(t, file{"s.xml", score}))}, file{"readme.txt", "hello"}),
			[]string{"error in.zip: an archive inside the archive, which is not opened", "readme.txt skipped: no MusicXML score"}, "one thing wrong is told once"},
		{"one score is no archive", []byte(mxl), []string{"error the file is one score in a container, no archive of scores"}, ""},
		{"upwards", zipOf(t, file{"../x.xml", score}, file{"/etc/y.xml", score}, file{`C:\z.xml`, score}),
			[]string{"x.xml " + n + " (the path in the archive leads out of it)", "etc/y.xml " + n + " (the path in the archive leads out of it)", "z.xml " + n + " (the path in the archive leads out of it)"}, "paths never lead out of a folder"},
		{"twice", zipOf(t, file{"a.xml", score}, file{"A.xml", score}, file{"x/../a.xml", score}),
			[]string{"a.xml " + n, "A (2).xml " + n + " (another file has the same name)", "x/a.xml " + n + " (the path in the archive leads out of it)"}, "one file system in two does not tell capitals"},
		{"names", zipOf(t, file{"Se\xF1or.xml", score}, file{"Se\xA4ora.xml", score}, file{"Ü.xml", score}, file{"two\nlines.xml", score}, file{"gpj\u202Elmx.xml", score}),
			[]string{"Señor.xml " + n, "Señora.xml " + n, "Ü.xml " + n, "two_lines.xml " + n + " (control characters in the name were replaced)", "gpj_lmx.xml " + n + " (control characters in the name were replaced)"}, "ISO 8859-1 has ñ at F1, code page 437 at A4"},
		{"s.tar", tarOf(t, file{"ann/work.xml", score}, file{"link.xml", "-> /etc/passwd"}, file{"readme", "x"}),
			[]string{"ann/work.xml " + n, "error link.xml: a link or other special file, which is not followed", "readme skipped: no MusicXML score"}, "links are never followed"},
		{"tar.gz", gzipOf(t, tarOf(t, file{"ann/work.xml", score})), []string{"ann/work.xml " + n}, ""},
		{"s.tar.gz", gzipOf(t, []byte(score)), []string{"score.musicxml " + n}, "a single packed score"},
		{"truncated tar", tarOf(t, file{"a.xml", score}, file{"b.xml", score})[:512+512+512+20],
			[]string{"a.xml " + n, "error b.xml: is damaged or cut short", "error the archive is damaged or cut short (it ends too early)"}, ""},
		{"truncated zip", zipOf(t, file{"a.xml", score})[:100], []string{"error the archive is damaged or cut short (the sizes or signatures do not fit)"}, ""},
		{"no archive", []byte(score), []string{"error the file is no archive that is read"}, ""},
		{"empty", nil, []string{"error the file is empty"}, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if d := cmp.Diff(tt.want, list(tt.data, Limits{})); d != "" {
				t.Errorf("%s\n%s", tt.why, d)
			}
		})
	}
}

func TestDamagedMember(t *testing.T) {
	data := zipOf(t, file{"a.xml", score}, file{"b.xml", score}, file{"c.xml", score})
	second := bytes.LastIndex(data, []byte("PK\x03\x04")) // the third, in fact: its data lies behind
	for i := second + 40; i < second+60; i++ {
		data[i] ^= 0x55
	}
	got := list(data, Limits{})
	if len(got) != 3 || !strings.HasPrefix(got[2], "error c.xml: is damaged") {
		t.Errorf("%q", got)
	}
}

func TestLimits(t *testing.T) {
	blanks := score + strings.Repeat(" ", 4<<20)
	many := []file{{"a", ""}, {"b", ""}, {"c", ""}, {"d", ""}}
	three := []file{{"a.xml", score}, {"b.xml", score}, {"c.xml", score}}
	tests := []struct {
		name   string
		data   []byte
		limits Limits
		whole  bool // the limit ends the reading
	}{
		{"entries of a zip", zipOf(t, many...), Limits{Entries: 3}, true},
		{"entries of a tar", tarOf(t, many...), Limits{Entries: 3}, true},
		{"bytes in a zip", zipOf(t, three...), Limits{Bytes: 20}, false},
		{"bytes in a tar", tarOf(t, three...), Limits{Bytes: 20}, false},
		{"total of a zip", zipOf(t, three...), Limits{Total: 200}, true},
		{"total of a tar", tarOf(t, three...), Limits{Total: 200}, true},
		{"ratio in a zip", zipOf(t, file{"a.xml", blanks}), Limits{}, false},
		{"ratio of a tar.gz", gzipOf(t, tarOf(t, file{"a.xml", blanks})), Limits{}, true},
		{"ratio of what is passed over", gzipOf(t, tarOf(t, file{"a.bin", blanks}, file{"b.xml", score})), Limits{}, true},
		{"ratio of a gzip", gzipOf(t, []byte(blanks)), Limits{}, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var errs []*Error
			for m, err := range Scores(bytes.NewReader(tt.data), int64(len(tt.data)), tt.limits) {
				var e *Error
				if errors.As(err, &e) {
					errs = append(errs, e)
				}
				if err != nil && m.Data != nil {
					t.Error("data beside an error")
				}
			}
			if len(errs) == 0 || !errors.Is(errs[0], ErrLimit) || errs[0].Advice == "" {
				t.Fatalf("%v", errs)
			}
			last := errs[len(errs)-1]
			if tt.whole && (last.Path != "" || !errors.Is(last, ErrLimit)) {
				t.Errorf("the reading did not end: %v", last)
			}
		})
	}
}

func TestStopping(t *testing.T) {
	data := zipOf(t, file{"a.xml", score}, file{"b.xml", score})
	n := 0
	for range Scores(bytes.NewReader(data), int64(len(data)), Limits{}) {
		n++
		break
	}
	if n != 1 {
		t.Errorf("%d members after leaving at the first", n)
	}
}

func TestLongNames(t *testing.T) {
	var p paths
	name, note := p.safe(strings.Repeat("é", 300) + ".musicxml")
	if len(name) > maxPart || !strings.HasSuffix(name, "é.musicxml") || note == "" {
		t.Errorf("%d bytes: %q, %q", len(name), name, note)
	}
	other, _ := p.safe(strings.Repeat("é", 301) + ".musicxml")
	if other == name {
		t.Error("two long names became one")
	}
	deep, _ := p.safe(strings.Repeat("a/", 100) + "s.xml")
	if strings.Count(deep, "/") != maxDepth-1 {
		t.Errorf("%q", deep)
	}
}

func TestIsArchive(t *testing.T) {
	one := zipOf(t, file{"s.xml", score})
	tests := []struct {
		name string
		data []byte
		want bool
	}{
		{"score.musicxml", []byte(score), false},
		{"container.zip", zipOf(t, file{"META-INF/container.xml", "<c/>"}, file{"s.xml", score}), false},
		{"without-a-listing.mxl", one, false},
		{"without-a-listing.MusicXML", one, false},
		{"-", one, false},
		{"one-hand-in.zip", one, true},
		{"", one, true},
		{"two-scores.mxl", zipOf(t, file{"s.xml", score}, file{"t.xml", score}), true},
		{"s.tar", tarOf(t, file{"s.xml", score}), true},
		{"s.tar.gz", gzipOf(t, one), true},
		{"nothing.zip", nil, false},
	}
	for _, tt := range tests {
		if got := IsArchive(tt.name, bytes.NewReader(tt.data), int64(len(tt.data)), Limits{}); got != tt.want {
			t.Errorf("%s: %v", tt.name, got)
		}
	}
}

func TestFilesThatAreWanted(t *testing.T) {
	files := []file{
		{"a/1.rntxt", "m1 C: I"}, {"a/1.musicxml", score}, {"__MACOSX/a/1.rntxt", "x"}, {"long.rntxt", strings.Repeat("x", 2000)},
		{"a/../a/1.rntxt", "another"}, {"last.rntxt", ""}, {"notes.pdf", "%PDF"},
	}
	wanted := func(path string) bool { return strings.HasSuffix(path, ".rntxt") }
	for name, data := range map[string][]byte{"zip": zipOf(t, files...), "tar": tarOf(t, files...), "tar.gz": gzipOf(t, tarOf(t, files...))} {
		var got []string
		for m, err := range Files(bytes.NewReader(data), int64(len(data)), Limits{Bytes: 1000}, 9, wanted) {
			text := m.Path + " " + string(m.Data)
			if err != nil {
				text = err.Error()
			}
			got = append(got, text)
		}
		want := []string{"a/1.rntxt m1 C: I", "long.rntxt: unpacks to more than 1000 bytes", "a/a/1.rntxt: files of its kind have more than 9 bytes together", "last.rntxt: files of its kind have more than 9 bytes together"}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
}
