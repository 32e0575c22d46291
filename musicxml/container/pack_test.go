package container

import (
	"archive/zip"
	"bytes"
	"testing"
)

func TestPackIsReadBack(t *testing.T) {
	score := []byte("<?xml version=\"1.0\"?><score-partwise/>")
	for _, name := range []string{"score.musicxml", `a & "b" <c>.musicxml`} {
		packed, err := Pack(name, score)
		if err != nil {
			t.Fatal(err)
		}
		c, err := Open(packed, Limits{})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if c.Name != name || !bytes.Equal(c.Score, score) || c.Unlisted {
			t.Errorf("%s came back as %s with %q", name, c.Name, c.Score)
		}
	}
}

// W3C MusicXML 4.0, "Container files": the first file should be mimetype, neither
// compressed nor encrypted, with the media type as its only content.
func TestPackPutsTheMediaTypeFirst(t *testing.T) {
	packed, err := Pack("score.musicxml", []byte("<score-partwise/>"))
	if err != nil {
		t.Fatal(err)
	}
	files, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	if err != nil {
		t.Fatal(err)
	}
	first := files.File[0]
	if first.Name != "mimetype" || first.Method != zip.Store {
		t.Errorf("first entry %q, method %d", first.Name, first.Method)
	}
	again, _ := Pack("score.musicxml", []byte("<score-partwise/>"))
	if !bytes.Equal(packed, again) {
		t.Error("packing twice gives different bytes")
	}
}
