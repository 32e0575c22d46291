package musicxml

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/separation"
)

// sampleAnnotations are harmonies at the onsets of notes and between them, in keys
// that change, with every kind of numeral.
func sampleAnnotations(d *Document, seed int) Annotations {
	numerals := []string{"I", "V65/V", "viio7", "N6", "Ger65", "Cad64", "ii%65", "bVI", "V42", "It6", "IV", "iii+", "V7/ii"}
	s := d.Score
	a := Annotations{Layers: Numerals | Figures | Symbols}
	if seed > 0 {
		a.Layers = Layers(seed % 8)
	}
	for i := range s.Notes {
		n := &s.Notes[i]
		if n.Flags.Any(theory.Grace|theory.InChord) || i%3 != 0 || len(a.Harmonies) > 60 {
			continue
		}
		key := theory.Key{Tonic: theory.PitchClassAtFifths((i+seed)/7%12 - 5), Mode: theory.Mode((i / 5) % 2)}
		numeral, err := harmony.ParseNumeral(strings.ReplaceAll(numerals[(i+seed)%len(numerals)], "%", "ø"), key.Mode)
		if err != nil {
			panic(err)
		}
		onset := n.Onset
		if i%2 == 1 {
			onset = onset.Add(n.Duration.Div(theory.Whole(2)))
		}
		a.Harmonies = append(a.Harmonies, harmony.Harmony{Onset: onset, Reading: harmony.Reading{Key: key, Numeral: numeral}})
	}
	slices.SortStableFunc(a.Harmonies, func(x, y harmony.Harmony) int { return x.Onset.Cmp(y.Onset) })
	a.Harmonies = slices.CompactFunc(a.Harmonies, func(x, y harmony.Harmony) bool { return x.Onset == y.Onset })
	last := len(s.Parts) - 1
	for i := range a.Harmonies {
		h := &a.Harmonies[i]
		if i%4 == 2 {
			a.Delays = append(a.Delays, harmony.Delay{
				Harmony: i, From: h.Onset, Until: h.Onset.Add(theory.Frac(1, 2)), Class: h.Root(), Number: 4, Resolved: 3,
			})
		}
	}
	a.Top, a.Bass = Staff{0, 1}, Staff{last, max(s.Parts[last].Staves, 1)}
	a.Lowest = partLine(s, last)
	return a
}

// partLine is a line of the notes of a part, with rests between them; of chords it has what
// stands last.
func partLine(s *theory.Score, part int) (line []theory.VoiceNote) {
	for i := range s.Notes {
		n := &s.Notes[i]
		if int(n.Part) != part || !n.Sounds() || n.Flags.Any(theory.Grace) {
			continue
		}
		note := theory.VoiceNote{Onset: n.Onset, Duration: n.Duration, IDs: []theory.NoteID{theory.NoteID(i)}}
		last := len(line) - 1
		if last >= 0 && line[last].Onset == n.Onset {
			line[last] = note
		} else if last < 0 || !n.Onset.Less(line[last].End()) {
			line = append(line, note)
		}
	}
	return line
}

// annotated marks a document with one harmony after the other, numerals in
// RomanText with their keys, a quarter apart from the start.
func annotated(t *testing.T, document string, layers Layers, staves int, labels ...string) string {
	t.Helper()
	d := mustParse(t, []byte(document))
	a := Annotations{Layers: layers, Top: Staff{0, 1}, Bass: Staff{len(d.Score.Parts) - 1, staves}}
	for i, text := range labels {
		if text == "" {
			continue
		}
		name, numeral, _ := strings.Cut(text, ": ")
		key, err := theory.ParseKey(name)
		if err != nil {
			t.Fatal(err)
		}
		n, err := harmony.ParseNumeral(numeral, key.Mode)
		if err != nil {
			t.Fatal(err)
		}
		a.Harmonies = append(a.Harmonies, harmony.Harmony{Onset: theory.Whole(int64(i)), Reading: harmony.Reading{Key: key, Numeral: n}})
	}
	marked, err := d.Mark(Marks{Heading: "Nothing was found.", Annotations: a})
	if err != nil {
		t.Fatal(err)
	}
	return string(marked)
}

// asLabels takes off by what annotations are known, so that they are read as
// anybody's.
func asLabels(t *testing.T, marked string) *Document {
	t.Helper()
	marked = regexp.MustCompile(` annotations:\d+`).ReplaceAllString(marked, "")
	return mustParse(t, []byte(strings.ReplaceAll(marked, ` color="`+labelColor+`"`, "")))
}

func quarters(notes ...string) string {
	return string(partwise("", `<measure number="1">`+fourQuarters+strings.Join(notes, "")+`</measure>`))
}

// The elements are those of W3C MusicXML 4.0 (harmony, numeral, kind, inversion,
// figured-bass) and are told apart by kind and place.
func TestAnnotationElements(t *testing.T) {
	document := quarters(note4("C3"), note4("D3"), note4("F3"), note4("G3"))
	for _, tt := range []struct {
		why    string
		layers Layers
		label  string
		want   string
	}{
		{"a chord symbol has root, kind and bass", Symbols, "G: V65", `<harmony color="#16202B" placement="above"><root><root-step>D</root-step></root><kind text="7">dominant</kind><inversion>1</inversion><bass><bass-step>F</bass-step><bass-alter>1</bass-alter></bass></harmony>`},
		{"a numeral has degree, key, kind and inversion", Numerals, "G: V65", `<numeral><numeral-root text="G: V">5</numeral-root><numeral-key print-object="no"><numeral-fifths>1</numeral-fifths><numeral-mode>major</numeral-mode></numeral-key></numeral><kind text="65">dominant</kind><inversion>1</inversion></harmony>`},
		{"applied chords are stacked", Numerals, "C: V7/ii", `<kind text="7/ii">dominant</kind><numeral><numeral-root text="">2</numeral-root><numeral-key print-object="no"><numeral-fifths>0</numeral-fifths><numeral-mode>major</numeral-mode></numeral-key></numeral><kind text="">minor</kind></harmony>`},
		{"a raised degree of minor is one of the scale and gets no accidental", Numerals, "c: viio7", `<numeral-root text="c: vii">7</numeral-root><numeral-key print-object="no"><numeral-fifths>-3</numeral-fifths><numeral-mode>harmonic minor</numeral-mode>`},
		{"an accidental is printed once", Numerals, "C: bVI", `<numeral-root text="C: ">6</numeral-root><numeral-alter>-1</numeral-alter>`},
		{"figures stand from the top", Figures, "C: V43", `<figured-bass color="#16202B"><figure><figure-number>4</figure-number></figure><figure><figure-number>3</figure-number></figure></figured-bass>`},
		{"an accidental alone is the third's", Figures, "a: V", `<figured-bass color="#16202B"><figure><prefix>sharp</prefix></figure></figured-bass>`},
		{"a triad in root position needs none", Figures, "C: I", ""},
	} {
		got := annotated(t, document, tt.layers, 1, tt.label)
		if tt.want == "" {
			if strings.Contains(got, labelColor) {
				t.Errorf("%s: %s", tt.why, got)
			}
			continue
		}
		if !strings.Contains(got, tt.want) {
			t.Errorf("%s: no %s in %s", tt.why, tt.want, got)
		}
	}
}

// Whatever numeral, in whatever key: written as MusicXML and read as somebody's
// label it says the same.
func TestAnnotationsReadBack(t *testing.T) {
	numerals := map[theory.Mode][]string{
		theory.MajorMode: {"I", "ii6", "V65/V", "viio7/vi", "viiø65", "N6", "Ger65", "It6", "Fr43", "Cad64", "bVI", "iv", "V42/IV", "iii64", "I+", "ii42", "V/bIII"},
		theory.MinorMode: {"i", "iiø65", "V43", "viio65", "VI", "VII6", "III+", "N6", "Ger65", "It6", "Fr43", "Cad64", "V7/iv", "viio7/V", "I", "vio", "III+maj7", "imaj7"},
	}
	for _, version := range []string{"4.0", "3.1"} {
		for fifths := -6; fifths <= 6; fifths++ {
			for mode, texts := range numerals {
				key := theory.Key{Tonic: theory.PitchClassAtFifths(fifths), Mode: mode}
				for _, text := range texts {
					n, err := harmony.ParseNumeral(text, mode)
					if err != nil {
						t.Fatal(err)
					}
					want := harmony.Reading{Key: key, Numeral: n}
					document := strings.Replace(quarters(note4("C3"), note4("C3"), note4("C3"), note4("C3")), `version="4.0"`, `version="`+version+`"`, 1)
					d := asLabels(t, annotated(t, document, Numerals, 1, key.Abbreviation()+": "+text))
					labels := harmony.ScoreAnnotations(separation.FindVoices(d.Score))
					if len(labels) != 1 || labels[0].Numeral == nil || (harmony.Reading{Key: *labels[0].Key, Numeral: *labels[0].Numeral}) != want {
						t.Errorf("%s in version %s reads back as %v", want, version, labels)
					}
				}
			}
		}
	}
}

// Chord symbols and figures of a transposing part are written for its player and
// read back as they sound.
func TestAnnotationsInTransposingParts(t *testing.T) {
	document := quarters(`<attributes><divisions>1</divisions><key><fifths>2</fifths></key><transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose></attributes>`, note4("D3"), note4("E3"))
	marked := annotated(t, document, Figures|Symbols, 1, "C: I6", "a: V7") + annotated(t, document, Numerals, 1, "C: I6", "a: V7")
	for _, want := range []string{
		"<root-step>D</root-step>", "<bass-step>F</bass-step><bass-alter>1</bass-alter>",
		"<numeral-fifths>2</numeral-fifths>", "<prefix>sharp</prefix>",
	} {
		if !strings.Contains(marked, want) {
			t.Errorf("written a tone higher there would be %s in %s", want, marked)
		}
	}
	d := asLabels(t, annotated(t, document, Symbols, 1, "C: I6", "a: V7"))
	if c := d.Score.Chords[0]; c.Root != (theory.PitchClass{Step: theory.C}) || c.Bass != (theory.PitchClass{Step: theory.E}) {
		t.Errorf("the symbol reads as %v over %v, want C over E", c.Root, c.Bass)
	}
}

// A harmony that begins under a held note has an offset, and its figures the
// durations that lead there.
func TestAnnotationsUnderHeldNotes(t *testing.T) {
	whole := strings.Replace(note4("C3"), "<duration>1</duration><type>quarter</type>", "<duration>4</duration><type>whole</type>", 1)
	marked := annotated(t, quarters(whole), Numerals, 1, "C: I", "C: IV64", "", "C: I")
	if !strings.Contains(marked, "<offset>1</offset>") || !strings.Contains(marked, "<offset>3</offset>") {
		t.Errorf("no offsets in %s", marked)
	}
	if n := asLabels(t, marked).Score.Chords; len(n) != 3 || n[1].Onset != theory.Whole(1) {
		t.Errorf("numerals %+v", n)
	}
	d := asLabels(t, annotated(t, quarters(whole), Figures, 1, "C: I", "C: IV64", "", "C: I"))
	var got []string
	for _, f := range d.Score.Figures {
		got = append(got, fmt.Sprint(f.Onset, f.Figures))
	}
	want := "[0 [{0   false}] 1 [{6   false} {4   false}] 3 [{5   false}]]"
	if fmt.Sprint(got) != want {
		t.Errorf("figures %v, want %s", got, want)
	}
}

// Beside numerals figures are texts without a place of their own, since engravers set
// <harmony> and <figured-bass> in one row (seen in Verovio 6.3, whatever placement and
// relative-y say). They come off with the marks, also where a program has dropped the colors;
// what the author has written alike stays.
func TestFiguresBesideNumeralsAreTexts(t *testing.T) {
	const own = `<direction placement="below"><direction-type><words>6</words></direction-type></direction>`
	document := quarters(own, note4("C3"), note4("E3"), own, note4("B2"), note4("C3"))
	for _, tt := range []struct {
		layers       Layers
		texts, stack int
	}{{Figures, 0, 2}, {Numerals | Figures, 2, 0}, {Numerals, 0, 0}} {
		marked := annotated(t, document, tt.layers, 1, "C: I", "C: I6", "C: V65", "C: I")
		words := regexp.MustCompile(`<direction placement="below"><direction-type><words font-style="normal" font-size="9" font-weight="normal" color="`+labelColor+`">(6|6&#xA;5)</words>`).FindAllString(marked, -1)
		if len(words) != tt.texts || strings.Count(marked, "<figured-bass") != tt.stack {
			t.Errorf("layers %d: %d texts and %d <figured-bass>, want %d and %d in %s", tt.layers, len(words), strings.Count(marked, "<figured-bass"), tt.texts, tt.stack, marked)
		}
		if got := string(cleaned(t, mustParse(t, []byte(marked)))); got != document {
			t.Errorf("layers %d: clean is %s, want %s", tt.layers, got, document)
		}
		faded := regexp.MustCompile(` color="[^"]*"`).ReplaceAllString(marked, "")
		if got := string(cleaned(t, mustParse(t, []byte(faded)))); strings.Count(got, "<words>6</words>") != 2 || strings.Count(got, "<words") != 3 { // the author's and the heading
			t.Errorf("layers %d: without colors clean is %s", tt.layers, got)
		}
	}
}

// A short line of the key is filled up with spaces to about the longest, so that none slips
// into a gap above the others; a longer text is not.
func TestKeyLinesAreAboutEquallyWide(t *testing.T) {
	lines := []keyLine{{"[*] Heading\n[n] fault", ""}, {"[1=] " + strings.Repeat("x", 55), ""}, {"n= short", ""}, {"two\nlines", ""}}
	widen(lines)
	for i, want := range []string{"[*] Heading\n[n] fault", "[1=] " + strings.Repeat("x", 55), "n= short" + strings.Repeat("\u00a0", 88), "two\nlines"} {
		if lines[i].text != want {
			t.Errorf("line %d is %q, want %q", i, lines[i].text, want)
		}
	}
}

// A suspension is written as it sounds: 4, then 3 under the same note (Open Music
// Theory v1, "Thoroughbass figures").
func TestSuspensionsAmongTheFigures(t *testing.T) {
	half := strings.Replace(note4("G3"), "<duration>1</duration><type>quarter</type>", "<duration>2</duration><type>half</type>", 1)
	d := mustParse(t, []byte(quarters(half, half)))
	one := theory.Whole(1)
	dominant := harmony.Reading{Key: theory.MajorKey(theory.PitchClass{}), Numeral: harmony.Numeral{Degree: 5}}
	marked, err := d.Mark(Marks{Heading: "x", Annotations: Annotations{
		Layers: Figures, Harmonies: []harmony.Harmony{{End: theory.Whole(2), Reading: dominant}}, Top: Staff{0, 1}, Bass: Staff{0, 1},
		Delays: []harmony.Delay{{Until: one, Class: theory.PitchClass{}, Number: 4, Resolved: 3}},
	}})
	if err != nil {
		t.Fatal(err)
	}
	figures := asLabels(t, string(marked)).Score.Figures
	if len(figures) != 2 || figures[0].Figures[0].Number != 4 || figures[0].Duration != one || figures[1].Figures[0].Number != 3 || figures[1].Onset != one {
		t.Errorf("figures %+v, want 4 for a quarter, then 3", figures)
	}
}

// The author's own labels stay, and nothing of the same kind is put beside them.
func TestAnnotationsLeaveTheAuthorsLabels(t *testing.T) {
	symbol := "<harmony><root><root-step>A</root-step></root><kind>minor</kind></harmony>"
	numeral := "<harmony><numeral><numeral-root>6</numeral-root></numeral><kind>minor</kind></harmony>"
	figures := "<figured-bass><figure><figure-number>6</figure-number></figure></figured-bass>"
	document := quarters(symbol, numeral, figures, note4("C3"), note4("D3"), note4("F3"), note4("G3"))
	labels := []string{"C: V65", "C: V42"}
	marked := annotated(t, document, Numerals|Figures|Symbols, 1, labels...)
	for _, own := range []string{symbol, numeral, figures} {
		if !strings.Contains(marked, own) {
			t.Errorf("%s is gone", own)
		}
	}
	if n := strings.Count(marked, labelColor); n != 3 {
		t.Errorf("%d annotations, want the three of the second harmony", n)
	}
	if again := annotated(t, marked, Numerals|Figures|Symbols, 1, labels...); again != marked {
		t.Error("marking twice differs")
	}
	// Ours are nobody's reading.
	d := mustParse(t, []byte(marked))
	if len(d.Score.Chords) != 2 || len(d.Score.Figures) != 1 {
		t.Errorf("read are %d labels and %d figures, want the author's 2 and 1", len(d.Score.Chords), len(d.Score.Figures))
	}
}

// Labels that somebody adds to a marked score stay when the marks come off, also
// where a program has dropped the colors: then nothing tells them from ours.
func TestCleanLeavesAddedLabelsAlone(t *testing.T) {
	document := quarters(note4("C3"), note4("D3"), note4("F3"), note4("G3"))
	marked := annotated(t, document, Numerals|Symbols, 1, "C: I", "C: V42")
	added := `<harmony><root><root-step>A</root-step></root><kind>minor</kind></harmony>`
	at := strings.LastIndex(marked, "<note")
	marked = marked[:at] + added + marked[at:]
	for _, colors := range []bool{true, false} {
		if !colors {
			marked = strings.ReplaceAll(marked, ` color="`+labelColor+`"`, "")
		}
		cleaned, err := mustParse(t, []byte(marked)).Clean()
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(cleaned), added) {
			t.Errorf("colors %t: the added label is gone", colors)
		}
		if got := strings.Replace(string(cleaned), added, "", 1); colors && got != document {
			t.Errorf("differs at %s", firstDifference([]byte(got), []byte(document)))
		}
	}
}

// What looks like an annotation and was there before comes back, and is read.
func TestAuthorsLabelsInTheColorOfAnnotations(t *testing.T) {
	own := `<harmony color="` + labelColor + `"><root><root-step>A</root-step></root><kind>minor</kind></harmony>`
	document := quarters(note4("C3"), own, note4("D3"), own, note4("F3"), note4("G3"))
	marked := checkLaws(t, "author's color", []byte(document))
	if d := mustParse(t, marked); len(d.Score.Chords) != 2 {
		t.Errorf("%d of the author's labels are read in the marked score, want 2", len(d.Score.Chords))
	}
}

// MusicXML 1.0 has no color to know annotations by (W3C, MusicXML 4.0, version
// history of 1.1): they come with an upgrade only, as numerals of 4.0.
func TestAnnotationsInOldVersions(t *testing.T) {
	old := documentNamed(t, "version 1.0")
	for _, upgrade := range []bool{false, true} {
		d := mustParse(t, old)
		m := Marks{Heading: "x", Annotations: sampleAnnotations(d, 0), Upgrade: upgrade}
		marked, err := d.Mark(m)
		if err != nil {
			t.Fatal(err)
		}
		if got := bytes.Contains(marked, []byte("<numeral>")); got != upgrade || bytes.Contains(marked, []byte("<function>")) {
			t.Errorf("upgraded %t: numerals %t", upgrade, got)
		}
		if err := xml.Unmarshal(marked, new(struct{})); err != nil {
			t.Error(err)
		}
	}
}
