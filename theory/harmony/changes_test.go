package harmony

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/theorytest"
)

// What labels change is told with both readings, at the label and where the reading
// follows; without labels nothing is. The progression is ours: a V-I-V-I in C that may as
// well be I-IV-I-IV in G (common practice, no source).
func TestChanges(t *testing.T) {
	texture := theorytest.Chords("G2 D4 G4 B4 | C3 E4 G4 C5 | G2 B3 D4 B4 | C3 C4 E4 G4")
	byNotes := Analyze(texture)
	if got := byNotes.Changes(); got != nil {
		t.Errorf("without labels: %v", got)
	}
	list := func(a *Analysis) string {
		var out []string
		for _, c := range a.Changes() {
			out = append(out, fmt.Sprintf("%v to %v: %v, was %v", c.Onset, c.End, *c.Read, *c.ByNotes))
		}
		return strings.Join(out, "; ")
	}
	other := theory.Key{Tonic: theory.PitchClass{Step: theory.G}, Mode: theory.MajorMode}
	var labels []Annotation
	for i := range byNotes.Harmonies {
		h := &byNotes.Harmonies[i]
		r := ReadIn(other, Chord{h.Root(), h.Quality(), h.Inversion()})
		labels = append(labels, Annotation{Onset: h.Onset, End: h.End, Chord: Chord{h.Root(), h.Quality(), h.Inversion()},
			Key: &other, Numeral: &r.Numeral})
	}
	for _, use := range []LabelUse{Steer, Replace} {
		var want []string
		for i := range byNotes.Harmonies {
			h := &byNotes.Harmonies[i]
			if r := ReadIn(other, Chord{h.Root(), h.Quality(), h.Inversion()}); r != h.Reading {
				want = append(want, fmt.Sprintf("%v to %v: %v, was %v", h.Onset, h.End, r, h.Reading))
			}
		}
		if len(want) == 0 {
			t.Fatal("the notes alone are read in G throughout: no label changes anything")
		}
		if got := list(GuidedAs(texture, labels, use, ChoraleStyle)); got != strings.Join(want, "; ") {
			t.Errorf("%s: %s, want %s", use, got, strings.Join(want, "; "))
		}
	}
	same := slices.Clone(labels)
	for i := range same {
		h := &byNotes.Harmonies[i]
		same[i].Key, same[i].Numeral = &h.Key, &h.Numeral
	}
	if got := list(GuidedAs(texture, same, Steer, ChoraleStyle)); got != "" {
		t.Errorf("labels that say the same change %s", got)
	}
}
