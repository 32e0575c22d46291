package files

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestClaimGivesSafePathsOnce(t *testing.T) {
	d, err := OpenOutDir(filepath.Join(t.TempDir(), "new", "answers"))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = d.Close() }()
	for _, c := range []struct{ place, want, why string }{
		{"alto/week1", "alto/week1", "an ordinary place stays as it is"},
		{"alto/week1", "alto/week1-2", "a second score of the name is told apart"},
		{"Alto/Week1", "Alto/Week1-3", "some file systems cannot tell A from a"},
		{"alto/week1-2", "alto/week1-2-2", "a name that looks like one we gave"},
		{"../../etc/passwd", "etc/passwd", "no way out of the folder"},
		{"/absolute", "absolute", "nor from its root"},
		{`..\windows\way`, "windows/way", "nor with the other separator"},
		{"..", "score", "nothing left of the name"},
		{"", "score-2", "no name at all"},
		{"a\x00b\nc", "a_b_c", "control characters"},
		{`what?*"<>|:`, "what_______", "characters that some file systems refuse"},
		{"week1.findings.json/score", "week1.findings.json_/score", "a folder where the answer to a score beside it would be"},
		{"a/Week1.Marked.MXL/score", "a/Week1.Marked.MXL_/score", "on all file systems"},
		{"songs.musicxml/score", "songs.musicxml/score", "a folder that no answer is called like"},
		{"dots...", "dots", "dots at the end mean nothing to some file systems"},
		{"Übung 3", "Übung 3", "letters of any script stay"},
	} {
		if got := d.Claim(c.place); got != c.want {
			t.Errorf("Claim(%q) = %q, want %q: %s", c.place, got, c.want, c.why)
		}
	}
	long := d.Claim(strings.Repeat("ä", 300))
	if len(long) > maxElement || !strings.HasPrefix(strings.Repeat("ä", 300), long) {
		t.Errorf("a name of 600 bytes became one of %d, cut inside a letter or too long", len(long))
	}
	if err := d.Write(long+".findings.json", nil); err != nil {
		t.Errorf("the shortened name cannot be written: %v", err)
	}
}

func TestOutDirWritesWholeFilesInside(t *testing.T) {
	outside, dir := t.TempDir(), t.TempDir()
	if err := os.Symlink(outside, filepath.Join(dir, "way-out")); err != nil {
		t.Skip("no symbolic links here")
	}
	d, err := OpenOutDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = d.Close() }()
	if err := d.Write("way-out/a.json", []byte("x")); err == nil {
		t.Error("wrote through a link that leads out")
	}
	if entries, _ := os.ReadDir(outside); len(entries) != 0 {
		t.Errorf("outside the folder there is now %v", entries)
	}
	for _, text := range []string{"first", "second"} {
		if err := d.Write("sub/a.json", []byte(text)); err != nil {
			t.Fatal(err)
		}
		if got, _ := os.ReadFile(filepath.Join(dir, "sub", "a.json")); string(got) != text {
			t.Errorf("the file holds %q, want %q", got, text)
		}
	}
	entries, _ := os.ReadDir(filepath.Join(dir, "sub"))
	if len(entries) != 1 {
		t.Errorf("left behind: %v", entries)
	}
}

func TestPartsLeftByAKillAreRemoved(t *testing.T) {
	dir := t.TempDir()
	left := filepath.Join(dir, "state", "parts", ".part-left")
	if err := os.MkdirAll(filepath.Dir(left), 0o750); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(left, []byte("half"), 0o600); err != nil {
		t.Fatal(err)
	}
	d, err := OpenOutDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = d.Close() }()
	if err := d.PartsIn("state/parts"); err != nil {
		t.Fatal(err)
	}
	if err := d.Write("alto/a.json", []byte("whole")); err != nil {
		t.Fatal(err)
	}
	if parts, err := os.ReadDir(filepath.Dir(left)); err != nil || len(parts) != 0 {
		t.Errorf("parts are %v, %v", parts, err)
	}
	if text, err := os.ReadFile(filepath.Join(dir, "alto", "a.json")); string(text) != "whole" {
		t.Errorf("the file holds %q, %v", text, err)
	}
}
