package voicing

import (
	"strings"
	"testing"

	"partwright/theory/partwriting"
)

// Dorian has a raised sixth degree, phrygian a lowered second, lydian a raised fourth, mixolydian a
// lowered seventh. A tune that ends on the supertonic over a dominant, on the third or on the fifth
// need not be modal (common practice, no source).
func TestModalTunes(t *testing.T) {
	catalog, known := partwriting.CatalogFor("en")
	if !known {
		t.Fatal("no English")
	}
	for _, tt := range []struct {
		text string
		want partwriting.Phrase
		says string
	}{
		{"C: soprano D4 F4 G4 A4 C5 B4 A4 F4 E4 D4", partwriting.TuneFinal, "D minor"},
		{"d: soprano D4 F4 G4 A4 C5 B4 A4 F4 E4 D4", partwriting.TuneModal, "B"},
		{"C: soprano G4 A4 B4 D5 C5 A4 F4 G4", "", ""}, // the end may be on the dominant
		{"G: soprano G4 A4 B4 D5 C5 A4 F4 G4", partwriting.TuneModal, "F♯"},
		{"F: soprano F4 G4 A4 B4 C5 A4 G4 F4", partwriting.TuneModal, "B♭"},
		{"e: soprano E4 G4 A4 B4 A4 G4 F4 E4", partwriting.TuneModal, "bII"},
		{"a: soprano A4 C5 D5 E5 C5 B4 G4 A4", partwriting.TuneModal, "v"},
		{"a: soprano A4 C5 D5 E5 G5 F5 E5 C5 B4 A4", "", ""}, // the seventh degree goes down
		{"a: soprano E4 F#4 G#4 A4 C5 B4 G#4 A4", "", ""},
		{"C: soprano E4 F4 G4 C5 B4 A4 G4 F4 E4 D4", "", ""}, // a half cadence
		{"C: soprano C5 B4 A4 G4 A4 B4 C5", "", ""},
		{"C: I IV V I IV V I", "", ""},
	} {
		p, err := ReadProgression(tt.text)
		if err != nil {
			t.Fatal(err)
		}
		harmonize(t, p, Applied)
		said, ok := p.Modal()
		if ok != (tt.want != "") || ok && (said.Phrase != tt.want || !strings.Contains(catalog.Phrase(said.Phrase, said.Pairs...), tt.says)) {
			t.Errorf("%s: %v %v, want %q with %s", tt.text, ok, said, tt.want, tt.says)
		}
	}
}
