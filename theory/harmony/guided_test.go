package harmony

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/theorytest"
)

func pc(name string) theory.PitchClass {
	c, err := theory.ParsePitchClass(name)
	if err != nil {
		panic(err)
	}
	return c
}

// symbolAt is a chord symbol as a document writes it.
func symbolAt(onset int64, root, kind, bass string) theory.GivenChord {
	g := theory.GivenChord{Onset: theory.Whole(onset), Root: pc(root), HasRoot: true, Kind: kind}
	if bass != "" {
		g.Bass, g.HasBass = pc(bass), true
	}
	return g
}

func figuresAt(onset theory.Fraction, part int, figures ...theory.Figure) theory.GivenFigures {
	return theory.GivenFigures{Onset: onset, Part: part, Figures: figures}
}

func described(labels []Annotation) string {
	words := make([]string, 0, len(labels))
	for i := range labels {
		words = append(words, fmt.Sprintf("%v-%v %s", labels[i].Onset, labels[i].End, labels[i].String()))
	}
	return strings.Join(words, ", ")
}

// Kinds are the kind-value list of W3C MusicXML 4.0.
func TestChordSymbolsAsLabels(t *testing.T) {
	for _, c := range []struct {
		why    string
		chords []theory.GivenChord
		want   string
	}{
		{"each holds until the next", []theory.GivenChord{symbolAt(0, "C", "major", ""), symbolAt(2, "G", "dominant", "B")}, "0-2 C, 2-4 G7/B"},
		{"no chord ends the one before", []theory.GivenChord{symbolAt(0, "C", "major", ""), {Onset: theory.Whole(1), Kind: "none"}, symbolAt(3, "F", "minor", "")}, "0-1 C, 3-4 Fm"},
		{"a ninth is its seventh", []theory.GivenChord{symbolAt(0, "D", "dominant-ninth", "")}, "0-4 D7"},
		{"a kind that is no stack of thirds names none", []theory.GivenChord{symbolAt(0, "C", "suspended-fourth", "")}, ""},
		{
			"the part with the most labels speaks for all", []theory.GivenChord{
				{Onset: theory.Fraction{}, Part: 1, Root: pc("C"), HasRoot: true, Kind: "major"}, symbolAt(0, "A", "minor", ""),
				{Onset: theory.Whole(2), Part: 1, Root: pc("F"), HasRoot: true, Kind: "major"},
			}, "0-2 C, 2-4 F",
		},
	} {
		texture := theorytest.Chords("C3 G3 E4 C5 | C3 G3 E4 C5 | C3 G3 E4 C5 | C3 G3 E4 C5")
		texture.Score.Chords = c.chords
		if got := described(ScoreAnnotations(texture)); got != c.want {
			t.Errorf("%s: %q, want %q", c.why, got, c.want)
		}
	}
}

// Figures as Open Music Theory v1 ("Thoroughbass figures") explains them, over a
// bass of our own in a C major signature.
func TestFiguredBassAsLabels(t *testing.T) {
	n := func(number int) theory.Figure { return theory.Figure{Number: number} }
	half := theory.Frac(1, 2)
	for _, c := range []struct {
		why     string
		figures func(part int) []theory.GivenFigures
		want    string
	}{
		{"each as long as its note", func(p int) []theory.GivenFigures {
			return []theory.GivenFigures{figuresAt(theory.Whole(0), p, n(6)), figuresAt(theory.Whole(2), p, n(6), n(5))}
		}, "0-1 6 (Am/C), 2-3 6 5 (C7/E)"},
		{"4 to 3 is one chord", func(p int) []theory.GivenFigures {
			return []theory.GivenFigures{figuresAt(theory.Whole(1), p, n(4)), figuresAt(theory.Whole(1).Add(half), p, n(3))}
		}, "1-2 3 (G)"},
		{"7 to 6 is one chord", func(p int) []theory.GivenFigures {
			return []theory.GivenFigures{figuresAt(theory.Whole(2), p, n(7)), figuresAt(theory.Whole(2).Add(half), p, n(6))}
		}, "2-3 6 (C/E)"},
		{"an accidental alone is the third's", func(p int) []theory.GivenFigures {
			return []theory.GivenFigures{figuresAt(theory.Whole(2), p, theory.Figure{Prefix: "sharp"})}
		}, "2-3 # (E)"},
		{"a flat that sounds need not be written", func(p int) []theory.GivenFigures {
			return []theory.GivenFigures{figuresAt(theory.Whole(1), p, n(6), n(5))}
		}, "1-2 6 5 (Em7b5/G)"},
		{"one that is written is meant", func(p int) []theory.GivenFigures {
			return []theory.GivenFigures{figuresAt(theory.Whole(1), p, n(6), n(5), theory.Figure{Prefix: "natural"})}
		}, "1-2 6 5 n (Em7/G)"},
		{"6 to 5 under a raised third is one chord", func(p int) []theory.GivenFigures {
			return []theory.GivenFigures{
				figuresAt(theory.Whole(2), p, n(6), theory.Figure{Prefix: "sharp"}),
				figuresAt(theory.Whole(2).Add(half), p, n(5), theory.Figure{Prefix: "sharp"}),
			}
		}, "2-3 5 # (E)"},
		{"a line goes on", func(p int) []theory.GivenFigures {
			return []theory.GivenFigures{figuresAt(theory.Whole(0), p, n(6)), figuresAt(theory.Whole(1), p, theory.Figure{Extends: true})}
		}, "0-2 6 (Am/C)"},
	} {
		music := "C3 A3 E4 C5 | G2 G3 D4 B4 | E3 G3 C4 C5 | C3 G3 E4 C5"
		if strings.Contains(c.why, "written") {
			music = "C3 A3 E4 C5 | G2 Bb3 E4 D5 | E3 G3 C4 C5 | C3 G3 E4 C5"
		}
		texture := theorytest.Chords(music)
		bass := texture.Voices[3].Part
		texture.Score.Figures = c.figures(bass)
		if c.why == "each as long as its note" {
			texture.Score.Measures[0].Key.Fifths = -1 // B flat above E
		}
		if got := described(ScoreAnnotations(texture)); got != c.want {
			t.Errorf("%s: %q, want %q", c.why, got, c.want)
		}
	}
}

// Numerals with and without a key; W3C MusicXML 4.0, numeral and function.
func TestNumeralsAsLabels(t *testing.T) {
	music := "G2 D3 B3 G4 | C3 E3 C4 G4 | D3 D3 A3 F#4 | G2 D3 B3 G4"
	function := func(onset int64, text string) theory.GivenChord {
		return theory.GivenChord{Onset: theory.Whole(onset), ID: int32(onset + 1), Numeral: text, Kind: "none"}
	}
	key := theory.MajorKey(pc("G"))
	for _, c := range []struct {
		why    string
		chords []theory.GivenChord
		want   string
	}{
		{"a function names its key once", []theory.GivenChord{function(0, "G: I"), function(2, "V")}, "0-2 G: I (G), 2-4 G: V (D)"},
		{"without a key the one where the roots sound", []theory.GivenChord{function(0, "I"), function(1, "IV"), function(2, "V"), function(3, "I")}, "0-1 G: I (G), 1-2 G: IV (C), 2-3 G: V (D), 3-4 G: I (G)"},
		{"a numeral in its own key", []theory.GivenChord{{Degree: 5, Numeral: "V", Kind: "dominant", Inversion: 1, HasKey: true, NumeralKey: key}}, "0-4 G: V65 (D7/F#)"},
		{"stacked: applied", []theory.GivenChord{
			{ID: 3, Degree: 5, Numeral: "V", Kind: "dominant", HasKey: true, NumeralKey: key}, {ID: 3, Degree: 5, Numeral: "V", Kind: "major"},
		}, "0-4 G: V7/V (A7)"},
		{"what is no numeral ends the one before", []theory.GivenChord{function(0, "G: I"), function(2, "Dp")}, "0-2 G: I (G)"},
	} {
		texture := theorytest.Chords(music)
		texture.Score.Chords = c.chords
		if got := described(ScoreAnnotations(texture)); got != c.want {
			t.Errorf("%s: %q, want %q", c.why, got, c.want)
		}
	}
}

// More telling labels come first; others fill what they leave open.
func TestLabelsOfSeveralKinds(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | F3 A3 F4 C5 | G3 G3 D4 B4 | C3 G3 E4 C5")
	texture.Score.Chords = []theory.GivenChord{
		{ID: 1, Numeral: "C: I", Kind: "none", Onset: theory.Whole(1)}, {ID: 2, Numeral: "?", Onset: theory.Whole(2)},
		symbolAt(0, "A", "minor", ""), symbolAt(3, "C", "major", ""),
	}
	if got, want := described(ScoreAnnotations(texture)), "0-1 Am, 1-2 C: I (C), 2-3 Am, 3-4 C"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// A6 over C is an A minor seventh or a C chord with an added sixth: who labels it
// decides.
func TestLabelsSteer(t *testing.T) {
	music := "C3 G3 E4 C5 | C3 G3 E4 A4 | F3 A3 F4 A4 | G3 B3 D4 G4 | C3 C4 E4 G4"
	for _, c := range []struct{ kind, root, want string }{
		{"minor-seventh", "A", "Am7/C"},
		{"major", "C", "C"},
	} {
		texture := theorytest.Chords(music)
		texture.Score.Chords = []theory.GivenChord{symbolAt(1, c.root, c.kind, ""), {Onset: theory.Whole(2), Kind: "none"}}
		a := GuidedAs(texture, ScoreAnnotations(texture), Steer, ByTexture)
		if got := a.At(1).Symbol(); got != c.want {
			t.Errorf("labeled %s: read %s, want %s", c.kind, got, c.want)
		}
	}
}

// A label that the notes speak plainly against does not bend the analysis, and
// is told; one that replaces it stands, and is told as well.
func TestContestedLabels(t *testing.T) {
	music := "C3 G3 E4 C5 | F3 A3 F4 C5 | G2 B3 D4 G4 | C3 C4 E4 G4"
	for use, want := range map[LabelUse]string{Steer: "C F G C", Replace: "C F Ebm C", Ignore: "C F G C"} {
		texture := theorytest.Chords(music)
		texture.Score.Chords = []theory.GivenChord{
			symbolAt(0, "C", "major", ""), symbolAt(1, "F", "major", ""), symbolAt(2, "Eb", "minor", ""), symbolAt(3, "C", "major", ""),
		}
		a := GuidedAs(texture, ScoreAnnotations(texture), use, ByTexture)
		var symbols []string
		for _, h := range a.Harmonies {
			symbols = append(symbols, strings.Split(h.Symbol(), "/")[0])
		}
		if got := strings.Join(symbols, " "); got != want {
			t.Errorf("%s: %s, want %s", use, got, want)
		}
		if use == Ignore {
			if len(a.Contested)+len(a.Given) > 0 {
				t.Error("ignored labels are kept")
			}
			continue
		}
		if len(a.Contested) != 1 || a.Contested[0].Moment != 2 || a.Contested[0].Heard.Symbol() != "G" || a.Contested[0].RootSounds {
			t.Errorf("%s: contested are %+v", use, a.Contested)
		}
	}
}

// A label that is given up says nothing of the bass of other chords.
func TestGivenUpLabelLeavesTheBassAlone(t *testing.T) {
	texture := theorytest.Chords("G2 D3 B3 G4 | C3 E3 C4 G4 | D3 D3 A3 F#4 | G2 D3 B3 G4")
	key := theory.MajorKey(pc("G"))
	labels := []Annotation{{Onset: theory.Whole(1), End: theory.Whole(2), Chord: Chord{pc("D"), MajorTriad, 1}, Key: &key}}
	if got, want := numerals(GuidedAs(texture, labels, Steer, ByTexture)), "G: I IV V I"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// Labels that agree change nothing, whatever they are used for.
func TestAgreeingLabels(t *testing.T) {
	texture := theorytest.Chords("G2 D3 B3 G4 | C3 E3 C4 G4 | D3 D3 A3 F#4 | G2 D3 B3 G4 / C3 E3 C4 G4 | D3 D3 A3 F#4 | G2 D3 B3 G4")
	alone := Analyze(texture)
	var labels []Annotation
	for _, h := range alone.Harmonies {
		key, numeral := h.Key, h.Numeral
		labels = append(labels, Annotation{Onset: h.Onset, End: h.End, Chord: Chord{h.Root(), h.Quality(), h.Inversion()}, Key: &key, Numeral: &numeral})
	}
	for _, use := range []LabelUse{Steer, Replace} {
		a := GuidedAs(texture, labels, use, ByTexture)
		if got, want := numerals(a), numerals(alone); got != want || len(a.Contested) > 0 {
			t.Errorf("%s: %s, want %s; contested %v", use, got, want, a.Contested)
		}
		if fmt.Sprint(a.Cadences) != fmt.Sprint(alone.Cadences) {
			t.Errorf("%s: cadences %v, want %v", use, a.Cadences, alone.Cadences)
		}
	}
}

// A label of one beat in a piece leaves the rest to the analysis.
func TestReplacedInPart(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | F3 A3 F4 C5 | G2 B3 D4 G4 | C3 C4 E4 G4")
	labels := []Annotation{{Onset: theory.Whole(1), End: theory.Whole(2), Chord: Chord{Root: pc("A"), Quality: MinorTriad, Inversion: 0}}}
	a := GuidedAs(texture, labels, Replace, ByTexture)
	if got, want := numerals(a), "C: I vi V I"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if given := a.Harmonies[1].Confidence; given != 1 || a.Harmonies[0].Confidence == 1 {
		t.Error("only what was given is certain")
	}
}

// A label whose chord has no member in the bass, or that is no chord of the piece at
// all, does not leave the piece without a reading.
func TestLabelsThatCannotBe(t *testing.T) {
	music := "G2 D3 B3 G4 | A2 D4 B3 G4 | D3 D3 A3 F#4 | G2 D3 B3 G4"
	for _, c := range []struct {
		label      Chord
		want, what string
	}{
		{Chord{pc("G"), MajorTriad, 0}, "G", "over a foreign bass"},
		{Chord{pc("Db"), GermanSixth, 1}, "", "foreign altogether"},
		{Chord{pc("C#"), DiminishedSeventh, 0}, "", "with members that the piece lacks"},
	} {
		texture := theorytest.Chords(music)
		a := GuidedAs(texture, []Annotation{{Onset: theory.Whole(1), End: theory.Whole(2), Chord: c.label}}, Steer, ByTexture)
		if len(a.Harmonies) < 3 || a.At(0) == nil || a.At(1) == nil || a.At(3) == nil {
			t.Fatalf("%s: the reading is %q", c.what, numerals(a))
		}
		if got := a.At(1).Symbol(); c.want != "" && got != c.want {
			t.Errorf("%s: %s, want %s", c.what, got, c.want)
		}
	}
}

// A chord that is labeled twice is one harmony within a phrase, two across its end.
func TestRepeatedLabels(t *testing.T) {
	r, err := ReadRomanText("m1 C: I b2 V b3 V b4 I\nm2 I b2 V b3 V b4 I")
	if err != nil {
		t.Fatal(err)
	}
	texture := theorytest.Chords("C3 G3 E4 C5 | G2 G3 D4 B4 | G2 B3 D4 G4 | C3 G3 E4 C5 || C3 G3 E4 C5 | G2 G3 D4 B4 | G2 B3 D4 G4 | C3 G3 E4 C5")
	if got, want := numerals(GuidedAs(texture, r.Annotations(texture), Replace, ByTexture)), "C: I V I I V I"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// A label may begin where no beat does.
func TestLabelOffTheGrid(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | F3 A3 F4 C5 | G2 B3 D4 G4 | C3 C4 E4 G4")
	labels := []Annotation{
		{Onset: theory.Frac(-1, 3), End: theory.Frac(1, 7), Chord: Chord{Root: pc("C")}},
		{Onset: theory.Frac(4, 3), End: theory.Frac(5, 3), Chord: Chord{Root: pc("D"), Quality: MinorTriad}},
		{Onset: theory.Whole(99), End: theory.Whole(100), Chord: Chord{Root: pc("C")}},
	}
	for _, use := range []LabelUse{Steer, Replace} {
		a := GuidedAs(texture, labels, use, ByTexture)
		if !slices.IsSortedFunc(a.Harmonies, func(x, y Harmony) int { return x.Onset.Cmp(y.Onset) }) {
			t.Errorf("%s: out of order: %s", use, numerals(a))
		}
	}
}
