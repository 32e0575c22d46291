package classroom

import (
	"regexp"
	"slices"
	"testing"
)

// CompareWords holds every language to English.
func CompareWords(t *testing.T) {
	t.Helper()
	place := regexp.MustCompile(`\{\w+\}`)
	for tag, said := range languages {
		for name, english := range languages["en"] {
			want, got := place.FindAllString(english, -1), place.FindAllString(said[name], -1)
			slices.Sort(want)
			slices.Sort(got)
			if said[name] == "" || !slices.Equal(want, got) {
				t.Errorf("%s, %s: %q has places %v, want %v", tag, name, said[name], got, want)
			}
		}
		if len(said) != len(languages["en"]) {
			t.Errorf("%s has %d sentences, English %d", tag, len(said), len(languages["en"]))
		}
	}
}
