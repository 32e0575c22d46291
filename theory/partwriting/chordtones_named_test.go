package partwriting_test

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/theorytest"
)

// Notes against the labels that stand under them, a quarter to a sonority. The
// cases are our own; what counts as wrong follows the course hand-outs that the
// rules name.
func TestNotesAgainstLabels(t *testing.T) {
	for _, test := range []struct{ music, want, why string }{
		{"C: I C3 G3 E4 C5 | V G3 G3 D4 B4 | I C3 G3 E4 C5", "", "notes and labels agree"},
		{"C: I C3 G3 E4 C5 | V G3 A3 E4 C5 | I C3 G3 E4 G4", "note-outside-chord S 1 fault, note-outside-chord A 1 caution, note-outside-chord T 1 caution", "three notes of another chord; the alto is repeated, the tenor a neighbor"},
		{"a: i A2 E4 A4 C5 | V E3 E4 G4 B4 | i A2 E4 A4 C5", "inflection-not-as-named A 1 fault", "the leading tone is not raised, though the line goes by step"},
		{"a: i A2 E4 A4 C5 | v E3 E4 G4 B4 | i A2 E4 A4 C5", "", "the label says so"},
		{"a: i A2 E4 A4 C5 | V E3 E4 Ab4 B4 | i A2 E4 A4 C5", "member-misspelled A 1 fault", "G sharp under another letter"},
		{"C: I C3 G3 E4 C5 | V6 G3 G3 D4 B4 | I C3 G3 E4 C5", "inversion-not-as-named B 1 fault", "root position under a figure of the sixth"},
		{"C: I C3 G3 E4 C5 | V G3 B2 D4 B4 | I C3 G3 E4 C5", "", "the bass has the root, though the tenor lies below it"},
		{"C: I C3 G3 E4 C5 | V6 G3 B2 D4 G4 | I C3 G3 E4 C5", "", "the tenor has crossed below and makes the inversion"},
		{"C: I C3 E4 G4 C5 | V G3 D4 G4 C5 | - G3 D4 G4 B4 | I C3 E4 G4 C5", "", "a suspension"},
		{"C: I C3 E4 G4 C5 | V G3 D4 G4 C5 | - G3 D4 G4 A4 | - G3 D4 G4 B4", "", "the suspension resolves after an ornament"},
		{"C: I C3 E4 G4 C5 | V G3 D4 G4 C5 | - G3 D4 G4 A4 | - G3 D4 G4 G4", "note-outside-chord S 1 fault", "it does not resolve"},
		{"C: I C3 E4 G4 C5 | V C3 D4 G4 B4 | I C3 E4 G4 C5", "", "a pedal in the bass"},
	} {
		texture := theorytest.Chords(test.music)
		got := wrong(texture, labeled(t, test.music, texture))
		if got != test.want {
			t.Errorf("%s\n got  %s\n want %s\n because: %s", test.music, got, test.want, test.why)
		}
	}
}

// Nobody has named the chords: there is nothing to disagree with.
func TestNoLabelsNoWrongNotes(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | G3 A3 E4 Ab4 | C3 G3 E4 G4")
	if got := wrong(texture, harmony.Analyze(texture)); got != "" {
		t.Errorf("without labels: %s", got)
	}
}

// Chord symbols in the document, as W3C MusicXML 4.0 writes them, name chords too;
// one without a bass leaves the inversion open.
func TestNotesAgainstChordSymbols(t *testing.T) {
	g, c := theory.PitchClass{Step: theory.G}, theory.PitchClass{Step: theory.C}
	d, b := theory.PitchClass{Step: theory.D}, theory.PitchClass{Step: theory.B}
	for _, test := range []struct {
		second theory.GivenChord
		want   string
		why    string
	}{
		{theory.GivenChord{Root: g, HasRoot: true, Kind: "major"}, "", "G major it is, in whatever inversion"},
		{theory.GivenChord{Root: g, HasRoot: true, Kind: "major", Bass: d, HasBass: true, Inversion: 2}, "inversion-not-as-named B 1 fault", "D was asked for in the bass"},
		{theory.GivenChord{Root: g, HasRoot: true, Kind: "major", Bass: b, HasBass: true}, "", "and B is there"},
		{theory.GivenChord{Root: g, HasRoot: true, Kind: "minor"}, "inflection-not-as-named B 1 fault", "B natural in G minor"},
		{theory.GivenChord{Root: g, HasRoot: true, Kind: "minor", Degrees: []theory.GivenDegree{{Value: 3, Alter: 1, Type: "alter"}}}, "", "altered chords are not compared"},
		{theory.GivenChord{Root: g, HasRoot: true, Kind: "minor-ninth"}, "", "nor are ninths"},
	} {
		texture := theorytest.Chords("C3 G3 E4 C5 | B2 G3 D4 G4 | C3 G3 E4 G4 ||")
		test.second.Onset = theory.Whole(1)
		texture.Score.Chords = []theory.GivenChord{
			{Root: c, HasRoot: true, Kind: "major"}, test.second, {Onset: theory.Whole(2), Root: c, HasRoot: true, Kind: "major"},
		}
		if got := wrong(texture, harmony.GuidedAs(texture, harmony.ScoreAnnotations(texture), harmony.Steer, harmony.ByTexture)); got != test.want {
			t.Errorf("%s %v: %s, want %s, because %s", test.second.Root, test.second.Kind, got, test.want, test.why)
		}
	}
}

// Where fewer than three voices sound the notes name no chord: the melody of a
// lead sheet is free under its symbols, and so is a bass over figures that nobody
// has realized.
func TestLeadSheetsAreNotHeldToTheirSymbols(t *testing.T) {
	for _, music := range []string{"C5 | D5 | E5 | F5", "C3 A4 | F3 B4 | G3 F4 | C3 E4"} {
		texture := theorytest.Chords(music)
		for i, root := range []theory.Step{theory.E, theory.A, theory.B, theory.F} {
			texture.Score.Chords = append(texture.Score.Chords, theory.GivenChord{
				Onset: theory.Whole(int64(i)), Root: theory.PitchClass{Step: root}, HasRoot: true, Kind: "minor",
			})
		}
		for _, f := range partwriting.Check(texture, harmony.GuidedAs(texture, harmony.ScoreAnnotations(texture), harmony.Steer, harmony.ByTexture), nil) {
			switch f.Rule {
			case "note-outside-chord", "member-misspelled", "inflection-not-as-named", "inversion-not-as-named", "seventh-missing", "label-disagrees":
				t.Errorf("%s at %v under a symbol", f.Rule, f.Onset)
			}
		}
	}
}

// The finding says what was labeled and what sounds, where, and weighs less when
// the labeled root is there at all.
func TestLabelsAgainstTheAnalysis(t *testing.T) {
	for _, test := range []struct{ root, kind, want string }{
		{"G", "major", ""},
		{"Eb", "minor", "1 caution: labeled Ebm; the notes read as C: V (G)"},
		{"G", "minor", "1 remark: labeled Gm; the notes read as C: V (G); follows from 1, accidental not as labeled"},
	} {
		texture := theorytest.Chords("C3 G3 E4 C5 | G2 G3 D4 B4 | C3 G3 E4 C5 ||")
		root, err := theory.ParsePitchClass(test.root)
		if err != nil {
			t.Fatal(err)
		}
		texture.Score.Chords = []theory.GivenChord{
			{Onset: theory.Whole(1), Root: root, HasRoot: true, Kind: test.kind}, {Onset: theory.Whole(2), Kind: "none"},
		}
		catalog, _ := partwriting.CatalogFor("en")
		for _, use := range []harmony.LabelUse{harmony.Steer, harmony.Replace} {
			got := ""
			for _, f := range partwriting.Check(texture, harmony.GuidedAs(texture, harmony.ScoreAnnotations(texture), use, harmony.ByTexture), nil) {
				if f.Rule == "label-disagrees" {
					got += fmt.Sprintf("%v %s: %s", f.Onset, f.Severity, catalog.Message(&f, texture))
					if len(f.Notes) != 4 {
						t.Errorf("%d notes sound there, want 4", len(f.Notes))
					}
				}
			}
			if got != test.want {
				t.Errorf("labeled %s %s, %s: %q, want %q", test.root, test.kind, use, got, test.want)
			}
		}
	}
}

// A label past the last note, and one on which nothing is struck, are passed over.
func TestLabelsWithoutNotes(t *testing.T) {
	music := "C: I C3 G3 E4 C5 | V7 G2 F4 D4 B4 | I C3 E4 C4 C5"
	texture := theorytest.Chords(music)
	labels := []harmony.Label{}
	for _, h := range labeled(t, music, texture).Harmonies {
		labels = append(labels, harmony.Label{Onset: h.Onset, Reading: h.Reading})
	}
	want := fmt.Sprint(partwriting.Check(texture, harmony.Assume(texture, labels), nil))
	cadential := labels[1]
	cadential.Onset = theory.Frac(5, 2)
	late := append(append([]harmony.Label(nil), labels...), cadential)
	beyond := append(append([]harmony.Label(nil), labels...), harmony.Label{Onset: theory.Whole(9), Reading: labels[1].Reading})
	for _, set := range [][]harmony.Label{late, beyond} {
		if got := fmt.Sprint(partwriting.Check(texture, harmony.Assume(texture, set), nil)); got != want {
			t.Errorf("with a label at %v:\n%s\nwant\n%s", set[len(set)-1].Onset, got, want)
		}
	}
}

// A cadential six-four whose dominant is named but never comes.
func TestLabelAfterASixFour(t *testing.T) {
	music := "C: I C3 G3 E4 C5 | ii6 F3 A3 D4 D5 | Cad64 G3 G3 C4 E5"
	texture := theorytest.Chords(music)
	var labels []harmony.Label
	for _, h := range labeled(t, music, texture).Harmonies {
		labels = append(labels, harmony.Label{Onset: h.Onset, Reading: h.Reading})
	}
	dominant, err := harmony.ParseNumeral("V", theory.MajorMode)
	if err != nil {
		t.Fatal(err)
	}
	labels = append(labels, harmony.Label{Onset: theory.Whole(9), Reading: harmony.Reading{Key: labels[0].Key, Numeral: dominant}})
	for _, f := range partwriting.Check(texture, harmony.Assume(texture, labels), nil) {
		if strings.HasPrefix(string(f.Rule), "cadential") {
			t.Errorf("%s without a dominant to judge by", f.Rule)
		}
	}
}

// Fixes are tried with the names that the chords were given: a minor dominant
// that is meant is no obstacle.
func TestFixesKeepNames(t *testing.T) {
	music := "a: i A2 E4 A4 C5 | iv D3 F4 A4 D5 | i A2 E4 A4 C5 | v E3 E4 G4 B4 / i A2 E4 A4 C5 | iv D3 E#4 A4 D5 | v E3 E4 G4 B4 | i A2 E4 A4 C5 ||"
	texture := theorytest.Chords(music)
	analysis := labeled(t, music, texture)
	findings := partwriting.Check(texture, analysis, nil)
	partwriting.NewPassage(texture, analysis, nil).SuggestFixes(findings, partwriting.FixOptions{})
	for _, f := range findings {
		if f.Rule != "member-misspelled" {
			continue
		}
		if len(f.Fixes) == 0 || f.Fixes[0].Edits[0].To != theory.MustPitch("F4") {
			t.Errorf("E#4 for F4 is mended by %+v", f.Fixes)
		}
		return
	}
	t.Error("E#4 in D minor was not found")
}

// What is offered for a wrong note makes it a member of the chord that was named.
func TestWrongNotesAreMended(t *testing.T) {
	for _, music := range []string{
		"a: i A2 E4 A4 C5 | V E3 E4 Ab4 B4 | i A2 E4 A4 C5",
		"a: i A2 E4 A4 C5 | V E3 E4 G4 B4 | i A2 E4 A4 C5",
	} {
		texture := theorytest.Chords(music)
		analysis := labeled(t, music, texture)
		findings := partwriting.Check(texture, analysis, nil)
		partwriting.NewPassage(texture, analysis, nil).SuggestFixes(findings, partwriting.FixOptions{})
		faults := 0
		for _, f := range findings {
			if f.Cause == "" {
				faults++
			}
			if len(f.Fixes) == 0 || len(f.Fixes[0].Edits) != 1 || f.Fixes[0].Edits[0].To != theory.MustPitch("G#4") {
				t.Errorf("%s: %s is mended by %+v, want G#4", music, f.Rule, f.Fixes)
			}
		}
		if faults != 1 {
			t.Errorf("%s: %d faults, want one: a note that is wrong leaves the right one missing", music, faults)
		}
	}
}

func wrong(texture *theory.Texture, analysis *harmony.Analysis) string {
	var out []string
	for _, f := range partwriting.Check(texture, analysis, nil) {
		switch f.Rule {
		case "note-outside-chord", "member-misspelled", "inflection-not-as-named", "inversion-not-as-named", "nonchord-tone-unexplained":
			out = append(out, fmt.Sprintf("%s %s %v %s", f.Rule, voicesOf(texture, &f), f.Onset, f.Severity))
		}
	}
	return strings.Join(out, ", ")
}

// Figures and symbols are the exercise: what they ask for and a realization leaves
// out is a fault in the default mode, with the wanted note by name (C. P. E. Bach,
// Versuch II: a figure names the intervals to be played).
func TestWhatFiguresAskForIsDue(t *testing.T) {
	g := theory.PitchClass{Step: theory.G}
	seventh := func(s *theory.Score) {
		s.Chords = []theory.GivenChord{{Onset: theory.Whole(1), Root: g, HasRoot: true, Kind: "dominant"}}
	}
	figures := func(stack ...theory.Figure) func(*theory.Score) {
		return func(s *theory.Score) { s.Figures = []theory.GivenFigures{{Onset: theory.Whole(1), Figures: stack}} }
	}
	catalog, _ := partwriting.CatalogFor("en")
	for _, test := range []struct {
		music string
		label func(*theory.Score)
		want  string
	}{
		{"C3 G3 E4 C5 | G2 G3 D4 B4 | C3 G3 E4 C5 ||", seventh, "seventh-missing fault: G7 without its seventh F, which it asks for"},
		{"C3 G3 E4 C5 | G2 F3 D4 B4 | C3 E3 C4 C5 ||", seventh, ""},
		{"C3 G3 E4 C5 | G2 G3 D4 B4 | C3 G3 E4 C5 ||", figures(theory.Figure{Number: 7}), "seventh-missing fault: 7 (G7) without its seventh F, which it asks for"},
		{"C3 G3 E4 C5 | B2 G3 D4 G4 | C3 G3 E4 G4 ||", figures(theory.Figure{Number: 6}, theory.Figure{Number: 5}), "seventh-missing fault: 6 5 (G7/B) without its seventh F, which it asks for"},
		{"D3 A3 F4 D5 | A2 A3 E4 C5 | D3 A3 F4 D5 ||", figures(theory.Figure{Prefix: "sharp"}), "inflection-not-as-named fault: C5 in soprano must be C♯: # (A) asks for it"},
		{"D3 A3 F4 D5 | A2 A3 E4 C#5 | D3 A3 F4 D5 ||", figures(theory.Figure{Prefix: "sharp"}), ""},
	} {
		texture := theorytest.Chords(test.music)
		test.label(texture.Score)
		var got []string
		for _, f := range partwriting.Check(texture, harmony.GuidedAs(texture, harmony.ScoreAnnotations(texture), harmony.Steer, harmony.ByTexture), nil) {
			switch {
			case f.Rule == "seventh-missing", f.Rule == "inflection-not-as-named":
				got = append(got, fmt.Sprintf("%s %s: %s", f.Rule, f.Severity, catalog.Message(&f, texture)))
			case f.Rule == "label-disagrees" && f.Follows == 0, f.Rule == "leading-tone-not-raised" && f.Follows == 0:
				t.Errorf("%s: %s stands alone", test.music, f.Rule)
			}
		}
		if strings.Join(got, "; ") != test.want {
			t.Errorf("%s\n got  %s\n want %s", test.music, strings.Join(got, "; "), test.want)
		}
	}
}
