package leading_test

import (
	"encoding/json"
	"fmt"
	"partwright/api/page/pagetest"
	"testing"
)

// TestRowsAreTransposed moves rows of every kind to other keys, spells the notes of a MIDI
// keyboard, and names intervals. Transposing keeps every interval (common practice, no
// source); beyond two octaves an interval is named as the simple one; key 69 is A4 and 60 middle C (MIDI 1.0); an augmented fourth and a diminished
// fifth are spelled apart.
func TestRowsAreTransposed(t *testing.T) {
	pagetest.Chromium(t)
	b := pagetest.Browse(t, pagetest.Serve(t), 800, 600)
	for name, file := range map[string]string{"row": "lead-row.js", "keyboard": "lead-midi.js", "intervals": "intervals.js"} {
		b.Do(pagetest.Script(fmt.Sprintf(`import(document.querySelector('script[type=module]').src.replace('main.js', %q)).then((m) => { globalThis.%s = m; })`, file, name)))
		b.Until("the module is there", "globalThis."+name)
	}
	for _, c := range []struct{ row, from, to, want string }{
		{"C: I IV V7/V*2 V", "C", "Eb", "Eb: I IV V7/V*2 V"},
		{"C: I{E5,G4,C4,C3} G: V7 I", "C", "B", "B: I{D#5,F#4,B3,B2} F#: V7 I"},
		{"3/4 G: G Em Am/C D7 G", "G", "Bb", "3/4 Bb: Bb Gm Cm/Eb F7 Bb"},
		{"g: bass G2 F#2/6 G2*2", "g", "c", "c: bass C3 B2/6 C3*2"},
		{"F: soprano A4 Bb4 C5", "F", "A", "A: soprano C#5 D5 E5"},
		{"C: unfigured C3 D3", "C", "D", "D: unfigured D3 E3"},
		{"C: Ger65 N6 bVII Fr43", "C", "D", "D: Ger65 N6 bVII Fr43"},
	} {
		quoted, _ := json.Marshal(c.row)
		got := pagetest.Value[string](b, fmt.Sprintf(`row.transposed(%s, row.between(%q, %q))`, quoted, c.from, c.to))
		if got != c.want {
			t.Errorf("%s from %s to %s: %s, want %s", c.row, c.from, c.to, got, c.want)
		}
	}
	// A chord under a melody is held by the word it stands at, and the melody stays its own; one that
	// comes in under a note of the melody has no word.
	given := `new Map([[0, ['G4', 'E4', 'C4', 'C3']], [2, ['C5', 'G4', 'E4', 'C3']], [3, ['B4', 'G4', 'D4', 'G3']]])`
	chords := `[{ onset: '0' }, { onset: '1' }, { onset: '3' }, { onset: '4' }]`
	text := "C: soprano G4 A4*1/2 B4*1/2 C5 C5*3/2 B4*1/2 | C5*3"
	if got, want := pagetest.Value[string](b, fmt.Sprintf(`row.withGiven(%[1]q, %[2]s, row.placed(%[1]q, %[3]s))`, text, given, chords)),
		"C: soprano G4{-,E4,C4,C3} A4*1/2 B4*1/2 C5 C5{-,G4,E4,C3}*3/2 B4*1/2 | C5*3"; got != want {
		t.Errorf("held chords under a melody: %s, want %s", got, want)
	}
	for _, c := range []struct {
		number    int
		key, want string
	}{{60, "C", "C4"}, {69, "C", "A4"}, {70, "F", "Bb4"}, {66, "G", "F#4"}, {66, "g", "F#4"}, {71, "c", "B4"}, {56, "a", "G#3"}, {63, "c", "Eb4"}} {
		if got := pagetest.Value[string](b, fmt.Sprintf(`keyboard.spelled(%d, %q)`, c.number, c.key)); got != c.want {
			t.Errorf("key %d in %s: %s, want %s", c.number, c.key, got, c.want)
		}
	}
	for _, c := range []struct{ high, low, want string }{
		{"G4", "C4", "P5"}, {"C5", "E4", "m6"}, {"B4", "F4", "A4"}, {"F5", "B4", "d5"}, {"E5", "C3", "M3"}, {"E4", "C4", "M3"}, {"C4", "C4", "P1"}, {"C5", "C4", "P8"},
	} {
		got := pagetest.Value[string](b, fmt.Sprintf(`intervals.interval(%q, %q).name`, c.high, c.low))
		if got != c.want {
			t.Errorf("%s over %s: %s, want %s", c.high, c.low, got, c.want)
		}
	}
}
