package voicing

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// lineOf is a voice as a row of notes with their lengths in quarters.
func lineOf(t *theory.Texture, v int) string {
	var out []string
	for _, n := range t.Voices[v].Notes {
		out = append(out, fmt.Sprintf("%v %v", n.Pitch.Class(), n.Duration))
	}
	return strings.Join(out, ", ")
}

// Suspensions that figures ask for are prepared in the same voice, held and resolved by
// step while the chord lasts, and the rules and the analysis take them for that (Open Music
// Theory v1, "Thoroughbass figures"; Butterfield, unit 10; chains of 7-6 and the double
// cadence after Gasparini as Open Music Theory v1 prints it).
func TestFiguredSuspensionsAreRealized(t *testing.T) {
	for _, tt := range []struct {
		text string
		// held are notes that some voice sings, with their lengths, as they are resolved.
		held  []string
		kinds string
	}{
		{"C: bass C3 G2/4-3*2 C3*2", []string{"C 2, B 1"}, "4-3"},
		{"C: bass C3 F3 G3/5/4-3*2 C3*2", []string{"C 2, B 1"}, "4-3"},
		{"C: bass F3 E3/6 D3/7-6*2 C3*2", []string{"C 2, B 1"}, "7-6"},
		{"C: bass F3/6 E3/7-6*2 D3/7-6*2 C3*2", []string{"D 2, C 2, B 1"}, "7-6 7-6"},
		{"C: bass G2 C3/9-8*2 G2 C3*2", []string{"D 2, C 1"}, "9-8"},
		{"C: bass G2/7 C3/9/4-8/3*2", []string{"D 2, C 1", "F 2, E 1"}, "9-8 4-3"},
		{"C: bass C3 G2/6/4-5/4-5/3*3 C3*2", []string{"C 2, B 1"}, "4-3"},
		{"c: bass C3 G2/5/4-5/n*2 C3*2", []string{"C 2, B 1"}, "4-3"},
		{"C: bass C3 C3/5/2 B2/6 C3*2", []string{"C 2, B 1"}, ""},
		{"C: bass G2/7 C3/7/4/2-8/5/3*2", []string{"B 2, C 1"}, "4-3"},
	} {
		p, err := ReadProgression(tt.text)
		if err != nil {
			t.Errorf("%s: %v", tt.text, err)
			continue
		}
		for _, style := range []Style{Chorale(), Keyboard()} {
			s, err := Solve(p.Problem(style))
			if err != nil {
				t.Errorf("%s, %s: %v", tt.text, style.Name, err)
				continue
			}
			texture := s.Texture(&style, p.Layout)
			var lines []string
			for v := range texture.Voices {
				lines = append(lines, lineOf(texture, v))
			}
			all := strings.Join(lines, " | ")
			for _, held := range tt.held {
				if !strings.Contains(all, held) {
					t.Errorf("%s, %s: no voice sings %s: %s", tt.text, style.Name, held, all)
				}
			}
			analysis := s.Harmony(texture, p.Layout)
			var kinds []string
			for _, d := range analysis.Delays() {
				kinds = append(kinds, fmt.Sprintf("%d-%d", d.Number, d.Resolved))
			}
			for _, kind := range strings.Fields(tt.kinds) {
				if !strings.Contains(strings.Join(kinds, " "), kind) {
					t.Errorf("%s, %s: the analysis finds %v, want %s", tt.text, style.Name, kinds, kind)
				}
			}
			for v, notes := range analysis.Notes {
				for n := range notes {
					if c := notes[n].Class; c != harmony.ChordTone && c != harmony.Suspension && c != harmony.Retardation {
						t.Errorf("%s, %s: %v in voice %d is taken for %v", tt.text, style.Name, texture.Voices[v].Notes[n].Pitch, v+1, c)
					}
				}
			}
			for _, f := range partwriting.Check(texture, analysis, style.Rules) {
				if f.Severity == partwriting.Fault {
					t.Errorf("%s, %s: %s at %v", tt.text, style.Name, f.Rule, f.Onset)
				}
			}
		}
	}
}

func TestSuspensionsThatCannotBePrepared(t *testing.T) {
	for text, want := range map[string]string{
		"C: bass G2/4-3*2 C3":     "hold over C",
		"C: bass G2 G2/4-3*2 C3":  "hold over C",
		"C: bass C3/8/5/2 F3":     "8 5 2 over C",
		"C: bass C3 G2/4-":        "missing beside a dash",
		"C: bass C3/-":            "no chord before it",
		"C: bass C3 G2/4-3-*2 C3": "missing beside a dash",
	} {
		var unreadable *ProgressionError
		if _, err := ReadProgression(text); !errors.As(err, &unreadable) || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
}

// A bass moves under a chord that a dash holds (Open Music Theory v1: a dash or line holds
// the note).
func TestDashesHoldTheChord(t *testing.T) {
	p := read(t, "C: bass C3 D3/- E3/6 F3 G3/7 C3*2")
	style := Chorale()
	s := solved(t, p, style)
	if got, want := numeralsOf(s), "I I6 IV V7 I"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	texture := s.Texture(&style, p.Layout)
	if got, want := lineOf(texture, 3), "C 1, D 1, E 1, F 1, G 1, C 2"; got != want {
		t.Errorf("the bass is %s, want %s", got, want)
	}
	if first := texture.Voices[0].Notes[0]; first.Duration != theory.Whole(2) {
		t.Errorf("the soprano holds for %v", first.Duration)
	}
}

// Chord symbols with more than a seventh are voiced with the notes that name them, a
// suspended fourth resolves in its voice, and where no chord is, nobody sings.
func TestSymbolsAreVoicedInFull(t *testing.T) {
	style := Chorale()
	for _, symbol := range []string{"Csus4", "Csus2", "C6", "Cm6", "C69", "Cadd9", "C9", "Cmaj9", "Dm9", "C7b9", "C11", "Dm11", "C13", "Cmaj13", "Dm13", "C7sus4", "C7#5", "C7b5", "G/C", "F/G", "Dm7/G"} {
		p, err := ReadProgression("C: " + symbol + " F")
		if symbol == "G/C" {
			if err == nil {
				t.Error("G/C was read")
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", symbol, err)
			continue
		}
		s := solved(t, p, style)
		r := s.Chords[0].Reading
		for member := range r.Size() {
			sung := false
			for _, pitch := range s.Chords[0].Pitches {
				sung = sung || pitch.Class() == r.Member(member)
			}
			if !sung {
				t.Errorf("%s: %v is not in %v", symbol, r.Member(member), s.Chords[0].Pitches)
			}
		}
		again := read(t, p.Row())
		if again.Chords[0].Reading != p.Chords[0].Reading {
			t.Errorf("%s comes back as %v", symbol, again.Chords[0].Reading)
		}
	}
	p := read(t, "C: C F G7sus4 G7 N.C. C*2")
	s := solved(t, p, style)
	texture := s.Texture(&style, p.Layout)
	resolved := false
	for v := range 3 {
		resolved = resolved || s.Chords[2].Pitches[v].Class().String() == "C" && s.Chords[3].Pitches[v].Class().String() == "B"
	}
	if !resolved {
		t.Errorf("the suspended fourth does not resolve: %v, %v", s.Chords[2].Pitches, s.Chords[3].Pitches)
	}
	for v := range texture.Voices {
		for _, n := range texture.Voices[v].Notes {
			if n.Onset.Less(theory.Whole(5)) && theory.Whole(4).Less(n.End()) {
				t.Errorf("voice %d sounds where there is no chord", v+1)
			}
		}
	}
}

// A bass that goes on under a held chord leaves it from its last note: F after E, with C in
// the soprano, makes no octaves there that D or C would not make (Open Music Theory v1,
// keyboard-style voice leading: no parallel octaves with the bass).
func TestGivenLinesLeaveFromTheirLastNote(t *testing.T) {
	p := read(t, "C: bass C3 D3/- E3/- F3 G3/7 C3")
	style := Chorale()
	s := solved(t, p, style)
	texture := s.Texture(&style, p.Layout)
	for _, f := range partwriting.Check(texture, s.Harmony(texture, p.Layout), style.Rules) {
		if f.Severity == partwriting.Fault {
			t.Errorf("%s at %v", f.Rule, f.Onset)
		}
	}
}

// A bass that a text gives is in the sheet as it is written: what its figures make of one note
// sounds over that note, struck once (Open Music Theory v1, "Thoroughbass figures").
func TestFiguresOverOneNoteStrikeItOnce(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		{"C: bass C3 F3 G3/6/4-5/3*2 C3*4", "C 1, F 1, G 2, C 4"},
		{"C: bass C3/5-6*2 D3/7-6*2 C3*4", "C 2, D 2, C 4"},
		{"C: bass C3 D3/- E3/6 F3 G3/8-7*2 C3*2", "C 1, D 1, E 1, F 1, G 2, C 2"},
	} {
		p := read(t, tt.text)
		style := Chorale()
		texture := solved(t, p, style).Texture(&style, p.Layout)
		if got := lineOf(texture, 3); got != tt.want {
			t.Errorf("%s: the bass is %s, want %s", tt.text, got, tt.want)
		}
	}
	// Where chords are given too, the bass is theirs there.
	if p := read(t, "C: bass C3 G3/6/4-5/3*2 chords I"); p.Layout.Bass != nil {
		t.Errorf("the bass %v is given, though a chord has none", p.Layout.Bass)
	}
}
