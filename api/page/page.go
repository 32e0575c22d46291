// Package page is the service's own page: what a browser needs to see, hear and change
// scores. It holds files only; all work is done by the service's routes.
package page

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"mime"
	"os"
	"path"
	"path/filepath"
	"strings"
	"sync"

	"github.com/andybalholm/brotli"
	"github.com/klauspost/compress/gzip"

	"partwright/theory/partwriting"
)

// The engraver is compressed anew only where npm has other bytes.
//go:generate go run ./build

//go:embed static engraver/*.mjs engraver/*.br engraver/*.txt engraver/README.md
var embedded embed.FS

// Policies of content security (W3C, CSP Level 3, and Trusted Types). The page runs its
// own files only. The engraver is WebAssembly, which its worker alone may compile.
const (
	policyOfPage = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; " +
		"connect-src 'self'; worker-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; " +
		"frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types engraving"
	policyOfWorker = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; connect-src 'self'; frame-ancestors 'none'"
	policyOfFile   = "default-src 'none'; frame-ancestors 'none'"
)

// worker is the one script that may compile WebAssembly.
const worker = "js/engraver-worker.js"

// File is one file of the page.
type File struct {
	Type   string // media type
	Policy string // of content security
	ETag   string
	// Versioned files never change under their address.
	Versioned bool

	plain, gzipped, brotlied func() ([]byte, error)
}

// Site is all files of the page by their path.
type Site struct {
	version string
	files   map[string]*File
}

// New reads the page. A folder named in engraver holds another copy of the engraver's
// files; "" is the one that comes with the program.
func New(engraver string) (*Site, error) {
	s := &Site{files: map[string]*File{}}
	sum := sha256.New()
	add := func(name string, data []byte, packed bool) {
		_, _ = fmt.Fprintf(sum, "%s %d\n", name, len(data))
		_, _ = sum.Write(data)
		s.files[name] = newFile(name, data, packed)
	}
	if err := eachStatic(add); err != nil {
		return nil, err
	}
	for _, language := range partwriting.Languages() {
		words, err := words(language)
		if err != nil {
			return nil, err
		}
		add("words/"+language+".json", words, false)
	}
	if err := eachOfEngraver(engraver, add); err != nil {
		return nil, err
	}
	s.version = hex.EncodeToString(sum.Sum(nil))[:16]
	index, err := embedded.ReadFile("static/index.html")
	if err != nil {
		return nil, err
	}
	s.files[""] = newFile("index.html", bytes.ReplaceAll(bytes.ReplaceAll(index, []byte("{version}"), []byte(s.version)), []byte("{languages}"), []byte(strings.Join(partwriting.Languages(), " "))), false)
	return s, nil
}

// eachStatic passes on our own files but for the page itself and the words, which are
// put together.
func eachStatic(add func(string, []byte, bool)) error {
	return fs.WalkDir(embedded, "static", func(name string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		short := strings.TrimPrefix(name, "static/")
		if short == "index.html" || path.Dir(short) == "words" {
			return nil
		}
		data, err := embedded.ReadFile(name)
		add(short, data, false)
		return err
	})
}

// EngraverFiles are those that a copy of the engraver consists of.
var EngraverFiles = []string{"verovio-module.mjs", "verovio.mjs"}

func eachOfEngraver(folder string, add func(string, []byte, bool)) error {
	if folder != "" {
		for _, name := range EngraverFiles {
			data, err := os.ReadFile(filepath.Join(folder, name)) // #nosec G304 -- the operator names the folder
			if err != nil {
				return fmt.Errorf("the engraver's folder needs %s: %w", strings.Join(EngraverFiles, " and "), err)
			}
			add("engraver/"+name, data, false)
		}
		return nil
	}
	entries, err := embedded.ReadDir("engraver")
	if err != nil {
		return err
	}
	for _, entry := range entries {
		data, err := embedded.ReadFile("engraver/" + entry.Name())
		if err != nil {
			return err
		}
		name, packed := strings.CutSuffix(entry.Name(), ".br")
		add("engraver/"+name, data, packed)
	}
	return nil
}

// words are those of the page in a language, with the names that findings use.
func words(language string) ([]byte, error) {
	text, err := embedded.ReadFile("static/words/" + language + ".json")
	if err != nil {
		return nil, fmt.Errorf("the page has no words in a language of the catalog: %w", err)
	}
	own := map[string]string{}
	if err := json.Unmarshal(text, &own); err != nil {
		return nil, fmt.Errorf("words/%s.json: %w", language, err)
	}
	catalog, _ := partwriting.CatalogFor(language)
	for kind, names := range map[string]map[string]string{"voice": catalog.Voices, "severity": catalog.Severities, "family": catalog.Families} {
		for name, word := range names {
			own[kind+"."+name] = word
		}
	}
	for rule, words := range catalog.Rules {
		own["rule."+string(rule)] = words.Name
	}
	own["decimal-mark"], own["pitch-names"], own["place"] = catalog.DecimalMark, catalog.PitchNames, catalog.PlaceForm
	return json.Marshal(own)
}

func newFile(name string, data []byte, packed bool) *File {
	sum := sha256.Sum256(data)
	f := &File{Type: typeOf(name), Policy: policyOfFile, ETag: `"` + hex.EncodeToString(sum[:12]) + `"`, Versioned: true}
	switch name {
	case worker:
		f.Policy = policyOfWorker
	case "index.html":
		f.Policy, f.Versioned = policyOfPage, false
	}
	if packed {
		f.brotlied = func() ([]byte, error) { return data, nil }
		f.plain = sync.OnceValues(func() ([]byte, error) { return io.ReadAll(brotli.NewReader(bytes.NewReader(data))) })
	} else {
		f.plain = func() ([]byte, error) { return data, nil }
	}
	f.gzipped = sync.OnceValues(func() ([]byte, error) {
		plain, err := f.plain()
		if err != nil {
			return nil, err
		}
		return gzipped(plain)
	})
	return f
}

func gzipped(plain []byte) ([]byte, error) {
	var b bytes.Buffer
	w, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err == nil {
		if _, err = w.Write(plain); err == nil {
			err = w.Close()
		}
	}
	return b.Bytes(), err
}

// typeOf does not ask the system's tables, which differ.
func typeOf(name string) string {
	switch path.Ext(name) {
	case ".js", ".mjs":
		return "text/javascript; charset=utf-8"
	case ".html":
		return "text/html; charset=utf-8"
	case ".css":
		return "text/css; charset=utf-8"
	case ".json":
		return "application/json"
	case ".svg":
		return "image/svg+xml"
	case ".musicxml":
		return "application/vnd.recordare.musicxml+xml"
	case ".txt", ".md":
		return "text/plain; charset=utf-8"
	}
	return mime.TypeByExtension(path.Ext(name))
}

// Find returns the file at a path below /page/, or the page itself for "". The first
// element is the version, so that a browser may keep what it has; files of another
// version than this one are not there any more.
func (s *Site) Find(name string) (*File, bool) {
	if name != "" {
		version, rest, _ := strings.Cut(name, "/")
		if version != s.version || rest == "" {
			return nil, false
		}
		name = rest
	}
	f, ok := s.files[name]
	return f, ok
}

// Names are the paths of all files below the version, in no order.
func (s *Site) Names() []string {
	var names []string
	for name := range s.files {
		names = append(names, name)
	}
	return names
}

// Version is the first element of the paths of files.
func (s *Site) Version() string { return s.version }

// Body returns the bytes to send to a client that takes the encodings named, and which
// of them it is; "" is none.
func (f *File) Body(takes func(encoding string) bool) (body []byte, encoding string, err error) {
	switch {
	case f.brotlied != nil && takes("br"):
		body, err = f.brotlied()
		return body, "br", err
	case takes("gzip"):
		body, err = f.gzipped()
		return body, "gzip", err
	}
	body, err = f.plain()
	return body, "", err
}
