package archive

import (
	"bytes"
	"errors"
	"path"
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"
)

// FuzzArchive: whatever the bytes, the members have safe and distinct paths,
// errors say what to do, the limits hold, and files are found under the paths that
// they have among the scores.
func FuzzArchive(f *testing.F) {
	files := []file{{"ann/work.xml", score}, {"Se\xF1or.xml", score}, {"../x.xml", score}, {"readme.txt", "hello"}}
	f.Add(zipOf(f, files...))
	f.Add(tarOf(f, files[0], files[2], file{"l", "-> x"}))
	f.Add(gzipOf(f, tarOf(f, files[0], files[3])))
	f.Add(gzipOf(f, []byte(score)))
	f.Add(zipOf(f, file{"META-INF/container.xml", "<c/>"}))
	f.Add(zipOf(f, file{"in.zip", string(zipOf(f, files[0]))}, file{"a\nb/" + strings.Repeat("é", 200), score}))
	f.Fuzz(func(t *testing.T, data []byte) {
		limits := Limits{Bytes: 1 << 16, Total: 1 << 18, Entries: 100}
		seen := map[string]bool{}
		var total int64
		var inScores, inFiles []string
		var together int64
		for m, err := range Scores(bytes.NewReader(data), int64(len(data)), limits) {
			var e *Error
			if err != nil && (!errors.As(err, &e) || e.Advice == "" || e.Path != m.Path || m.Data != nil) {
				t.Fatalf("%#v beside %#v", err, m)
			}
			if err != nil && e.Path == "" {
				continue
			}
			checkPath(t, m.Path)
			if !isSystemFile(m.Path) {
				inScores = append(inScores, m.Path)
			}
			if key := strings.ToLower(m.Path); seen[key] {
				t.Fatalf("%q twice", m.Path)
			} else {
				seen[key] = true
			}
			total += int64(len(m.Data))
			if int64(len(m.Data)) > limits.Bytes || total > limits.Total || len(seen) > limits.Entries {
				t.Fatal("over the limits")
			}
		}
		for m := range Files(bytes.NewReader(data), int64(len(data)), limits, 1<<17, func(string) bool { return true }) {
			inFiles = append(inFiles, m.Path)
			if int64(len(m.Data)) > limits.Bytes {
				t.Fatal("a file over the limit")
			}
			if together += int64(len(m.Data)); together > 1<<17 {
				t.Fatal("files over the limit together")
			}
		}
		// One of the two may end earlier, at a limit.
		n := min(len(inScores), len(inFiles))
		if !slices.Equal(inScores[:n], inFiles[:n]) {
			t.Fatalf("%q among scores, %q among files", inScores, inFiles)
		}
	})
}

func checkPath(t *testing.T, p string) {
	t.Helper()
	if p == "" || path.IsAbs(p) || path.Clean(p) != p || strings.HasPrefix(p, "../") || strings.Contains(p, `\`) || !utf8.ValidString(p) || strings.ContainsFunc(p, unicode.IsControl) {
		t.Fatalf("unsafe path %q", p)
	}
	for _, part := range strings.Split(p, "/") {
		if len(part) > 255 || part == ".." {
			t.Fatalf("unsafe part %q", part)
		}
	}
}
