package musicxml

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"partwright/theory"
)

// Labels that a document gives (W3C MusicXML 4.0: harmony, figured-bass).
func TestGivenChords(t *testing.T) {
	g7 := "<root><root-step>G</root-step></root><kind text=\"7\">dominant</kind>"
	bFlat := theory.PitchClass{Step: theory.B, Alter: -1}
	cases := []struct {
		name, why, before, harmony string
		want                       theory.GivenChord
	}{
		{"seventh", "root and kind", "", g7, theory.GivenChord{Root: theory.PitchClass{Step: theory.G}, HasRoot: true, Kind: "dominant", Text: "7"}},
		{
			"inversion and bass", "a slash chord", "",
			"<root><root-step>B</root-step><root-alter>-1</root-alter></root><kind>major</kind><inversion>1</inversion><bass><bass-step>D</bass-step></bass>",
			theory.GivenChord{Root: bFlat, HasRoot: true, Kind: "major", Inversion: 1, Bass: theory.PitchClass{Step: theory.D}, HasBass: true},
		},
		{
			"degrees", "each degree is added, altered or subtracted", "",
			g7 + "<degree><degree-value>9</degree-value><degree-alter>-1</degree-alter><degree-type>add</degree-type></degree>" +
				"<degree><degree-value>5</degree-value><degree-alter>0</degree-alter><degree-type>subtract</degree-type></degree>",
			theory.GivenChord{Root: theory.PitchClass{Step: theory.G}, HasRoot: true, Kind: "dominant", Text: "7", Degrees: []theory.GivenDegree{{Value: 9, Alter: -1, Type: "add"}, {Value: 5, Type: "subtract"}}},
		},
		{
			"numeral", "numeral: degree and alteration in a key", "",
			"<numeral><numeral-root>6</numeral-root><numeral-alter>-1</numeral-alter><numeral-key><numeral-fifths>-3</numeral-fifths><numeral-mode>minor</numeral-mode></numeral-key></numeral><kind>major</kind>",
			theory.GivenChord{Numeral: "bVI", Degree: 6, DegreeAlter: -1, NumeralKey: theory.MinorKey(theory.PitchClass{Step: theory.C}), HasKey: true, Kind: "major"},
		},
		{"numeral as printed", "numeral-root's text is what stands on the page", "", `<numeral><numeral-root text="ii">2</numeral-root></numeral><kind>minor</kind>`, theory.GivenChord{Numeral: "ii", Degree: 2, Kind: "minor"}},
		{"function", "function is a text", "", "<function>D7</function><kind>none</kind>", theory.GivenChord{Numeral: "D7", Kind: "none"}},
		{"offset", "offset is counted from the cursor, in divisions", music("G4/2"), "<root><root-step>G</root-step></root><kind>major</kind><offset>-1</offset>", theory.GivenChord{Onset: theory.Frac(1, 2), Root: theory.PitchClass{Step: theory.G}, HasRoot: true, Kind: "major"}},
		{
			"transposing part", "a clarinet's A chord sounds as G",
			attributes("<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"), "<root><root-step>A</root-step></root><kind>major</kind>",
			theory.GivenChord{Root: theory.PitchClass{Step: theory.G}, HasRoot: true, Kind: "major"},
		},
		{
			"transposing staff", "the transposition of the first staff, where staves have their own",
			attributes(`<transpose number="1"><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>`), "<root><root-step>A</root-step></root><kind>major</kind>",
			theory.GivenChord{Root: theory.PitchClass{Step: theory.G}, HasRoot: true, Kind: "major"},
		},
		{
			"staff of its own", "a symbol over the second staff is for its player",
			attributes(`<staves>2</staves><transpose number="2"><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>`), "<root><root-step>A</root-step></root><kind>major</kind><staff>2</staff>",
			theory.GivenChord{Root: theory.PitchClass{Step: theory.G}, HasRoot: true, Kind: "major"},
		},
		{
			"harmonic minor", "its seventh degree is raised as it is", "",
			"<numeral><numeral-root>7</numeral-root><numeral-key><numeral-fifths>0</numeral-fifths><numeral-mode>harmonic minor</numeral-mode></numeral-key></numeral><kind>diminished</kind>",
			theory.GivenChord{Numeral: "VII", Degree: 7, DegreeAlter: 1, NumeralKey: theory.MinorKey(theory.PitchClass{Step: theory.A}), HasKey: true, Kind: "diminished"},
		},
		{"no root", "a chord symbol may be a word only", "", "<kind text=\"N.C.\">none</kind>", theory.GivenChord{Kind: "none", Text: "N.C."}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d := readText(t, alone(common(2)+c.before+"<harmony>"+c.harmony+"</harmony>"+music("A4/4")).partwise())
			if len(d.Score.Chords) != 1 {
				t.Fatalf("%d chords: %+v", len(d.Score.Chords), d.Score.Chords)
			}
			got := d.Score.Chords[0]
			got.ID = 0
			if diff := cmp.Diff(c.want, got, cmp.AllowUnexported(theory.Fraction{})); diff != "" {
				t.Errorf("%s (-want +got):\n%s", c.why, diff)
			}
		})
	}
}

// type="alternate" is another reading of what stands beside it.
func TestAlternateHarmonyIsNoLabel(t *testing.T) {
	chord := "<root><root-step>G</root-step></root><kind>major</kind>"
	d := readText(t, alone(common(1)+"<harmony>"+chord+`</harmony><harmony type="alternate">`+chord+"</harmony>"+music("G4/4")).partwise())
	if len(d.Score.Chords) != 1 {
		t.Errorf("%d labels, want 1", len(d.Score.Chords))
	}
}

// One harmony element may hold several chords.
func TestSeveralChordsInOneHarmony(t *testing.T) {
	d := readText(t, alone(common(1)+"<harmony><function>V</function><kind>dominant</kind><function>II</function><kind>minor</kind></harmony>"+music("G4/4")).partwise())
	if len(d.Score.Chords) != 2 || d.Score.Chords[0].Numeral != "V" || d.Score.Chords[1].Kind != "minor" {
		t.Errorf("%+v", d.Score.Chords)
	}
}

// Figures stand before their note; with durations they share it out.
func TestGivenFigures(t *testing.T) {
	figure := func(inside string) string { return "<figure>" + inside + "</figure>" }
	d := readText(t, alone(common(2)+music("G3/4")+
		"<figured-bass>"+figure("<prefix>sharp</prefix>")+figure("<figure-number>6</figure-number><suffix>back-slash</suffix>")+"<duration>2</duration></figured-bass>"+
		"<figured-bass>"+figure("<figure-number>5</figure-number>")+figure(`<figure-number>3</figure-number><extend type="continue"/>`)+"<duration>2</duration></figured-bass>"+
		music("D3/2")+"<figured-bass>"+figure("<figure-number>7</figure-number>")+"</figured-bass>"+music("D3/2")).partwise())
	want := []theory.GivenFigures{
		{Onset: theory.Whole(2), Duration: theory.Whole(1), Figures: []theory.Figure{{Prefix: "sharp"}, {Number: 6, Suffix: "back-slash"}}},
		{Onset: theory.Whole(3), Duration: theory.Whole(1), Figures: []theory.Figure{{Number: 5}, {Number: 3, Extends: true}}},
		{Onset: theory.Whole(3), Figures: []theory.Figure{{Number: 7}}},
	}
	for i := range d.Score.Figures {
		d.Score.Figures[i].ID = 0
	}
	if diff := cmp.Diff(want, d.Score.Figures, cmp.AllowUnexported(theory.Fraction{})); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}
