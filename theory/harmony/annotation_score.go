package harmony

import (
	"slices"
	"strings"

	"partwright/theory"
)

// ScoreAnnotations returns the labels that a score carries itself, in order and
// without overlap: numerals and functions, figured bass where there are none, and
// chord symbols where there is neither. Of each kind those of the part with the
// most are taken, of equals the topmost: the others repeat them for their
// players. Labels that name no chord of ours end the one before and are left out.
func ScoreAnnotations(t *theory.Texture) []Annotation {
	s := t.Score
	if len(s.Chords) == 0 && len(s.Figures) == 0 {
		return nil
	}
	labels := numeralAnnotations(t)
	labels = fill(labels, figureAnnotations(t))
	return fill(labels, symbolAnnotations(s))
}

// busiest returns the part with the most of the labels that are asked for, -1
// for none.
func busiest[T any](labels []T, part func(*T) int) int {
	counts := map[int]int{}
	best := -1
	for i := range labels {
		if p := part(&labels[i]); p >= 0 {
			counts[p]++
		}
	}
	for p, n := range counts {
		if best < 0 || n > counts[best] || n == counts[best] && p < best {
			best = p
		}
	}
	return best
}

// symbolAnnotations reads the chord symbols. Each holds until the next one.
func symbolAnnotations(s *theory.Score) []Annotation {
	part := busiest(s.Chords, func(c *theory.GivenChord) int {
		if c.HasRoot {
			return c.Part
		}
		return -1
	})
	var out []Annotation
	for i := range s.Chords {
		given := &s.Chords[i]
		if given.Part != part || isNumeral(given) {
			continue
		}
		a := Annotation{Onset: given.Onset, End: s.End(), Source: FromSymbol}
		if chord, ok := fromKind(given); ok {
			a.Chord, a.OpenBass = chord, !given.HasBass && given.Inversion == 0
			a.More = saysMore(given)
			if given.HasBass && chord.Bass() != given.Bass { // as over a pedal
				a.OpenBass, a.More = true, true
			}
			a.Text = chord.Symbol()
		}
		out = append(out, a)
	}
	return withChord(inTurn(out))
}

// withChord drops the labels that only end others.
func withChord(labels []Annotation) []Annotation {
	return slices.DeleteFunc(labels, func(a Annotation) bool { return a.Text == "" || !a.Onset.Less(a.End) })
}

// isNumeral reports whether a label counts from a key rather than names a root.
func isNumeral(c *theory.GivenChord) bool { return c.Numeral != "" || c.Degree > 0 }

// fill returns the first labels with as much of the others as lies between them.
func fill(first, others []Annotation) []Annotation {
	if len(first) == 0 {
		return others
	}
	var out []Annotation
	next := 0
	gap := func(from, to theory.Fraction, last bool) {
		for next < len(others) && !from.Less(others[next].End) {
			next++
		}
		for i := next; i < len(others) && (last || others[i].Onset.Less(to)); i++ {
			a := others[i]
			a.Onset = later(a.Onset, from)
			if !last {
				a.End = earlier(a.End, to)
			}
			if a.Onset.Less(a.End) {
				out = append(out, a)
			}
		}
	}
	var at theory.Fraction
	for _, a := range first {
		gap(at, a.Onset, false)
		out = append(out, a)
		at = a.End
	}
	gap(at, at, true)
	return out
}

// String returns the label as a reader knows it, with its chord where that is
// not the label itself: "G: V65 (D7/F#)", "6 5 (D7/F#)", "D7/F#".
func (a *Annotation) String() string {
	if symbol := a.Chord.Symbol(); symbol != a.Text {
		return a.Text + " (" + symbol + ")"
	}
	return a.Text
}

// Symbol returns the chord symbol of a chord, such as "F#m7b5/A".
func (c Chord) Symbol() string {
	switch {
	case c.Quality.IsAugmentedSixth():
		return c.Bass().String() + c.Quality.Symbol()
	case c.Inversion > 0:
		return c.Root.String() + c.Quality.Symbol() + "/" + c.Bass().String()
	}
	return c.Root.String() + c.Quality.Symbol()
}

// figureText writes a stack of figures in one line, from the top: "#6 4 3".
func figureText(figures []theory.Figure) string {
	signs := map[string]string{
		"sharp": "#", "flat": "b", "natural": "n", "double-sharp": "##", "sharp-sharp": "##", "flat-flat": "bb",
		"double-flat": "bb", "plus": "+", "cross": "+", "slash": "/", "back-slash": "\\", "vertical": "|",
	}
	words := make([]string, 0, len(figures))
	for _, f := range figures {
		word := signs[f.Prefix]
		if f.Number > 0 {
			word += string(appendInt(nil, f.Number))
		}
		words = append(words, word+signs[f.Suffix])
	}
	return strings.Join(words, " ")
}
