package page_test

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"partwright/api/page"
	"partwright/api/page/pagetest"
	"partwright/theory/partwriting"
)

func TestMain(m *testing.M) { pagetest.Main(m) }

// TestEngraverIsThatOfNPM holds the files that are committed to the package that
// package-lock.json names: by checksums that were taken from it, and to its own files
// where it is installed.
func TestEngraverIsThatOfNPM(t *testing.T) {
	site, err := page.New("")
	if err != nil {
		t.Fatal(err)
	}
	sums := map[string]string{}
	for line := range strings.Lines(pagetest.ReadText(t, "engraver/SHA256SUMS")) {
		sum, name, _ := strings.Cut(strings.TrimSpace(line), "  ")
		sums[name] = sum
	}
	for _, name := range page.EngraverFiles {
		file, ok := site.Find(site.Version() + "/engraver/" + name)
		if !ok {
			t.Fatalf("%s is not served", name)
		}
		plain, encoding, err := file.Body(func(string) bool { return false })
		if err != nil || encoding != "" {
			t.Fatalf("%s: %q, %v", name, encoding, err)
		}
		sum := sha256.Sum256(plain)
		if got := hex.EncodeToString(sum[:]); got != sums[name] {
			t.Errorf("%s is not as it was taken from npm: go generate ./api/page", name)
		}
		installed, err := os.ReadFile(filepath.Join("node_modules/verovio/dist", name)) // #nosec G304 -- the test's own words
		if err != nil {
			t.Log("not held to node_modules: npm ci --prefix api/page")
			continue
		}
		if string(installed) != string(plain) {
			t.Errorf("%s is not that of the installed package: go generate ./api/page", name)
		}
	}
	for _, name := range []string{"package.json", "package-lock.json", "engraver/README.md"} {
		if !strings.Contains(pagetest.ReadText(t, name), engraverVersion) {
			t.Errorf("%s is about another version than %s", name, engraverVersion)
		}
	}
}

const engraverVersion = "6.3.0"

// Most bytes of the page on the wire, so that it grows only where somebody means it to.
const (
	mostOfEngraver = 1_900_000 // it comes once, and the browser keeps it
	mostOfTheRest  = 150_000   // one language
)

// TestThePageStaysSmall counts what a browser gets that takes brotli and gzip (RFC 9110, 8.4.1).
func TestThePageStaysSmall(t *testing.T) {
	site, err := page.New("")
	if err != nil {
		t.Fatal(err)
	}
	engraver, rest := 0, 0
	for _, name := range site.Names() {
		path := site.Version() + "/" + name
		if name == "" {
			path = "" // the page itself
		}
		file, ok := site.Find(path)
		if !ok {
			t.Fatalf("%s is not served", name)
		}
		body, _, err := file.Body(func(string) bool { return true })
		if err != nil {
			t.Fatal(err)
		}
		switch {
		case strings.HasSuffix(name, ".mjs"):
			engraver += len(body)
		case strings.HasPrefix(name, "words/"):
			rest += len(body) / len(partwriting.Languages())
		case name == "", strings.HasPrefix(name, "js/"), strings.HasPrefix(name, "css/"):
			rest += len(body)
		}
	}
	t.Logf("engraver %d, the rest of the page %d bytes", engraver, rest)
	if engraver > mostOfEngraver || rest > mostOfTheRest {
		t.Errorf("engraver %d bytes, at most %d; the rest %d, at most %d", engraver, mostOfEngraver, rest, mostOfTheRest)
	}
}

// TestEveryLanguageHasTheWordsOfThePage wants the same keys, with the same
// placeholders, in every language of the catalog.
func TestEveryLanguageHasTheWordsOfThePage(t *testing.T) {
	words := map[string]map[string]string{}
	for _, language := range partwriting.Languages() {
		own := map[string]string{}
		if err := json.Unmarshal([]byte(pagetest.ReadText(t, "static/words/"+language+".json")), &own); err != nil {
			t.Fatal(err)
		}
		words[language] = own
	}
	for language, own := range words {
		for key, sentence := range words["en"] {
			if _, ok := own[key]; !ok {
				t.Errorf("%s has no words for %s", language, key)
			} else if placeholders(sentence) != placeholders(own[key]) {
				t.Errorf("%s: %s has other placeholders than in English", language, key)
			}
		}
		if len(own) != len(words["en"]) {
			t.Errorf("%s has %d words, English %d", language, len(own), len(words["en"]))
		}
		if own["language."+language] == "" {
			t.Errorf("%s does not name itself", language)
		}
	}
}

func placeholders(sentence string) string {
	var found [26]int
	for _, part := range strings.Split(sentence, "{")[1:] {
		name, _, _ := strings.Cut(part, "}")
		for _, letter := range name {
			if letter >= 'a' && letter <= 'z' {
				found[letter-'a']++
			}
		}
	}
	text, _ := json.Marshal(found)
	return string(text)
}

// TestExamplesAreThoseOfTheClass holds what the page offers to begin with to the demo
// class, whose faults are known.
func TestExamplesAreThoseOfTheClass(t *testing.T) {
	examples, err := filepath.Glob("static/examples/*.musicxml")
	if err != nil || len(examples) == 0 {
		t.Fatalf("no examples: %v", err)
	}
	for _, example := range examples {
		if pagetest.ReadText(t, example) != pagetest.ReadText(t, filepath.Join("../../testdata/class", filepath.Base(example))) {
			t.Errorf("%s is not that of testdata/class", example)
		}
	}
}
