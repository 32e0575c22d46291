package partwriting_test

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

func TestEveryRuleHasWordsInEveryLanguage(t *testing.T) {
	languages := partwriting.Languages()
	if len(languages) < 2 {
		t.Fatalf("catalogs for %v, want at least two languages", languages)
	}
	for _, language := range languages {
		c, ok := partwriting.CatalogFor(language)
		if !ok {
			t.Fatalf("no catalog for %s", language)
		}
		for _, r := range partwriting.Rules() {
			words := c.Rules[r.ID]
			if words.Name == "" || words.Definition == "" || words.Message == "" || words.Why == "" || words.Mend == "" {
				t.Errorf("%s: %s lacks words: %+v", language, r.ID, words)
			}
			if c.Families[r.Family.String()] == "" {
				t.Errorf("%s: family %s has no name", language, r.Family)
			}
		}
		for _, praise := range partwriting.Praises {
			if c.Praises[praise] == "" {
				t.Errorf("%s: no words for the praise %s", language, praise)
			}
		}
		if len(c.Praises) != len(partwriting.Praises) {
			t.Errorf("%s: %d words of praise, want %d", language, len(c.Praises), len(partwriting.Praises))
		}
		for id := range c.Rules {
			if partwriting.RuleByID(id) == nil {
				t.Errorf("%s: words for %s, which is no rule", language, id)
			}
		}
	}
}

// TestEveryPhraseSaysTheSame holds the phrases of all languages to the placeholders of
// the English ones.
func TestEveryPhraseSaysTheSame(t *testing.T) {
	english, _ := partwriting.CatalogFor("en")
	placeholders := regexp.MustCompile(`\{\w+\}`)
	named := func(c *partwriting.Catalog, p partwriting.Phrase) []string {
		all := placeholders.FindAllString(c.Phrases[p], -1)
		slices.Sort(all)
		return all
	}
	for _, language := range partwriting.Languages() {
		c, _ := partwriting.CatalogFor(language)
		for _, p := range partwriting.Phrases {
			if c.Phrases[p] == "" || !slices.Equal(named(c, p), named(english, p)) {
				t.Errorf("%s: the phrase %s is %q, in English %q", language, p, c.Phrases[p], english.Phrases[p])
			}
		}
		if len(c.Phrases) != len(partwriting.Phrases) {
			t.Errorf("%s: %d phrases, want %d", language, len(c.Phrases), len(partwriting.Phrases))
		}
	}
}

func TestMessageNamesVoicesAndPitches(t *testing.T) {
	texture := theorytest.Chords("I C3 G3 E4 C5 | ii D3 A3 F4 A4 | V7 G3 D4 F4 Bb4")
	findings := partwriting.Check(texture, nil, nil)
	for _, test := range []struct{ language, message, place string }{
		{"en", "parallel fifths between tenor and bass, C3–G3 to D3–A3", "measure 1, beat 2"},
		{"de", "offene Quintparallelen zwischen Tenor und Bass, c–g nach d–a", "Takt 1, Zählzeit 2"},
		{"de-AT", "offene Quintparallelen zwischen Tenor und Bass, c–g nach d–a", "Takt 1, Zählzeit 2"},
	} {
		c, ok := partwriting.CatalogFor(test.language)
		if !ok {
			t.Fatalf("no catalog for %s", test.language)
		}
		if got := c.Message(&findings[0], texture); got != test.message {
			t.Errorf("%s: %q, want %q", test.language, got, test.message)
		}
		if got := c.Place(&findings[0], texture); got != test.place {
			t.Errorf("%s: %q, want %q", test.language, got, test.place)
		}
	}
}

// German names of pitches follow Helmholtz's octaves and the h and b of German
// usage (common practice, no source).
func TestPitchNames(t *testing.T) {
	en, _ := partwriting.CatalogFor("en")
	de, _ := partwriting.CatalogFor("de")
	for _, test := range []struct{ pitch, en, de string }{
		{"C4", "C4", "c'"}, {"B3", "B3", "h"}, {"Bb3", "B♭3", "b"}, {"Bbb3", "B♭♭3", "heses"},
		{"Eb5", "E♭5", "es''"}, {"Ab2", "A♭2", "As"}, {"F#2", "F♯2", "Fis"}, {"Abb4", "A♭♭4", "ases'"},
		{"C##5", "C♯♯5", "cisis''"}, {"B1", "B1", "H,"}, {"Db3", "D♭3", "des"},
	} {
		p := theory.MustPitch(test.pitch)
		if en.Pitch(p) != test.en || de.Pitch(p) != test.de {
			t.Errorf("%s: %q and %q, want %q and %q", test.pitch, en.Pitch(p), de.Pitch(p), test.en, test.de)
		}
	}
	if got := de.Interval(theory.Interval{Steps: 1, Semitones: 3}); got != "übermäßige Sekunde" {
		t.Errorf("augmented second in German: %q", got)
	}
	if got := en.Interval(theory.Interval{Steps: 22, Semitones: 38}); strings.Contains(got, "{") {
		t.Errorf("a very large interval: %q", got)
	}
}

// Every message must be filled in: no brace may be left in any language.
func TestMessagesAreFilledIn(t *testing.T) {
	for _, music := range everyExample() {
		texture := theorytest.Chords(music)
		for _, f := range partwriting.Check(texture, nil, nil) {
			for _, language := range partwriting.Languages() {
				c, _ := partwriting.CatalogFor(language)
				if m := c.Message(&f, texture); m == "" || strings.ContainsAny(m, "{}") || strings.Contains(m, "  ") {
					t.Errorf("%s %s: %q", language, f.Rule, m)
				}
			}
		}
	}
}

// In more than four voices a reader looks for the part, not for the fifth voice from
// the top.
func TestManyVoicesAreNamedByTheirParts(t *testing.T) {
	texture := theorytest.Chords("I C3 G3 C4 E4 C5 | ii D3 A3 D4 F4 A4 | V7 G3 D4 F4 Bb4 D5")
	texture.Score.Parts = []theory.Part{{Name: "Flute"}, {Name: "Violin"}, {Name: "Viola"}, {Name: "Viola"}, {Name: "Cello"}}
	for v := range texture.Voices {
		texture.Voices[v].Part = v
	}
	english, _ := partwriting.CatalogFor("en")
	for _, f := range partwriting.Check(texture, nil, nil) {
		if f.Rule == "parallel-fifths" {
			if got, want := english.Message(&f, texture), "parallel fifths between Viola (2) and Cello, C3–G3 to D3–A3"; got != want {
				t.Errorf("%q, want %q", got, want)
			}
			return
		}
	}
	t.Error("no parallel fifths")
}

// Every term of the trade in the explanations is explained, in every language the same ones
// and each where some rule uses it. The list of terms is our own: what a first course in
// harmony introduces (Butterfield, Integrated Music Theory, units 6 to 18).
func TestTermsAreExplained(t *testing.T) {
	ids := func(c *partwriting.Catalog) []string {
		var out []string
		for _, term := range c.Terms {
			out = append(out, term.ID)
			if term.Means == "" || len(term.Words) == 0 || strings.HasSuffix(term.Means, ".") {
				t.Errorf("%s: %+v", c.Language, term)
			}
		}
		return out
	}
	english, _ := partwriting.CatalogFor("en")
	for _, language := range partwriting.Languages() {
		c, _ := partwriting.CatalogFor(language)
		if c.TermsHead == "" || !slices.Equal(ids(c), ids(english)) {
			t.Errorf("%s explains %q, in English %q", language, ids(c), ids(english))
		}
		used := map[string]bool{}
		for _, r := range partwriting.Rules() {
			for _, term := range c.TermsOf(r.ID) {
				used[term.ID] = true
			}
		}
		for _, term := range c.Terms {
			if !used[term.ID] {
				t.Errorf("%s: no rule uses %s", language, term.Words[0])
			}
		}
	}
	for rule, want := range map[partwriting.RuleID][]string{
		"cadential-six-four-unresolved": {"dominant", "six-four", "suspension", "resolve"},
		"retrogression":                 {"dominant", "predominant"},
		"climax-repeated":               nil,
	} {
		for _, language := range []string{"en", "de"} {
			c, _ := partwriting.CatalogFor(language)
			var got []string
			for _, term := range c.TermsOf(rule) {
				got = append(got, term.ID)
			}
			for _, id := range want {
				if !slices.Contains(got, id) {
					t.Errorf("%s: %s explains %q, not %s", language, rule, got, id)
				}
			}
			if want == nil && got != nil {
				t.Errorf("%s: %s explains %q", language, rule, got)
			}
		}
	}
}
