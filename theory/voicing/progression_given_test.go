package voicing

import (
	"errors"
	"strings"
	"testing"

	"partwright/theory"
)

func solved(t *testing.T, p *Progression, style Style) *Solution {
	t.Helper()
	s, err := Solve(p.Problem(style))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func read(t *testing.T, text string) *Progression {
	t.Helper()
	p, err := ReadProgression(text)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func numeralsOf(s *Solution) string {
	var out []string
	for _, c := range s.Chords {
		out = append(out, c.Reading.Numeral.Text(c.Reading.Key.Mode))
	}
	return strings.Join(out, " ")
}

// Figures as thoroughbass players read them (Open Music Theory v1, "Thoroughbass
// figures"): none is a triad, # a raised third, #6 a raised sixth.
func TestFiguredBassAsText(t *testing.T) {
	p := read(t, "3/4 g: bass G2 F#2/6 G2 A2/#6 Bb2/6 D3/7# G2*3")
	s := solved(t, p, Keyboard())
	if got, want := numeralsOf(s), "i V6 i viio6 i6 V7 i"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	for k, want := range []string{"G2", "F#2", "G2", "A2", "Bb2", "D3", "G2"} {
		if got := s.Chords[k].Pitches[3].String(); got != want {
			t.Errorf("the bass of chord %d is %s; %s was given", k+1, got, want)
		}
	}
	if got := p.Layout.Durations[6]; got != theory.Whole(3) {
		t.Errorf("the last chord lasts %v", got)
	}
}

// A sign behind a figure is the third's where a seven stands over it (7#, Open Music Theory
// v1, "Basso continuo style"); elsewhere it may as well be the figure's (common practice, no
// source), and the error names both ways to write it.
func TestSignsBehindFigures(t *testing.T) {
	for _, test := range []struct{ figures, first, second string }{
		{"5b", "b5", "5/b"}, {"7b", "b7", "7/b"}, {"6#", "#6", "6/#"}, {"65n", "n5", "5/n"}, {"4♯", "♯4", "4/♯"}, {"6/5#", "#5", "5/#"},
	} {
		_, err := ParseFigures(test.figures)
		if err == nil || !strings.Contains(err.Error(), "write "+test.first+" for the one, "+test.second+" for the other") {
			t.Errorf("%s: %v", test.figures, err)
		}
	}
	for _, figures := range []string{"7#", "7n", "7x", "6b5", "b5", "5/b", "#6/4/3", "6\\", "4+"} {
		if _, err := ParseFigures(figures); err != nil {
			t.Errorf("%s: %v", figures, err)
		}
	}
}

// What no chord is says which notes the figures ask for: a flat seven over G in C is F flat.
func TestRefusedFiguresNameTheirNotes(t *testing.T) {
	_, err := ReadProgression("C: bass C3 G2/b7 C3*2")
	if err == nil || !strings.Contains(err.Error(), "the figures b7 over G ask for G B D Fb, no chord") {
		t.Error(err)
	}
}

// Six-four to five-three over a dominant's bass is cadential: sixth to fifth and
// fourth to third (Hutchinson, ch. 26).
func TestFiguresOfACadentialSixFour(t *testing.T) {
	p := read(t, "C: bass C3 F3 G3/64 G3/7 C3*2")
	if !p.Chords[2].Reading.Numeral.Cadential {
		t.Errorf("%v is not read as cadential", p.Chords[2].Reading)
	}
	if s := solved(t, p, Chorale()); numeralsOf(s) != "I IV Cad64 V7 I" {
		t.Errorf("%s", numeralsOf(s))
	}
}

func TestGivenNotesAreKept(t *testing.T) {
	s := solved(t, read(t, "C: I{E5,-,G4,C3} IV V7{D5}*2 I"), Chorale())
	for v, want := range map[int]string{0: "E5", 2: "G4", 3: "C3"} {
		if got := s.Chords[0].Pitches[v].String(); got != want {
			t.Errorf("voice %d is %s, %s was given", v+1, got, want)
		}
	}
	if got := s.Chords[2].Pitches[0].String(); got != "D5" {
		t.Errorf("the soprano of V7 is %s, D5 was given", got)
	}
}

// A melody alone: chords are chosen, the tonic opens, a dominant goes to the
// tonic at the end.
func TestSopranoAsText(t *testing.T) {
	p := read(t, "G: soprano B4 C5 A4 B4 A4 G4*2")
	if err := p.End(AsGiven); err != nil {
		t.Fatal(err)
	}
	s := solved(t, p, Chorale())
	for k, want := range []string{"B4", "C5", "A4", "B4", "A4", "G4"} {
		if got := s.Chords[k].Pitches[0].String(); got != want {
			t.Errorf("the soprano of chord %d is %s; %s was given", k+1, got, want)
		}
	}
	if last := len(s.Chords) - 1; !s.Chords[0].Reading.Numeral.IsTonic() || !s.Chords[last].Reading.Numeral.IsTonic() || !s.Chords[last-1].Reading.Numeral.IsDominant() {
		t.Errorf("%s: want a tonic first, a dominant and a tonic last", numeralsOf(s))
	}
	// Some chords of a melody may be given.
	s = solved(t, read(t, "G: soprano B4 C5 chords ii6{A4} V I"), Chorale())
	if got := numeralsOf(s); !strings.HasSuffix(got, "ii6 V I") || s.Chords[2].Pitches[0].String() != "A4" {
		t.Errorf("%s, top of the third %v", got, s.Chords[2].Pitches[0])
	}
}

func TestTextsWithGivenNotesThatCannotBeRead(t *testing.T) {
	for text, want := range map[string]string{
		"C: I{E5":             "end with }",
		"C: I{E5,x}":          `"x" is not a pitch`,
		"C: I{,,,,,,C3}":      `"" is not a pitch`,
		"C: bass C3 X3":       `"X3" is not a pitch`,
		"C: bass C3/54":       "no chord stacked in thirds",
		"C: bass C3/1":        "are no figures",
		"C: bass C3/#b6":      "no accidental of a figure",
		"C: soprano E5 F##5":  "in no chord",
		"C: soprano E5{G5}":   "a second note",
		"C: I{-,-,-,-,-,-,-}": "at most 6 voices",
	} {
		var unreadable *ProgressionError
		if _, err := ReadProgression(text); !errors.As(err, &unreadable) || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
}

// The chords of each ending are those of Hutchinson, ch. 11.
func TestEndings(t *testing.T) {
	for _, tt := range []struct{ text, ending, want, top string }{
		{"C: I IV V I", "perfect", "I IV V7? I", "C"},
		{"C: I IV V I", "imperfect", "I IV V7? I", "EG"},
		{"C: I IV V I", "half", "I IV V", "GBD"},
		{"C: I V I I", "plagal", "I V IV I", "CEG"},
		{"C: I IV V I", "deceptive", "I IV V7? vi", "ACE"},
		{"a: i iv V i", "deceptive", "i iv V7? VI", "FAC"},
		{"a: i iv V i", "plagal", "i iv i", "ACE"},
		{"C: I IV V I", "given", "I IV V I", "CEG"},
		{"C: soprano C5 B4 C5", "given", "I V7? I", "C"},
		{"C: soprano E5 F5 E5", "given", "I V6?5? I", "E"},
	} {
		ending, ok := ParseEnding(tt.ending)
		if !ok {
			t.Fatalf("%s is no ending", tt.ending)
		}
		p := read(t, tt.text)
		if err := p.End(ending); err != nil {
			t.Errorf("%s, %s: %v", tt.text, tt.ending, err)
			continue
		}
		s := solved(t, p, Chorale())
		last := s.Chords[len(s.Chords)-1]
		got := strings.Split(numeralsOf(s), " ")
		if want := strings.Split(tt.want, " "); tt.ending != "given" || !strings.Contains(tt.text, "soprano") {
			for i := range want {
				if got[i] != want[i] && got[i] != strings.ReplaceAll(want[i], "?", "") && got[i] != strings.ReplaceAll(want[i], "7?", "") {
					t.Errorf("%s, %s: %v, want %s", tt.text, tt.ending, got, tt.want)
					break
				}
			}
		}
		if !strings.Contains(tt.top, last.Pitches[0].Step.String()) || last.Reading.Inversion() != 0 {
			t.Errorf("%s, %s: ends on %v", tt.text, tt.ending, last.Pitches)
		}
	}
	if _, ok := ParseEnding("loud"); ok {
		t.Error("loud is no ending")
	}
}

// The six-four stands on the first half of the dominant's time, and its sixth and
// fourth fall to the fifth and third (Butterfield, unit 13; Hutchinson, ch. 26).
func TestSixFourBeforeTheDominant(t *testing.T) {
	p := read(t, "C: I IV V*2 I")
	if err := p.End(Perfect); err != nil {
		t.Fatal(err)
	}
	if err := p.SixFour(); err != nil {
		t.Fatal(err)
	}
	s := solved(t, p, Chorale())
	if got := numeralsOf(s); !strings.HasPrefix(got, "I IV Cad64 V") {
		t.Errorf("%s", got)
	}
	if p.Layout.Durations[2] != theory.Whole(1) || p.Layout.Durations[3] != theory.Whole(1) {
		t.Errorf("durations %v: the dominant's two beats are shared", p.Layout.Durations)
	}
}

func TestEndingsThatGivenNotesForbid(t *testing.T) {
	for _, tt := range []struct {
		text   string
		ending Ending
		want   string
	}{
		{"C: I", Perfect, "add a chord"},
		{"C: I V || I", Plagal, "the last phrase has one"},
		{"C: I V I{E5}", Perfect, "E5 is given"},
		{"C: bass C3 F2 C3", Perfect, "its bass is given as F2"},
	} {
		var wrong *EndingError
		if err := read(t, tt.text).End(tt.ending); !errors.As(err, &wrong) || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s, %v: %v, want %q", tt.text, tt.ending, err, tt.want)
		}
	}
	var wrong *EndingError
	if err := read(t, "C: I IV I").SixFour(); !errors.As(err, &wrong) {
		t.Errorf("%v: there is no dominant", err)
	}
	if err := read(t, "C: I V{B4} I").SixFour(); !errors.As(err, &wrong) {
		t.Errorf("%v: B is not in the six-four", err)
	}
}
