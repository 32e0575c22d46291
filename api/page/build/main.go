// Command build takes the engraver of the page from npm, in the version of package.json:
//
//	go generate ./api/page
//
// Compressing it takes a minute, so that is done only where its bytes are new. Without
// npm nothing is done: the files that are committed are held to their checksums by a test.
package main

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"log"
	"os"
	"os/exec"
	"path/filepath"

	"github.com/andybalholm/brotli"
)

const source = "node_modules/verovio/dist"

func main() {
	log.SetFlags(0)
	if _, err := exec.LookPath("npm"); err != nil {
		fmt.Println("the page's engraver is left as it is: npm is not installed")
		return
	}
	if err := build(); err != nil {
		log.Fatal(err)
	}
}

func build() error {
	install := exec.Command("npm", "ci", "--no-audit", "--no-fund", "--silent")
	install.Stdout, install.Stderr = os.Stdout, os.Stderr
	if err := install.Run(); err != nil {
		return fmt.Errorf("npm ci: %w", err)
	}
	module, err := os.ReadFile(filepath.Join(source, "verovio-module.mjs"))
	if err != nil {
		return err
	}
	const packed = "engraver/verovio-module.mjs.br"
	if same, err := unpacksTo(packed, module); err != nil || !same {
		if err := os.WriteFile(packed, compressed(module), 0o600); err != nil {
			return err
		}
	}
	toolkit, err := os.ReadFile(filepath.Join(source, "verovio.mjs"))
	if err != nil {
		return err
	}
	sums := fmt.Sprintf("%x  verovio-module.mjs\n%x  verovio.mjs\n", sha256.Sum256(module), sha256.Sum256(toolkit))
	return errors.Join(
		os.WriteFile("engraver/verovio.mjs", toolkit, 0o600),
		os.WriteFile("engraver/SHA256SUMS", []byte(sums), 0o600))
}

func unpacksTo(name string, want []byte) (bool, error) {
	file, err := os.ReadFile(name) // #nosec G304 -- a file of ours
	if err != nil {
		return false, err
	}
	got, err := io.ReadAll(brotli.NewReader(bytes.NewReader(file)))
	return bytes.Equal(got, want), err
}

func compressed(data []byte) []byte {
	var b bytes.Buffer
	w := brotli.NewWriterOptions(&b, brotli.WriterOptions{Quality: brotli.BestCompression, LGWin: 24})
	_, _ = w.Write(data)
	_ = w.Close()
	return b.Bytes()
}
