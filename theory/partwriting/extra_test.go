package partwriting_test

import (
	"reflect"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
	"partwright/theory/theorytest"
)

// A bass that divides for one chord is still the lowest of four voices: what is
// found in the music does not change.
func TestExtraNotesChangeNoFinding(t *testing.T) {
	upper := []string{"S: C5 E5 D5 C5", "A: G4 G4 B4 G4", "T: E4 C4 G4 A4"}
	plain := separation.FindVoices(theorytest.Score(append(upper, "B: C3 E3 G3 F3")...))
	divided := separation.FindVoices(theorytest.Score(append(upper, "B: C3 E3 G3 F3+F2")...))
	if len(divided.Voices) != 5 {
		t.Fatalf("%d voices, want four and an extra one", len(divided.Voices))
	}
	want, got := findings(plain), findings(divided)
	if len(want) == 0 {
		t.Fatal("nothing is found in the plain version, which has faults")
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("found %v with a divided bass, %v without", got, want)
	}
}

// findings lists rules with onsets and voices.
func findings(texture *theory.Texture) []string {
	var list []string
	for _, f := range partwriting.Check(texture, nil, nil) {
		name := string(f.Rule) + " at " + f.Onset.String()
		for _, v := range f.Voices {
			name += " " + texture.Voices[v].Name
		}
		list = append(list, name)
	}
	return list
}
