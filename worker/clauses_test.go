package worker

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"partwright/musicxml"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
)

// What a report says of how it read a score is in its language, whatever the layout: on
// the demo scores and, where it is there, the unofficial MusicXML test suite.
func TestHowAScoreWasReadIsSaidInEveryLanguage(t *testing.T) {
	var paths []string
	for _, pattern := range []string{"../testdata/*/*.musicxml", "../../shared/data/import-suite/*", "../../shared/data/bulk/lieder_B*.mxl"} {
		some, _ := filepath.Glob(pattern)
		paths = append(paths, some...)
	}
	english := regexp.MustCompile(`\b(a|beyond|both|by|chords?|each|from|layers?|lines?|move|names?|notes?|of|on|only|ordered|own|parts?|score|shared|staff|staves|the|voices?|was|where|which|with|without)\b`)
	said, asked := map[string]bool{}, 0
	for _, language := range partwriting.Languages() {
		if language == "en" {
			continue
		}
		catalog, _ := partwriting.CatalogFor(language)
		for _, path := range paths {
			data, err := os.ReadFile(path)
			if err != nil {
				continue
			}
			d, err := musicxml.Read(filepath.Base(path), data, musicxml.Limits{})
			if err != nil {
				continue
			}
			texture := separation.FindVoices(d.Score)
			sentences := []string{texture.Found, harmony.Analyze(texture).StyleFound}
			for i := range texture.Voices {
				sentences = append(sentences, texture.Voices[i].Found)
			}
			for _, aside := range texture.SetAside {
				sentences = append(sentences, aside.Reason)
			}
			for _, sentence := range sentences {
				asked++
				words := strings.ReplaceAll(catalog.Clause(sentence), "(voice)", "")
				if word := english.FindString(words); word != "" && !said[sentence] {
					said[sentence] = true
					t.Errorf("%s, %s: %q is said as %q, with %q", path, language, sentence, words, word)
				}
			}
		}
	}
	if asked == 0 {
		t.Error("no score has been read")
	}
}

// Names that the document gives stay as they are (common practice, no source).
func TestClausesKeepNames(t *testing.T) {
	german, _ := partwriting.CatalogFor("de")
	for english, want := range map[string]string{
		"layer $1 on staff 2 of part P1, with 3 notes shared in unison":                          "Stimme (voice) $1 in System 2 der Partie P1, mit 3 Noten, die im Einklang geteilt werden",
		"closed score: 4 voices on 2 staves, told apart by the document's own layers":            "zwei Stimmen je System: 4 Stimmen in 2 Systemen, unterschieden nach den Stimmen (voice) des Dokuments",
		"notes beyond the 1 voice on staff 1 of part P2":                                         "Noten über die eine Stimme hinaus, in System 1 der Partie P2",
		"open score: 1 voice, each on a staff of its own; 1 note shared by two voices in unison": "Partitur: 1 Stimme in einem eigenen System; 1 Note, die zwei Stimmen im Einklang teilen",
	} {
		if got := german.Clause(english); got != want {
			t.Errorf("%q is said as %q, want %q", english, got, want)
		}
	}
}
