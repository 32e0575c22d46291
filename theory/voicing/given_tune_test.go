package voicing

import (
	"fmt"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
)

// A chord lasts over the short notes of a beat, which pass by, and stands against the first of
// them; a phrase has its dominant even where that is short (common practice, no source).
func TestChordsUnderATuneWithShortNotes(t *testing.T) {
	cases := []struct{ text, want, why string }{
		{"G: soprano D4 | G4*1/2 A4*1/2 B4 A4 F#4 | G4*3", "D4 0, G4 1, B4 2, A4 3, F#4 4, G4 5", "a passing note"},
		{"C: soprano G4*3/2 F4*1/2 E4 D4 | C4*4", "G4 0, E4 2, D4 3, C4 4", "a dotted note"},
		{"C: soprano E4 F4 D4*1/2 E4*1/2 D4 | C4*3/2 B3*1/2 C4*2", "E4 0, F4 1, D4 2, D4 3, C4 4, B3 5, C4 6", "a leading tone that comes late in its beat"},
		{"C: soprano E4 G4 F4 C4*1/2 B3*1/2 | C4*4", "E4 0, G4 1, F4 2, B3 3, C4 4", "a tonic suspended over the dominant"},
		{"C: soprano E4 G4 F4 D4*1/2 B3*1/2 | C4*4", "E4 0, G4 1, F4 2, D4 3, C4 4", "two notes of the dominant"},
		{"6/8 G: soprano D5*1/3 | B4*2/3 C5*1/3 A4 | B4*2/3 A4*1/3 G4*2/3", "D5 0, B4 1/2, A4 2, B4 7/2, A4 9/2, G4 5", "an upbeat and a last step that are short"},
		{"C: soprano G4*1/2 E4 C4*1/2 D4 B3 | C4*4", "G4 0, E4 1/2, D4 2, B3 3, C4 4", "a syncopation"},
		{"C: soprano E4*1/2 F4*1/2 G4 A4*1/2 G4*1/2 || F4*1/2 E4*1/2 | D4 D4 C4*2", "E4 0, G4 1, A4 2, F4 3, D4 4, D4 5, C4 6", "a phrase that ends with a short note"},
	}
	for _, c := range cases {
		p, err := ReadProgression(c.text)
		if err != nil {
			t.Errorf("%s: %v", c.why, err)
			continue
		}
		var got []string
		onsets := p.Layout.onsets(len(p.Chords))
		for k := range p.Chords {
			got = append(got, fmt.Sprintf("%v %v", p.Chords[k].Fixed[0], onsets[k]))
		}
		if s := strings.Join(got, ", "); s != c.want {
			t.Errorf("%s: chords stand against %s, want %s", c.why, s, c.want)
		}
	}
}

// Other voices are given with a note of a melody, which may be named among them; a short
// note that they are given with has its own chord.
func TestOtherVoicesAreGivenUnderATune(t *testing.T) {
	_, s := harmonized(t, "C: soprano G4{G4,E4,C4,C3} A4*1/2 B4{-,G4,D4,G3}*1/2 C5 B4*1/2 A4*1/2 | G4*2 C5*2")
	for k, want := range map[int][]string{0: {"G4", "E4", "C4", "C3"}, 2: {"B4", "G4", "D4", "G3"}} {
		for v, name := range want {
			if got := s.Chords[k].Pitches[v]; got != theory.MustPitch(name) {
				t.Errorf("chord %d has %v in voice %d, given is %s", k+1, got, v+1, name)
			}
		}
	}
	if got, want := len(s.Chords), 7; got != want {
		t.Errorf("%d chords, want %d: the short notes behind the fourth pass by", got, want)
	}
	if _, err := ReadProgression("C: soprano G4{A4,E4,C4,C3} C5"); err == nil || !strings.Contains(err.Error(), "second note") {
		t.Errorf("another note of the top voice: %v", err)
	}
}

// What a melody leaps to belongs to the chord (common practice, no source); its own notes
// stand on the sheet as they are given.
func TestLeapsWithinABeatAreInTheChord(t *testing.T) {
	text := "C: soprano G4*1/2 E4*1/2 C4*1/2 E4*1/2 F4*1/2 A4*1/2 C5*1/2 A4*1/2 | B4*1/2 G4*1/2 D5*1/2 F5*1/2 E5*2"
	p, s := harmonized(t, text)
	given := p.Layout.Top
	chords := melodyChords(t, text, Applied)
	for k, want := range []string{"C E G", "C E", "F A", "A C", "B G", "D F", "E"} {
		for _, note := range strings.Fields(want) {
			class, err := theory.ParsePitchClass(note)
			if err != nil {
				t.Fatal(err)
			}
			if chords[k].MemberOf(class) < 0 {
				t.Errorf("chord %d is %v, which has no %s", k+1, chords[k], note)
			}
		}
	}
	style := Chorale()
	sheet := s.Texture(&style, p.Layout).Voices[0].Notes
	if len(sheet) != len(given) || len(given) != 13 {
		t.Fatalf("the sheet has %d notes of the melody, given are %d, want 13", len(sheet), len(given))
	}
	for i := range sheet {
		if sheet[i].Pitch != given[i].Pitch || sheet[i].Onset != given[i].Onset || sheet[i].Duration != given[i].Duration {
			t.Errorf("note %d of the sheet is %v at %v, given is %v at %v", i+1, sheet[i].Pitch, sheet[i].Onset, given[i].Pitch, given[i].Onset)
		}
	}
}

// Phrases that come to the tonic by a short note end with their dominant before it.
func TestShortLeadingTonesMakeACadence(t *testing.T) {
	for _, text := range []string{
		"a: soprano A4 B4 C5 A4 | A4*3/2 G#4*1/2 A4*2",
		"G: soprano B4 C5 A4 B4 | G4 A4 G4*1/2 F#4*1/2 G4",
		"6/8 G: soprano D5*1/3 | B4*2/3 C5*1/3 D5*2/3 B4*1/3 | C5*2/3 E5*1/3 B4*2/3 A4*1/3 | G4*2",
	} {
		chords := melodyChords(t, text, Diatonic)
		last := len(chords) - 1
		if !chords[last].Numeral.IsTonic() || !isDominant(chords[last-1]) || chords[last-1].Quality() == harmony.DiminishedTriad {
			t.Errorf("%s ends with %v, %v, want the dominant and the tonic", text, chords[last-1], chords[last])
		}
	}
}
