package tune_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/tune"
)

// notesOf is a melody of quarter notes in 4/4, from the first beat.
func notesOf(text string) []tune.Note {
	time := theory.TimeSignature{Beats: 4, BeatType: 4}
	var out []tune.Note
	for i, name := range strings.Fields(text) {
		out = append(out, tune.Note{Pitch: theory.MustPitch(name), Strength: time.Strength(theory.Whole(int64(i % 4)))})
	}
	return out
}

func holds(notes []tune.Note) tune.Allowed {
	return func(i int, r harmony.Reading) bool { return r.MemberOf(notes[i].Pitch.Class()) >= 0 }
}

// best are the chords of the best way through a phrase.
func best(m *tune.Model, notes []tune.Note, key theory.Key) string {
	var out []string
	for _, options := range m.Options(notes, key, holds(notes), nil) {
		for _, o := range options {
			if o.Behind == 0 {
				out = append(out, o.Numeral.Text(key.Mode))
				break
			}
		}
	}
	return strings.Join(out, " ")
}

// The closes that textbooks give for the last two notes of a tune (Hutchinson, Music Theory
// for the 21st-Century Classroom, ch. 11): the tonic reached from above or below takes V-I.
func TestClosesOfTunes(t *testing.T) {
	for _, tt := range []struct{ key, melody string }{
		{"C", "E5 F5 E5 D5 C5 D5 D5 C5"}, {"C", "G4 A4 C5 C5 D5 C5 B4 C5"},
		{"a", "C5 D5 C5 B4 A4 C5 B4 A4"}, {"a", "E5 D5 C5 B4 C5 A4 G#4 A4"},
	} {
		key, err := theory.ParseKey(tt.key)
		if err != nil {
			t.Fatal(err)
		}
		chords := strings.Fields(best(tune.Default(tune.Melody), notesOf(tt.melody), key))
		end := strings.Join(chords[len(chords)-2:], " ")
		if end := strings.Replace(end, "V7", "V", 1); !strings.EqualFold(end, "V i") || !strings.HasPrefix(end, "V ") {
			t.Errorf("%s: %s closes %s: %v", tt.key, tt.melody, end, chords)
		}
	}
}

// A melody in another key has the same numerals.
func TestKeysAreEqual(t *testing.T) {
	key, _ := theory.ParseKey("C")
	notes := notesOf("E4 F4 G4 A4 G4 F4 E4 D4 C4")
	up, _ := theory.ParseKey("Ab")
	higher := notesOf("C5 Db5 Eb5 F5 Eb5 Db5 C5 Bb4 Ab4")
	if a, b := best(tune.Default(tune.Melody), notes, key), best(tune.Default(tune.Melody), higher, up); a != b || a == "" {
		t.Errorf("%s in C, %s in A flat", a, b)
	}
}

// A model prefers what it has learned, and is the same when it is read again.
func TestFitAndTable(t *testing.T) {
	key, _ := theory.ParseKey("C")
	notes := notesOf("E4 D4 C4")
	var all []tune.Example
	for range 2000 {
		e := tune.Example{Notes: notes, Key: key, Weight: 1}
		for _, text := range []string{"I", "viio6", "vi"} {
			n, err := harmony.ParseNumeral(text, key.Mode)
			if err != nil {
				t.Fatal(err)
			}
			e.Chords = append(e.Chords, harmony.Reading{Key: key, Numeral: n})
		}
		all = append(all, e)
	}
	m := tune.Fit(all)
	if got := best(m, notes, key); got != "I viio6 vi" {
		t.Errorf("learned %s", got)
	}
	var first, second bytes.Buffer
	if err := m.Write(&first, tune.Melody); err != nil {
		t.Fatal(err)
	}
	again, err := tune.Read(strings.NewReader(first.String()))
	if err != nil {
		t.Fatal(err)
	}
	if err := again.Write(&second, tune.Melody); err != nil || first.String() != second.String() {
		t.Errorf("written again it differs (%v)", err)
	}
}

func TestTableRefusesOtherRows(t *testing.T) {
	const chords = "chord\tM\tI\t60000\nchord\tM\tV\t40000\n"
	for _, row := range []string{
		"I", "chord\tD\tI\t1", "chord\tM\tH\t1", "chord\tM\tIV", "chord\tM\tIV\t-1", "chord\tM\tIV\tx", "note\tM\tany\t0\t9:1", "note\tM\tany\t7\t0:1", "note\tM\tany\t0\t0:x",
		"change\tM\t9\t0\t0:1", "change\tM\t0\t0\t-1:1", "other\tM\t0\t0\t0:1", "note\tM\tany\t0",
	} {
		if _, err := tune.Read(strings.NewReader(chords + row + "\n")); err == nil {
			t.Errorf("%q was read", row)
		}
	}
	if _, err := tune.Read(strings.NewReader("# a remark\n" + chords + "note\tM\tany\t0\t1:50\n")); err != nil {
		t.Error(err)
	}
}

// What a phrase's first chord and the changes after it are behind adds up: the least sum of
// all ways through a chord, found by trying all, is what the chord is said to be behind.
func TestBehindAddsUp(t *testing.T) {
	key, _ := theory.ParseKey("C")
	notes := notesOf("E4 D4 C4")
	w := tune.Default(tune.Melody).Weigh(notes, key, holds(notes), nil)
	options := w.Options()
	var least [3]map[harmony.Reading]float64
	for i := range least {
		least[i] = map[harmony.Reading]float64{}
	}
	for _, a := range options[0] {
		for _, b := range options[1] {
			for _, c := range options[2] {
				sum := a.Behind + w.Behind(1, a.Reading, b.Reading) + w.Behind(2, b.Reading, c.Reading)
				for i, r := range []harmony.Reading{a.Reading, b.Reading, c.Reading} {
					if x, known := least[i][r]; !known || sum < x {
						least[i][r] = sum
					}
				}
			}
		}
	}
	for i := range options {
		for _, o := range options[i] {
			if math.Abs(o.Behind-least[i][o.Reading]) > 1e-9 {
				t.Errorf("note %d: %v is %.3f behind, the best way through it %.3f", i+1, o.Reading, o.Behind, least[i][o.Reading])
			}
		}
	}
	foreign := harmony.Reading{Key: key, Numeral: harmony.Numeral{Degree: 4, Alter: 1, Quality: harmony.MinorTriad}}
	if x := w.Behind(1, options[0][0].Reading, foreign); x != 0 {
		t.Errorf("a chord that the model does not know is %.3f behind", x)
	}
}
