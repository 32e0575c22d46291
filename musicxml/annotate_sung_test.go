package musicxml

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// sungUnder marks a document with harmonies at moments in quarters, as lyrics of its last
// part where they can be.
func sungUnder(t *testing.T, document string, items []Mark, moments []int64, numerals ...string) string {
	t.Helper()
	d := mustParse(t, []byte(document))
	last := len(d.Score.Parts) - 1
	a := Annotations{Layers: Numerals | Figures, Top: Staff{0, 1}, Bass: Staff{last, 1}, Lowest: partLine(d.Score, last)}
	for i, text := range numerals {
		n, err := harmony.ParseNumeral(text, theory.MajorMode)
		if err != nil {
			t.Fatal(err)
		}
		a.Harmonies = append(a.Harmonies, harmony.Harmony{Onset: theory.Whole(moments[i]), Reading: harmony.Reading{Key: theory.MajorKey(theory.PitchClass{}), Numeral: n}})
	}
	marked, err := d.Mark(Marks{Heading: "x", Items: items, Annotations: a})
	if err != nil {
		t.Fatal(err)
	}
	return string(marked)
}

var lyricTexts = regexp.MustCompile(`<lyric number="1" name="numerals" color="` + labelColor + `"><syllabic>single</syllabic><text>([^<]*)</text></lyric>`)

// Numerals are lyrics of the lowest voice (W3C MusicXML 4.0, lyric), where its part has no
// lyrics of its own: a syllable to each note that is struck, as singers have it (common
// practice, no source). Figures are <figured-bass> then. All comes off again.
func TestNumeralsAreSung(t *testing.T) {
	whole := strings.Replace(note4("G3"), "<duration>1</duration><type>quarter</type>", "<duration>4</duration><type>whole</type>", 1)
	rest := `<note><rest/><duration>1</duration><type>quarter</type></note>`
	word := `<lyric><text>la</text></lyric></note>`
	played := strings.Replace(note4("C3"), "</note>", "<play/></note>", 1)
	for _, tt := range []struct {
		why, document string
		moments       []int64
		numerals      []string
		sung          []string
		alone         int // numerals that print themselves
	}{
		{"each note has its numeral, the first with the key", quarters(note4("C3"), note4("E3"), note4("B2"), note4("C3")), []int64{0, 1, 2, 3}, []string{"I", "I6", "V65", "I"}, []string{"C: I", "I6", "V65", "I"}, 0},
		{"a held note has all that sound over it", quarters(whole), []int64{0, 2}, []string{"V", "V7"}, []string{"C: V\u00a0\u00a0V7"}, 0},
		{"a rest has none: the numeral stands alone", quarters(note4("C3"), rest, note4("G2"), note4("C3")), []int64{0, 1, 2}, []string{"I", "ii", "V"}, []string{"C: I", "V"}, 1},
		{"a chord has one at its first note", quarters(note4("C3"), strings.Replace(note4("E3"), "<note>", "<note><chord/>", 1)), []int64{0}, []string{"I"}, []string{"C: I"}, 0},
		{"it stands before what is played otherwise (W3C MusicXML 4.0, note)", quarters(played), []int64{0}, []string{"I"}, []string{"C: I"}, 0},
		{"words that are sung are in the way, wherever they stand in the part", quarters(note4("C3"), strings.Replace(note4("E3"), "</note>", word, 1)), []int64{0, 1}, []string{"I", "I6"}, nil, 2},
	} {
		marked := sungUnder(t, tt.document, nil, tt.moments, tt.numerals...)
		var sung []string
		for _, m := range lyricTexts.FindAllStringSubmatch(marked, -1) {
			sung = append(sung, m[1])
		}
		if !slices.Equal(sung, tt.sung) {
			t.Errorf("%s: sung are %q, want %q", tt.why, sung, tt.sung)
		}
		silent := strings.Count(marked, `<harmony print-object="no"`)
		if all := strings.Count(marked, "<numeral>"); all != len(tt.numerals) || all-silent != tt.alone {
			t.Errorf("%s: %d numerals, %d of them silent, want %d that print themselves in %s", tt.why, all, silent, tt.alone, marked)
		}
		if strings.Contains(marked, "<lyric") && strings.Contains(marked, "<play/><lyric") {
			t.Errorf("%s: a lyric stands behind <play>", tt.why)
		}
		if got := string(cleaned(t, mustParse(t, []byte(marked)))); got != tt.document {
			t.Errorf("%s: clean is %s, want %s", tt.why, got, tt.document)
		}
		d := mustParse(t, []byte(marked))
		if own := strings.Count(tt.document, "<lyric"); len(d.Score.Chords) != 0 || len(d.Syllables(0)) != own {
			t.Errorf("%s: ours are read: chords %v, syllables %v", tt.why, d.Score.Chords, d.Syllables(0))
		}
	}
}

// What one program or another drops of a lyric, its name or its color, leaves it known; what is
// sung in another part stays, whatever it looks like.
func TestSungNumeralsAreKnownAgain(t *testing.T) {
	notes := `<measure number="1">` + fourQuarters + note4("C3") + note4("G2") + `</measure>`
	own := strings.Replace(notes, "</note>", `<lyric number="1" name="numerals"><text>I</text></lyric></note>`, 1)
	document := `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Soprano</part-name></score-part><score-part id="P2"><part-name>Bass</part-name></score-part></part-list><part id="P1">` +
		own + `</part><part id="P2">` + notes + `</part></score-partwise>`
	marked := sungUnder(t, document, nil, []int64{0, 1}, "I", "V")
	if n := len(lyricTexts.FindAllString(marked, -1)); n != 2 {
		t.Fatalf("%d numerals are sung, want 2 in %s", n, marked)
	}
	colors := regexp.MustCompile(` color="[^"]*"`)
	for name, lose := range map[string]func(string) string{
		"names":  func(s string) string { return strings.ReplaceAll(s, ` name="numerals" color`, " color") },
		"colors": func(s string) string { return colors.ReplaceAllString(s, "") },
		"names and colors": func(s string) string {
			return colors.ReplaceAllString(strings.ReplaceAll(s, ` name="numerals" color`, " color"), "")
		},
		"the record": func(s string) string {
			return regexp.MustCompile(`<identification>.*</identification>`).ReplaceAllString(s, "")
		},
	} {
		got := string(cleaned(t, mustParse(t, []byte(lose(marked)))))
		if n := strings.Count(got, "<lyric"); n != 1 || !strings.Contains(got, `<text>I</text></lyric>`) {
			t.Errorf("without %s clean has %d lyrics, want the author's in %s", name, n, got)
		}
	}
}

// A note may have a head of ours and a numeral: both come off.
func TestHeadAndNumeralInOneNote(t *testing.T) {
	document := quarters(note4("C3"), note4("E3"))
	items := []Mark{
		{Number: 1, Family: partwriting.Consecutives, Severity: partwriting.Fault, Notes: []theory.NoteID{0}, Sentence: "one"},
		{Number: 2, Family: partwriting.Line, Severity: partwriting.Caution, Notes: []theory.NoteID{0}, Sentence: "two"},
	}
	for _, layout := range []string{document, strings.ReplaceAll(document, "><", ">\n<")} {
		marked := sungUnder(t, layout, items, []int64{0, 1}, "I", "I6")
		if !strings.Contains(marked, "<notehead") || strings.Count(marked, "<lyric") != 2 {
			t.Fatalf("no head or no numeral in %s", marked)
		}
		if got := string(cleaned(t, mustParse(t, []byte(marked)))); got != layout {
			t.Errorf("clean is %s, want %s", got, layout)
		}
	}
}
