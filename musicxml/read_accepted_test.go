package musicxml

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"partwright/theory"
)

// A text that begins with "accepted" is kept with its place, however a program cut
// it into words; other texts are not.
func TestAcceptedTexts(t *testing.T) {
	words := func(inside string) string {
		return "<direction><direction-type>" + inside + "</direction-type></direction>"
	}
	d := readText(t, alone(common(1)+words("<words>dolce</words>")+music("G4/1")+
		words("<words>Accepted:</words><words>direct-fifths, spacing</words>")+music("A4/1")+
		words("<words>accepted by all</words>")+words("<words>accepted</words>")+music("B4/2")).partwise())
	want := []theory.AcceptedText{
		{Onset: theory.Whole(1), Words: "direct-fifths, spacing"},
		{Onset: theory.Whole(2)},
	}
	if diff := cmp.Diff(want, d.Score.Accepted, cmp.AllowUnexported(theory.Fraction{})); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}
