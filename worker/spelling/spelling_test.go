package spelling_test

import (
	"fmt"
	"strings"
	"testing"

	"partwright/worker/spelling"
)

func TestSlips(t *testing.T) {
	for _, tt := range []struct {
		a, b string
		want int
		from string
	}{
		{"kitten", "sitting", 3, "Wagner and Fischer's distance, the usual example of textbooks"},
		{"sunday", "saturday", 3, "another of them"},
		{"ca", "abc", 3, "the usual example of the restricted distance, where the unrestricted one is 2"},
		{"", "", 0, ""},
		{"", "alto", 4, "all letters left out"},
		{"fifht", "fifth", 1, "Damerau: two neighbors exchanged are one error"},
		{"fith", "fifth", 1, "Damerau: a letter left out"},
		{"fiffth", "fifth", 1, "Damerau: a letter put in"},
		{"fofth", "fifth", 1, "Damerau: a letter taken for another"},
		{"übung", "ubung", 1, "letters, not bytes"},
	} {
		if got := spelling.Slips(tt.a, tt.b); got != tt.want {
			t.Errorf("%q to %q: %d slips, want %d (%s)", tt.a, tt.b, got, tt.want, tt.from)
		}
		if got := spelling.Slips(tt.b, tt.a); got != tt.want {
			t.Errorf("%q to %q: %d slips, want %d: it is the same both ways", tt.b, tt.a, got, tt.want)
		}
	}
}

func TestNearest(t *testing.T) {
	rules := []string{"parallel-fifths", "parallel-octaves", "direct-fifths", "spacing", "range"}
	for _, tt := range []struct{ word, want string }{
		{"paralel-fifth", "parallel-fifths"},
		{"Spacing", "spacing"},
		{"parallel", "parallel-fifths"},
		{"rnage", "range"},
		{"spacings", "spacing"},
		{"tessitura", ""},
		{"x", ""},
		{"", ""},
	} {
		if got := spelling.Nearest(tt.word, rules); got != tt.want {
			t.Errorf("%q: %q, want %q", tt.word, got, tt.want)
		}
	}
}

// The distance of a long word is that of its letters, whatever was typed.
func FuzzSlips(f *testing.F) {
	f.Add("parallel", "paralell")
	f.Fuzz(func(t *testing.T, a, b string) {
		if len(a) > 200 || len(b) > 200 {
			return
		}
		got := spelling.Slips(a, b)
		letters := func(s string) int { return len([]rune(s)) }
		least, most := letters(a)-letters(b), max(letters(a), letters(b))
		if got < max(least, -least) || got > most || (got == 0) != (string([]rune(a)) == string([]rune(b))) {
			t.Errorf("%q to %q: %d slips", a, b, got)
		}
	})
}

func ExampleDidYouMean() {
	sets := []string{"strict-chorale", "textbook", "free"}
	fmt.Println("there is no rule set strict" + spelling.DidYouMean("strict", sets))
	fmt.Println("there is no rule set baroque" + spelling.DidYouMean("baroque", sets))
	// Output:
	// there is no rule set strict, did you mean strict-chorale?
	// there is no rule set baroque
}

func BenchmarkNearest(b *testing.B) {
	names := strings.Fields(strings.Repeat("parallel-fifths direct-octaves seventh-unresolved spacing ", 20))
	for b.Loop() {
		spelling.Nearest("seventh-unresovled", names)
	}
}
