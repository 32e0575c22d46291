package markup

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/beevik/etree"
)

// corpus is a set of documents to measure on.
type corpus struct {
	name  string
	files [][]byte
}

func (c corpus) bytes() (n int64) {
	for _, f := range c.files {
		n += int64(len(f))
	}
	return n
}

// ownScore writes a score in four parts, pretty-printed as programs do.
func ownScore(measures int) []byte {
	var b bytes.Buffer
	b.WriteString(`<?xml version="1.0" encoding="UTF-8" standalone="no"?>
<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">
<score-partwise version="4.0">
  <work><work-title>Étude &amp; Fugue</work-title></work>
  <part-list>
`)
	for p := 1; p <= 4; p++ {
		fmt.Fprintf(&b, "    <score-part id=\"P%d\">\n      <part-name>Voice %d</part-name>\n    </score-part>\n", p, p)
	}
	b.WriteString("  </part-list>\n")
	for p := 1; p <= 4; p++ {
		fmt.Fprintf(&b, "  <part id=\"P%d\">\n", p)
		for m := 1; m <= measures; m++ {
			fmt.Fprintf(&b, "    <measure number=\"%d\" width=\"214.37\">\n", m)
			for n := range 4 {
				fmt.Fprintf(&b, `      <note default-x="%d.5" default-y="-20">
        <pitch>
          <step>%c</step>
          <octave>%d</octave>
        </pitch>
        <duration>2</duration>
        <voice>1</voice>
        <type>quarter</type>
        <stem>up</stem>
      </note>
`, 13+n*50, 'A'+byte((m*3+n+p)%7), 6-p)
			}
			b.WriteString("    </measure>\n")
		}
		b.WriteString("  </part>\n")
	}
	b.WriteString("</score-partwise>\n")
	return b.Bytes()
}

// corpora returns our own scores, short and long, and the chorales of the
// measuring data where they are there.
func corpora(b *testing.B) []corpus {
	all := []corpus{{"short", [][]byte{ownScore(8)}}, {"long", [][]byte{ownScore(800)}}}
	names, err := filepath.Glob("../../../shared/data/chorales-*/*.mxl")
	if err != nil {
		b.Fatal(err)
	}
	chorales := corpus{name: "chorales"}
	for _, name := range names {
		chorales.files = append(chorales.files, packedScore(b, name))
	}
	if len(chorales.files) == 0 {
		b.Log("no chorales beside the project: measuring our own scores only")
		return all
	}
	return append(all, chorales)
}

// packedScore returns the score of a container, here without the container package,
// which builds on this one.
func packedScore(t testing.TB, name string) []byte {
	z, err := zip.OpenReader(name)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = z.Close() }()
	for _, f := range z.File {
		if strings.HasPrefix(f.Name, "META-INF/") || f.Name == "mimetype" {
			continue
		}
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	t.Fatalf("%s: no score", name)
	return nil
}

// measure runs a function over every file of every corpus; one operation is the
// whole corpus.
func measure(b *testing.B, run func(text []byte) error) {
	for _, c := range corpora(b) {
		b.Run(c.name, func(b *testing.B) {
			b.SetBytes(c.bytes())
			b.ReportAllocs()
			for b.Loop() {
				for _, text := range c.files {
					if err := run(text); err != nil {
						b.Fatal(err)
					}
				}
			}
			b.ReportMetric(float64(len(c.files)), "files/op")
		})
	}
}

func BenchmarkParse(b *testing.B) {
	measure(b, func(text []byte) error {
		_, err := Parse(text, Limits{})
		return err
	})
}

// BenchmarkParseOutsidePlain takes the way through the standard decoder, by a
// processing instruction at the end.
func BenchmarkParseOutsidePlain(b *testing.B) {
	measure(b, func(text []byte) error {
		_, err := Parse(append(text[:len(text):len(text)], "<?end?>"...), Limits{})
		return err
	})
}

func BenchmarkRawToken(b *testing.B) {
	measure(b, func(text []byte) error {
		d := xml.NewDecoder(bytes.NewReader(text))
		for {
			if _, err := d.RawToken(); errors.Is(err, io.EOF) {
				return nil
			} else if err != nil {
				return err
			}
		}
	})
}

func BenchmarkEtreeRead(b *testing.B) {
	measure(b, func(text []byte) error { return etree.NewDocument().ReadFromBytes(text) })
}

func BenchmarkEtreeWrite(b *testing.B) {
	for _, c := range corpora(b) {
		b.Run(c.name, func(b *testing.B) {
			documents := make([]*etree.Document, len(c.files))
			for i, text := range c.files {
				documents[i] = etree.NewDocument()
				if err := documents[i].ReadFromBytes(text); err != nil {
					b.Fatal(err)
				}
			}
			b.SetBytes(c.bytes())
			b.ReportAllocs()
			for b.Loop() {
				for _, d := range documents {
					if _, err := d.WriteTo(io.Discard); err != nil {
						b.Fatal(err)
					}
				}
			}
		})
	}
}

// BenchmarkXmllint parses with libxml2's xmllint. One process reads the whole
// corpus ten times over, so that starting it weighs little; the short score
// still measures the start above all.
func BenchmarkXmllint(b *testing.B) {
	program, err := exec.LookPath("xmllint")
	if err != nil {
		b.Skip("no xmllint here")
	}
	const times = 10
	for _, c := range corpora(b) {
		b.Run(c.name, func(b *testing.B) {
			folder := b.TempDir()
			args := []string{"--noout", "--nonet"}
			for i, text := range c.files {
				name := filepath.Join(folder, fmt.Sprintf("%d.xml", i))
				if err := os.WriteFile(name, text, 0o600); err != nil {
					b.Fatal(err)
				}
				for range times {
					args = append(args, name)
				}
			}
			b.SetBytes(times * c.bytes())
			for b.Loop() {
				if out, err := exec.Command(program, args...).CombinedOutput(); err != nil {
					b.Fatalf("%v: %s", err, out)
				}
			}
		})
	}
}
