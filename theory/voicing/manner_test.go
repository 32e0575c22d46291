package voicing

import (
	"math"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/tune"
)

func wayOf(t *testing.T, text string) tune.Way {
	t.Helper()
	name, labels, _ := strings.Cut(text, ": ")
	key, err := theory.ParseKey(name)
	if err != nil {
		t.Fatal(err)
	}
	var way tune.Way
	for _, label := range strings.Fields(labels) {
		n, err := harmony.ParseNumeral(label, key.Mode)
		if err != nil {
			t.Fatal(err)
		}
		way = append(way, harmony.Reading{Key: key, Numeral: n})
	}
	return way
}

// What teachers mend: a chord that returns after one other, a change against the functions
// (Hutchinson, Music Theory for the 21st-Century Classroom, ch. 16; V before IV, ii before I,
// a dominant of another degree that does not reach it), a cadence without predominant (the
// same), a phrase that ends on none of the chords that cadences end on (ch. 11) or on V6-I, a
// root held from a weak onto a strong beat, three chords over one bass note, a seventh that does
// not resolve (ch. 14). Of tonics that go on, chords that come again, the subdominant between
// tonics, the submediant in a predominant's place and IV6 after the tonic, chorales have less than
// the likeliest ways (counted by "fitharmony -validate melodies").
func TestWhatIsDisliked(t *testing.T) {
	for text, want := range map[string]float64{
		"C: I vi IV6 ii6 V I":       0,
		"C: I IV6 ii6 V I":          leapsDown,
		"C: I vi ii65 Cad64 V I":    0,
		"C: I IV V7 I":              0,
		"C: IV I6 ii6 V V":          0,
		"C: I IV6 I IV V I":         oscillates + swings + goesSlack + leapsDown + plagal,                  // IV6 between tonics
		"C: I IV6 I6 IV I V":        2*swings + stands + halfUnprepared + goesSlack + leapsDown + 2*plagal, // I IV I IV I, and one note in all
		"C: I V6 I V6 IV6 V I":      2*oscillates + swings + goesSlack,
		"C: I V IV V I":             oscillates + fallsBack,
		"C: I V6 ii V I":            struck,
		"C: I I64 I6 ii6 V I":       goesBack,               // a six-four that leads nowhere
		"C: I V IV6 V6 I ii6 V I":   goesSlack + comesAgain, // a passing IV6
		"C: I V IV6 I6 ii6 V I":     stopgap + goesSlack,    // that does not go on to a dominant
		"C: I ii I6 IV V I":         goesBack + plagal,
		"c: i V6/VII VI V i":        struck + leapsDown,
		"c: i V/V V i":              0,
		"C: I I6 V I":               unprepared,
		"C: IV6 I6 V V":             halfUnprepared + goesSlack,
		"C: I ii vi V I":            struck, // two of a hundred changes from ii go there
		"C: I V vi ii":              endsAway,
		"a: i iv V i":               0,
		"a: i iiø65 i":              struck + oscillates + plagal + endsAway, // no cadence has a name for it
		"a: i iv VII i":             struck + endsAway,
		"a: i iv6 v":                leapsDown + endsAway + goesBack, // nor does the minor dominant follow a predominant
		"C: I V7 vi":                endsAway + unprepared,           // deceptive, and nothing follows
		"C: I V/ii ii":              0,
		"C: I ii V6 I":              endsLightly,
		"C: I ii7 I6 IV V I":        struck + plagal,                             // the seventh stays
		"C: I IV V Cad64 V I":       goesBack + oscillates + swings + bassStands, // the dominant that the six-four is to delay
		"C: I ii6 V65/IV IV V I":    goesBack,                                    // the supertonic goes on to a dominant
		"C: I V65/IV IV V I":        0,                                           // one note of a line says that it comes early
		"C: I ii42 V6 I ii6 V I":    comesAgain,
		"C: I ii42 V6 I6 ii6 V I":   0,
		"C: I I I IV V I":           lingers,
		"C: I I6 I IV V I":          lingers + oscillates,
		"C: I V42/IV IV6 V I":       0,
		"C: I V42/IV IV6 I V":       takenBack + goesSlack + halfUnprepared, // what made IV a tonic leads nowhere
		"C: I vi V6 I ii6 V I":      passesOver + leapsOver + comesAgain,
		"C: I vi V I ii6 V I":       passesOver + comesAgain,
		"C: V vi V6 I ii6 V I":      leapsOver,
		"C: iii vi ii6 V I":         opensAway,
		"C: vi ii6 V I":             0,
		"C: vi6 IV V I":             opensAway,
		"C: I V42 I ii6 V I":        struck + oscillates, // the seventh is in the bass and leaps
		"C: I V65 vi65 ii6 V I":     2 * struck,          // nor does vi65 occur often
		"c: i iv V V/iv":            0,                   // the major tonic, as the model names it
		"C: I vi iii IV6 ii6 V I":   leapsDown,
		"C: I vi IV I":              endsSoftly,
		"C: I IV viio6 I":           endsSoftly,
		"C: V":                      0,
		"c: i V6 i viio6 i6 iv V":   2*swings + oscillates, // tonic and dominant by turns
		"c: i v6 i6 iio6 V i":       goesBack,              // the minor dominant leads down
		"c: i v6 iv6 i6 iio6 V i":   plagal + goesSlack,    // and not back to the tonic
		"c: i v6 iv6 V i":           0,
		"c: i iv v V i":             struck + goesBack,                // nor does it become the dominant in one place
		"c: i V/iv i iv V i":        struck + oscillates + bassStands, // nor the dominant of iv the tonic
		"c: i iv V V6/VII V6 i":     goesSlack + endsLightly + swings, // the raised subdominant leads up, on the root of iv
		"c: i iv V V6/VII i iv V i": fallsBack + stopgap + 2*comesAgain,
	} {
		way := wayOf(t, text)
		m := &manner{counted: harmony.SuccessionsIn(way[0].Key.Mode)}
		got := m.of(way)
		for _, r := range way[1:] {
			got += lift(r)
		}
		if math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: %g, want %g", text, got, want)
		}
	}
}

// What hangs on the notes of the line: fifths and octaves of the melody with the bass, the
// leading tone or a seventh in both, a root held into a stronger beat, a six-four that is weaker
// than its dominant, an early authentic cadence (rules of every textbook).
func TestWhatIsDislikedAboveAMelody(t *testing.T) {
	for _, tt := range []struct {
		text, melody string
		strengths    []int
		inner        bool
		want         float64
	}{
		{"C: I IV ii6 V I", "E4 F4 D4 B3 C4", []int{3, 1, 2, 1, 3}, false, 0},
		{"C: I I I IV V I", "C5 E4 E4 F4 D4 C4", []int{3, 2, 1, 1, 2, 1}, false, staysOn + 2*restsOn + lingers},
		{"C: I IV V V I I", "E4 F4 D4 D4 C4 C4", []int{3, 2, 1, 1, 2, 1}, false, 0},        // the end may last
		{"C: I ii V I", "G4 A4 B4 C5", []int{3, 1, 2, 1}, false, struck},                   // fifths
		{"C: I6 IV V I", "E4 F4 G4 C5", []int{3, 1, 2, 1}, false, 3 * struck},              // octaves
		{"C: I ii6 V6 I", "E4 D4 B3 C4", []int{3, 1, 2, 1}, false, 2*struck + endsLightly}, // the leading tone twice
		{"C: I IV IV6 V I", "E4 F4 F4 D4 C4", []int{3, 1, 2, 1, 3}, false, holdsOver},
		{"C: IV ii6 I64 V I", "A4 F4 E4 D4 C4", []int{3, 1, 1, 2, 3}, false, lightly},
		{"C: IV ii6 I64 V I", "A4 F4 E4 D4 C4", []int{3, 1, 2, 1, 3}, true, closesEarly + closesWhole},
		{"C: IV ii6 V V I", "A4 F4 D4 D4 E4", []int{3, 1, 2, 1, 3}, true, closesEarly},
		{"C: I IV V I I", "E4 F4 D4 E4 C4", []int{3, 1, 2, 1, 2}, false, holdsOver + staysOn + endsThere}, // the tonic is there already
		{"C: IV ii6 I64 V I", "C5 A4 E5 B4 C5", []int{3, 1, 2, 1, 3}, false, leapsOff},
		{"C: I ii7 V I", "E4 C5 G4 E4", []int{3, 1, 2, 1}, false, struck},                                       // the seventh leaps
		{"C: IV viio6 I IV V I", "A4 F4 G4 A4 B4 C5", []int{3, 1, 2, 1, 2, 3}, false, widensFifth + comesAgain}, // over the root
		{"C: IV viio6 I6 IV V I", "A4 F4 G4 A4 B4 C5", []int{3, 1, 2, 1, 2, 3}, false, comesAgain},              // in tenths with the bass
		{"C: IV viio6 I IV V I", "A4 F4 E4 F4 D4 C4", []int{3, 1, 2, 1, 2, 3}, false, comesAgain},               // it goes down
		{"C: I IV V vi", "E4 F4 D4 C4", []int{3, 1, 2, 1}, true, 0},
	} {
		way := wayOf(t, tt.text)
		m := &manner{counted: harmony.SuccessionsIn(way[0].Key.Mode), line: tune.Melody, inner: tt.inner}
		for i, name := range strings.Fields(tt.melody) {
			m.notes = append(m.notes, tune.Note{Pitch: theory.MustPitch(name), Strength: tt.strengths[i]})
		}
		got := m.of(way)
		for _, r := range way[1:] {
			got += lift(r)
		}
		if math.Abs(got-tt.want) > 1e-9 {
			t.Errorf("%s under %s: %g, want %g", tt.text, tt.melody, got, tt.want)
		}
	}
}

// A false relation is a note in an outer voice that another voice had a chromatic semitone away;
// in one voice it is a chromatic step, which all textbooks allow.
func TestFalseRelations(t *testing.T) {
	for _, tt := range []struct {
		text, melody string
		want         int
	}{
		{"c: III V6", "G4 G4", 1},    // B flat, then B in the bass
		{"c: III6 V6", "Eb5 D5", 1},  // the same, G in the bass first
		{"c: v6 V6", "G4 G4", 0},     // B flat to B in the bass
		{"C: ii V65/V", "F4 D4", 1},  // F in the melody, F sharp in the bass
		{"C: IV V65/V", "A4 A4", 0},  // F to F sharp in the bass
		{"C: IV6 V/V", "F4 F#4", 0},  // in the melody
		{"C: IV V/V", "A4 F#4", 1},   // from bass to melody
		{"C: V V42/IV", "D5 C5", 1},  // B, then B flat in the bass
		{"C: V6 V42/IV", "D5 C5", 0}, // in the bass
		{"C: I ii", "C5 D5", 0},
	} {
		way := wayOf(t, tt.text)
		m := &manner{line: tune.Melody}
		for _, name := range strings.Fields(tt.melody) {
			m.notes = append(m.notes, tune.Note{Pitch: theory.MustPitch(name)})
		}
		if got := m.crossings(1, way[0], way[1]); got != tt.want {
			t.Errorf("%s under %s: %d, want %d", tt.text, tt.melody, got, tt.want)
		}
	}
}
