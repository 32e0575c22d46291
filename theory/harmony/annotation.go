package harmony

import (
	"strings"

	"partwright/theory"
)

// Annotation is what somebody has written about the harmony at one place: a
// numeral, figures or a chord symbol. It is the composer's, a teacher's or a
// pupil's own reading.
type Annotation struct {
	// It holds from Onset up to End.
	Onset, End theory.Fraction
	Source     AnnotationSource
	// Text is how it is written, without figures that stand for themselves.
	Text string
	// Chord is what it says; OpenBass leaves the inversion to the notes.
	Chord    Chord
	OpenBass bool
	// More is set where it asks for further notes, as a ninth, that the chord does
	// not have.
	More bool
	// Problem says why a label of a task is not understood, "" where it is; Silent is set
	// where it says that no chord sounds. Late are the members that come late, and Below is
	// how long the bass note before stands under the chord.
	Problem string
	Silent  bool
	Late    []Late
	Below   theory.Fraction
	// Key is the key it names, Numeral what the chord is in it; nil where it
	// leaves that open. Pivot is the same chord in a key that is being left.
	Key     *theory.Key
	Numeral *Numeral
	Pivot   *Reading
}

// AnnotationSource is the kind of label.
type AnnotationSource int8

// Kinds of label, from the one that says most.
const (
	// FromText: an analysis in RomanText beside the score.
	FromText AnnotationSource = iota
	// FromNumeral: a numeral or function in the score.
	FromNumeral
	// FromFigures: figured bass in the score.
	FromFigures
	// FromSymbol: a chord symbol in the score.
	FromSymbol
)

// String returns "romantext", "numeral", "figures" or "symbol".
func (s AnnotationSource) String() string {
	return [...]string{"romantext", "numeral", "figures", "symbol"}[s]
}

// sameChord reports whether a reading is on the root and of the quality that the
// label names, in whatever inversion.
func (a *Annotation) sameChord(r Reading) bool {
	return a.Chord.Root == r.Root() && a.Chord.Quality == r.Quality()
}

// agrees reports whether a reading is what the label says, as far as it says it.
func (a *Annotation) agrees(r Reading) bool {
	return a.sameChord(r) && (a.OpenBass || a.Chord.Inversion == r.Inversion()) && (a.Key == nil || *a.Key == r.Key)
}

// Annotations returns a human analysis as labels of a texture, each until the
// next one. Of two at one place the second is the reading in the new key.
func (r *RomanText) Annotations(t *theory.Texture) []Annotation {
	var out []Annotation
	for _, p := range r.Place(t) {
		key, numeral := p.Key, p.Numeral
		a := Annotation{
			Onset: p.Onset, End: t.Score.End(), Source: FromText, Text: p.Reading.String(),
			Chord: Chord{p.Root(), p.Quality(), p.Inversion()}, Key: &key, Numeral: &numeral,
			More: strings.ContainsAny(p.Text, "[9"),
		}
		if n := len(out); n > 0 && out[n-1].Onset == a.Onset {
			old := Reading{*out[n-1].Key, *out[n-1].Numeral}
			a.Pivot = &old
			out[n-1] = a
			continue
		}
		out = append(out, a)
	}
	return inTurn(out)
}

// inTurn ends each label where the next one begins, at the latest.
func inTurn(labels []Annotation) []Annotation {
	for i := 1; i < len(labels); i++ {
		if before := &labels[i-1]; labels[i].Onset.Less(before.End) {
			before.End = labels[i].Onset
		}
	}
	return labels
}
