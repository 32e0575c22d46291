package fingerprint

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"io/fs"
	"strings"
)

// digits is how many hexadecimal digits a fingerprint has: among a million pairs of
// versions two differing ones have the same with a chance of about 1 in 280 million.
const digits = 12

// Of returns the fingerprint of all files of some packages but their tests, as they are
// written, comments too.
func Of(packages ...fs.FS) (string, error) {
	var sums []byte
	for _, files := range packages {
		err := each(files, "", func(name string, text []byte) error {
			sum := sha256.Sum256(text)
			sums = append(item(sums, name), sum[:]...)
			return nil
		})
		if err != nil {
			return "", err
		}
	}
	return short(sums), nil
}

// Join returns the fingerprint of texts in their order.
func Join(texts ...string) string {
	var all []byte
	for _, t := range texts {
		all = item(all, t)
	}
	return short(all)
}

func short(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:])[:digits]
}

// item appends a text so that no two lists of them are the same bytes.
func item(to []byte, text string) []byte {
	return append(binary.AppendUvarint(to, uint64(len(text))), text...)
}

// each calls f with every file whose name ends so, but for tests, in the order of names.
func each(files fs.FS, suffix string, f func(name string, text []byte) error) error {
	return fs.WalkDir(files, ".", func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || strings.HasSuffix(path, "_test.go") || !strings.HasSuffix(path, suffix) {
			return err
		}
		text, err := fs.ReadFile(files, path)
		if err != nil {
			return err
		}
		return f(path, text)
	})
}
