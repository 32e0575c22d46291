package harmony

import (
	"strconv"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/theorytest"
)

// The figures follow Hutchinson, Music Theory for the 21st-Century Classroom,
// ch. 10 and 28; quarter-note columns stand for the book's eighths.
func TestNoteClasses(t *testing.T) {
	cases := []struct {
		why, music string
		voice      int // from the top
		note       int
		want       NoteClass
		figures    string
	}{
		{"passing from E to C over I", "C3 G3 C4 E4 | . . . D4 | . . . C4 | . . . . | G2 G3 B3 D4 | . . . . | C3 G3 C4 E4", 0, 1, Passing, ""},
		{"neighbor above E over I", "C3 G3 C4 E4 | . . . F4 | . . . E4 | . . . . | G2 G3 B3 D4 | . . . . | C3 G3 C4 E4", 0, 1, Neighbor, ""},
		{"4-3 over V", "C3 E4 G4 C5 | . . . . | G3 D4 G4 . | G3 D4 G4 B4 | C3 E4 G4 C5 | . . . .", 0, 0, Suspension, "4-3"},
		{"9-8 over I", "G3 G4 B4 D5 | . . . . | C4 E4 G4 . | C4 E4 G4 C5 | . . . .", 0, 0, Suspension, "9-8"},
		{"a bass that waits is 2-3", "C3 E4 G4 C5 | . . . . | . D4 G4 D5 | B2 D4 G4 D5 | C3 E4 G4 C5 | . . . .", 3, 0, Suspension, "2-3"},
		{"struck again, the bass that waits is 2-3 all the same", "C3 E4 G4 C5 | . . . . | C3 D4 G4 D5 | B2 D4 G4 D5 | C3 E4 G4 C5 | . . . .", 3, 1, Suspension, "2-3"},
		{"struck again under voices that stay", "C3 E4 G4 C5 | C3 D4 G4 D5 | B2 . . . | C3 E4 G4 C5 | . . . .", 3, 1, Suspension, "2-3"},
		{"struck again, a 4-3", "C3 E4 G4 C5 | . . . . | G3 D4 G4 C5 | G3 D4 G4 B4 | C3 E4 G4 C5 | . . . .", 0, 1, Suspension, "4-3"},
		{"chord tones stay chord tones", "C3 G3 E4 C5 | G2 G3 D4 B4 | C3 G3 E4 C5", 0, 1, ChordTone, ""},
	}
	for _, c := range cases {
		a := Analyze(theorytest.Chords(c.music))
		got := a.Notes[c.voice][c.note]
		if got.Class != c.want || got.Figures != c.figures {
			t.Errorf("%s: %s %q in %s, want %s %q", c.why, got.Class, got.Figures, numerals(a), c.want, c.figures)
		}
	}
}

// Every kind of nonchord tone by its definition, over labels as the books print
// them: Hutchinson, ch. 10 (passing, neighbor, appoggiatura, escape, double
// neighbor, anticipation, pedal point, suspension, retardation) and Butterfield,
// Integrated Music Theory, unit 9 (incomplete neighbor). A label is a moment, from
// 0, and a numeral in C major.
func TestNoteClassesOverLabels(t *testing.T) {
	cases := []struct {
		why, music, labels string
		voice, note        int
		want               NoteClass
		figures            string
	}{
		{"passing: E D C over I", "C3 G3 C4 E4 | . . . D4 | . . . C4", "0 I", 0, 1, Passing, ""},
		{"neighbor: E F E over I", "C3 G3 C4 E4 | . . . F4 | . . . E4", "0 I", 0, 1, Neighbor, ""},
		{"not passing: E G C are chord tones", "C3 G3 C4 E4 | . . . G4 | . . . C5", "0 I", 0, 1, ChordTone, ""},
		{"4-3: C stays from I into V and falls", "C3 E4 G4 C5 | G3 D4 G4 . | G3 D4 G4 B4", "0 I 1 V", 0, 0, Suspension, "4-3"},
		{"7-6: C stays from I into viio6 and falls", "C3 E4 G4 C5 | D3 D4 F4 . | D3 D4 F4 B4", "0 I 1 viio6", 0, 0, Suspension, "7-6"},
		{"7-8: B stays from V into I and rises", "G2 D4 G4 B4 | C3 E4 G4 . | C3 E4 G4 C5", "0 V 1 I", 0, 0, Retardation, "7-8"},
		{"2-3 struck again: the bass of I waits into V6 and falls", "C3 E4 G4 C5 | C3 D4 G4 D5 | B2 D4 G4 D5", "0 I 1 V6", 3, 1, Suspension, "2-3"},
		{"7-8 struck again: B waits into I and rises", "G2 D4 G4 B4 | C3 E4 G4 B4 | C3 E4 G4 C5", "0 V 1 I", 0, 1, Retardation, "7-8"},
		{"the bass of V6 waits into I and rises: no figures", "B2 D4 G4 D5 | B2 E4 G4 E5 | C3 E4 G4 E5", "0 V6 1 I", 3, 1, Retardation, ""},
		{"no suspension: the bass struck again is a chord tone", "C3 E4 G4 C5 | C3 F4 A4 C5 | B2 F4 G4 D5", "0 I 1 IV64 2 V65", 3, 1, ChordTone, ""},
		{"appoggiatura: leap up to A, step down to G, over I", "C3 G3 C4 E4 | . . . A4 | . . . G4", "0 I", 0, 1, Appoggiatura, ""},
		{"escape: D up to E, leap down to C", "G2 G3 B3 D5 | . . . E5 | C3 G3 E4 C5", "0 V 2 I", 0, 1, EscapeTone, ""},
		{"incomplete neighbor: C up by leap to F, on by step to G", "C3 G3 E4 C5 | . . . F5 | . . . G5", "0 I", 0, 1, IncompleteNeighbor, ""},
		{"anticipation: C over V before it is struck in I", "G2 G3 B3 D5 | . . . C5 | C3 G3 E4 C5", "0 V 2 I", 0, 1, Anticipation, ""},
		{"pedal: C stays under V between two tonics", "C3 G3 E4 C5 | . G3 D4 B4 | . G3 E4 C5", "0 I 1 V 2 I", 3, 0, PedalTone, ""},
		{"changing tones: D and B around C", "C3 G3 E4 C5 | . . . D5 | . . . B4 | . . . C5", "0 I", 0, 1, ChangingTone, ""},
		{"changing tones: the second of them", "C3 G3 E4 C5 | . . . D5 | . . . B4 | . . . C5", "0 I", 0, 2, ChangingTone, ""},
	}
	key := theory.MajorKey(theory.PitchClass{Step: theory.C})
	for _, c := range cases {
		texture := theorytest.Chords(c.music)
		var labels []Label
		words := strings.Fields(c.labels)
		for i := 0; i+1 < len(words); i += 2 {
			moment, err := strconv.Atoi(words[i])
			if err != nil {
				t.Fatal(err)
			}
			numeral, err := ParseNumeral(words[i+1], key.Mode)
			if err != nil {
				t.Fatal(err)
			}
			labels = append(labels, Label{Onset: texture.Moments[moment].Onset, Reading: Reading{key, numeral}})
		}
		got := Assume(texture, labels).Notes[c.voice][c.note]
		if got.Class != c.want || got.Figures != c.figures {
			t.Errorf("%s: %s %q, want %s %q", c.why, got.Class, got.Figures, c.want, c.figures)
		}
	}
}

// Definitions and examples: Butterfield, Integrated Music Theory, unit 8.
func TestCadences(t *testing.T) {
	cases := []struct {
		why, music string
		want       CadenceKind
	}{
		{"V7-I in root position, tonic on top", "G2 B3 G4 D5 | D3 D4 F#4 A4 | D3 C4 F#4 A4 | G2 B3 G4 G4", PerfectAuthentic},
		{"third on top", "G2 B3 D4 G4 | E3 G3 B3 G4 | D3 F#3 D4 A4 | G2 G3 D4 B4", ImperfectAuthentic},
		{"inverted dominant", "G2 G3 B3 G4 | C3 G3 C4 E4 | F#2 A3 D4 F#4 | G2 G3 D4 G4", ImperfectAuthentic},
		{"phrase ends on V", "G2 B3 D4 G4 | C3 E4 G4 C5 | G2 D4 G4 B4 | D3 D4 F#4 A4", Half},
		{"IV-I", "G2 D3 B3 G4 | D3 F#3 D4 A4 | G2 G3 B3 G4 | C3 E3 C4 G4 | G2 D3 B3 G4", Plagal},
		{"V7-vi", "G2 D4 G4 B4 | C3 G3 E4 E4 | D3 A3 C4 F#4 | E3 G3 B3 G4", Deceptive},
	}
	for _, c := range cases {
		a := Analyze(theorytest.Chords(c.music))
		if len(a.Cadences) != 1 || a.Cadences[0].Kind != c.want {
			t.Errorf("%s: %+v in %s, want %s", c.why, a.Cadences, numerals(a), c.want)
		}
	}
	a := Analyze(theorytest.Chords("C3 C4 Eb4 G4 | G2 B3 D4 G4 | C3 C4 Eb4 G4 | Ab2 C4 C4 F4 | G2 B3 D4 G4"))
	if c := a.Cadences[0]; c.Kind != Half || !c.Phrygian || c.Key != theory.MinorKey(theory.PitchClass{Step: theory.C}) {
		t.Errorf("iv6-V in minor is the Phrygian half cadence: %+v", c)
	}
}
