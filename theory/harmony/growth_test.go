package harmony_test

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/theorytest"
)

// What is read may be long; the memory for it must grow no faster than it does.
func TestReadersOfTextGrowWithIt(t *testing.T) {
	if testing.Short() {
		t.Skip("reads hundreds of long texts")
	}
	readers := map[string]func(string){
		"analysis": func(text string) { _, _ = harmony.ReadRomanText(text) },
		"numeral":  func(text string) { _, _ = harmony.ParseNumeral(text, theory.MinorMode) },
		"symbol":   func(text string) { _, _ = harmony.ParseSymbol(text) },
	}
	for name, read := range readers {
		for _, prefix := range []string{"", "m1 C: ", "m1 C: V", "C", "Composer: "} {
			for _, piece := range []string{
				"I ", "I\n", "V/", "/V", "#", "b", "[no5]", "[", "]", "(", "7", "b2 ", "b2.5.5.5 ", "||", "|", ":", "C: ", "m2 I\n", "m1 C: I b3 V\n",
				"m2=m1\n", "m1-9=m1-9\n", "m3var ", "Form: a\n", "Time Signature: 3/4\nm1 C: I\n", "\n", "\r", "\t", " ", "sus", "add", "maj", "é", "\x00", "\xff",
			} {
				if g := theorytest.Grow(prefix, piece, 64<<10, read); !g.Linear() {
					t.Errorf("%s, %q and %q: %+v", name, prefix, piece, g)
				}
			}
		}
	}
}

// A line that copies measures stands for as many as it names: what it may come to is
// bounded, not only what is written.
func TestCopiesInAnalysesAreBounded(t *testing.T) {
	for _, test := range []struct{ text, want string }{
		{"m1 C: " + strings.Repeat("I ", 2000) + "\nm2-1000=m1-999\n", "line 2: with its copies the analysis has more than"},
		{"m1 C: " + strings.Repeat("I ", 100) + "\nm2-2000=m1-1999\n", "line 2: the analysis has more than 100000 numerals"},
		{"m1 C: I\nm2-30000=m1-29999\n", "line 2: the copied measures are not as many"},
		{"m1 C: I\nm2-20000=m1-19999\nm30000 V\n", "line 3: the analysis has more than 20000 measures"},
		{"m1 C: " + strings.Repeat("I ", 100_001), "line 1: the analysis has more than 100000 numerals"},
		{strings.Repeat(" ", harmony.MaxRomanText+1), "the analysis has 1048577 bytes"},
	} {
		r, err := harmony.ReadRomanText(test.text)
		if err == nil && len(r.Problems) > 0 {
			err = &r.Problems[0]
		}
		if err == nil || !strings.HasPrefix(err.Error(), test.want) {
			t.Errorf("%.40q: %v, want %q", test.text, err, test.want)
		}
	}
}

// What a movement of a symphony needs is far from the limits.
func TestLongAnalysesAreRead(t *testing.T) {
	var text strings.Builder
	text.WriteString("m1 C: I\n")
	for m := 2; m <= 3000; m++ {
		fmt.Fprintf(&text, "m%d I b2 ii6 b3 V7 b4 I ||\n", m)
	}
	r, err := harmony.ReadRomanText(text.String())
	if err != nil || len(r.Entries) != 1+4*2999 || len(r.Problems) > 0 {
		t.Errorf("%v", err)
	}
}

// A text without a numeral that can be read says what is wrong with the first, and where.
func TestAnalysisWithoutAKeySaysSo(t *testing.T) {
	_, err := harmony.ReadRomanText("Composer: nobody\n\nm1 I b3 V\n")
	if want := `line 3: the numeral "I" stands before any key`; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
}
