package voicing

import (
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
// same), a phrase that ends on none of the chords that cadences end on (ch. 11) or on V6-I.
func TestWhatIsDisliked(t *testing.T) {
	for text, want := range map[string]float64{
		"C: I IV6 ii6 V I":       0,
		"C: I vi ii65 Cad64 V I": 0,
		"C: I IV V7 vi":          0,
		"C: IV I6 ii6 V V":       0,
		"C: I IV6 I IV V I":      oscillates,
		"C: I V6 I V6 IV V I":    2*oscillates + goesBack,
		"C: I V IV V I":          oscillates + goesBack,
		"C: I ii I6 IV V I":      goesBack,
		"c: i V6/VII VI V i":     goesBack,
		"c: i V/V V i":           0,
		"C: vi I6 V I":           unprepared + goesSlack,
		"C: IV6 I6 V V":          unprepared,
		"C: IV I6 Cad64 V7 I":    unprepared,
		"C: I ii vi V I":         goesSlack,
		"C: I V vi ii":           endsAway,
		"C: I V/ii ii":           0,
		"C: I ii V6 I":           endsLightly,
		"c: i iv V V/iv":         0, // the major tonic, as the model names it
		"C: I I":                 0,
		"C: V":                   0,
	} {
		if got := dislikes(wayOf(t, text)); got != want {
			t.Errorf("%s: %g, want %g", text, got, want)
		}
	}
}
