package harmony

import (
	"testing"

	"partwright/theory/theorytest"
)

// A chord that leads from C into G is vi of the one key and ii of the other (common
// chord modulation: Hutchinson, Music Theory for the 21st-Century Classroom, ch. 22).
func TestPlausibleTellsBothKeysOfAPivot(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | F3 A3 C4 F5 | G3 G3 B3 D5 | C3 G3 E4 C5 | A2 A3 E4 C5 | D3 A3 D4 F#4 | G2 G3 D4 B4 | G2 G3 D4 B4")
	a := Analyze(texture)
	keys := map[string]bool{}
	for _, r := range a.Plausible(4, 0.05) {
		keys[r.String()] = true
	}
	if !keys["C: vi"] || !keys["G: ii"] {
		t.Errorf("the chord of A minor is told as %v", keys)
	}
}

// A complete dominant seventh that resolves in a settled key contains the leading tone
// for everybody: common practice, no source.
func TestPlausibleAgreesOnADominantSeventh(t *testing.T) {
	texture := theorytest.Chords("C3 G3 E4 C5 | F3 A3 C4 F4 | G3 G3 B3 F4 | C3 G3 C4 E4 | F3 A3 C4 F4 | G3 G3 B3 F4 | C3 G3 C4 E4 | C3 G3 C4 E4")
	a := Analyze(texture)
	for _, r := range a.Plausible(5, LeastPlausible) {
		if lead, ok := r.LeadingTone(); !ok || lead.String() != "B" {
			t.Errorf("%s has the leading tone %s, %v", r, lead, ok)
		}
	}
}

// TestPlausible holds what every analysis promises of its readings at any moment.
func TestPlausible(t *testing.T) {
	texture := theorytest.Chords(period)
	a := Analyze(texture)
	others := 0
	for m := range texture.Moments {
		h, all := a.At(m), a.Plausible(m, 0)
		if all[0].Reading != h.Reading {
			t.Errorf("moment %d: %s comes before the analysis's own %s", m, all[0], h.Reading)
		}
		if m == h.FirstMoment && all[0].Confidence != h.Confidence {
			t.Errorf("moment %d: %g is told of the own reading, %g of the harmony", m, all[0].Confidence, h.Confidence)
		}
		sum := all[0].Confidence
		for i, r := range all[1:] {
			sum += r.Confidence
			if i > 0 && (r.Margin < all[i].Margin || r.Confidence > all[i].Confidence) {
				t.Errorf("moment %d: %s is no less likely than %s", m, r, all[i])
			}
		}
		if sum > 1 {
			t.Errorf("moment %d: confidences sum up to %g", m, sum)
		}
		others += len(all) - 1
	}
	if others == 0 {
		t.Error("nothing else is ever told")
	}
	if only := Assume(texture, []Label{{Reading: a.Harmonies[0].Reading}}).Plausible(0, 0); len(only) != 1 || only[0].Confidence != 1 {
		t.Errorf("a given label is told as %v", only)
	}
}
