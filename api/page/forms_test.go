package page_test

import (
	"archive/zip"
	"bytes"
	"os"
	"partwright/api/page/pagetest"
	"path/filepath"
	"strings"
	"testing"
)

// TestScoresOfEveryFormAreDrawn drops a score as it comes out of programs: packed in a
// container (MusicXML 4.0, compressed files), in UTF-16 and in Latin-1 (XML 1.0, 4.3.3). Each
// is drawn as the service has checked it, with the signs at its notes, and a note is moved.
func TestScoresOfEveryFormAreDrawn(t *testing.T) {
	pagetest.Chromium(t)
	address := pagetest.Serve(t)
	plain := strings.Replace(pagetest.ReadText(t, pagetest.Class(t, "hand-in.musicxml")), "Harmonize the bass", "Übung", 1)
	_, body, _ := strings.Cut(plain, "?>")
	for name, score := range map[string][]byte{
		"packed.mxl":      container(t, plain),
		"utf-16.musicxml": pagetest.InUTF16(plain),
		"latin.musicxml":  inLatin1(`<?xml version="1.0" encoding="ISO-8859-1"?>` + body),
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), name)
			if err := os.WriteFile(path, score, 0o600); err != nil {
				t.Fatal(err)
			}
			b := pagetest.Browse(t, address, 1280, 900)
			b.Drop(path)
			b.Until("its title is read", `document.querySelector('h1')?.innerText === 'Übung: hand-in'`)
			b.Until("it is drawn with the ids of the report", `document.querySelectorAll('.score-page g.note').length === 44 && document.querySelector('g.note#pw-n1-1-1')`)
			b.Until("each finding has its sign", `document.querySelectorAll('.marks .sign.fault').length === 4`)
			b.Press("1\nmeasure 1")
			b.Until("its notes are ringed", `document.querySelectorAll('.ring.fault').length === 4`)
			b.Press("Try")
			b.Until("a change is drawn", `document.querySelector('.banner.trying') && !document.querySelector('.score').ariaBusy && document.querySelectorAll('.score-page g.note').length === 44`)
		})
	}
	t.Run("led", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "bass.mxl")
		if err := os.WriteFile(path, container(t, pagetest.ReadText(t, pagetest.Class(t, "worksheet.musicxml"))), 0o600); err != nil {
			t.Fatal(err)
		}
		b := pagetest.Browse(t, address+"/#lead-voices", 1280, 900)
		b.Until("a phrase is engraved", `document.querySelectorAll('.lead-voices .score-page g.note').length === 20`)
		b.Drop(path)
		b.Until("what was packed is led", `document.querySelectorAll('.changes button').length === 25 && document.querySelectorAll('.lead-voices .score-page g.note').length > 60`)
	})
}

// container packs a document beside a picture's folder, under a name of its own.
func container(t *testing.T, document string) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, entry := range []struct{ name, text string }{
		{"META-INF/container.xml", `<?xml version="1.0"?><container><rootfiles><rootfile full-path="notes/first.xml" media-type="application/vnd.recordare.musicxml+xml"/></rootfiles></container>`},
		{"extra.xml", "<other/>"},
		{"notes/first.xml", document},
	} {
		file, err := w.Create(entry.name)
		if err == nil {
			_, err = file.Write([]byte(entry.text))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func inLatin1(text string) []byte {
	var out []byte
	for _, r := range text {
		out = append(out, byte(r)) //nolint:gosec // the text has no others
	}
	return out
}
