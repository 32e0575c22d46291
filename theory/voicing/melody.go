package voicing

import (
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/tune"
)

// Palette is which chords a melody may be given.
type Palette int8

// Palettes, each with the chords of the one before.
const (
	// Primary has the triads on the first, fourth and fifth degree and the dominant
	// seventh, Diatonic all chords of the key, in minor over the melodic forms of its
	// scale too.
	Primary Palette = iota
	Diatonic
	// Applied has dominants of other degrees, Chromatic borrowed chords, Neapolitans
	// and augmented sixths.
	Applied
	Chromatic
)

var paletteNames = [...]string{"primary", "diatonic", "applied", "chromatic"}

// String returns a word such as "diatonic".
func (p Palette) String() string { return paletteNames[p] }

// PaletteNames lists the words of all palettes.
func PaletteNames() []string { return slices.Clone(paletteNames[:]) }

// ParsePalette reads the word of a palette; "" is "applied".
func ParsePalette(word string) (Palette, bool) {
	if word == "" {
		return Applied, true
	}
	i := slices.Index(paletteNames[:], word)
	return Palette(max(i, 0)), i >= 0
}

// has reports whether a chord is in the palette.
func (p Palette) has(r harmony.Reading) bool {
	n := r.Numeral
	switch p {
	case Primary:
		return !n.IsApplied() && !n.Cadential && n.Alter == 0 && (n.Degree == 1 || n.Degree == 4 || n.Degree == 5) &&
			(n.Quality == harmony.DominantSeventh || !n.Quality.IsSeventh()) && inScale(r)
	case Diatonic:
		return !n.IsApplied() && inScale(r)
	case Applied:
		return n.IsApplied() || inScale(r)
	}
	return true
}

// inScale reports whether a chord has no note outside the scale, of minor in all its forms.
func inScale(r harmony.Reading) bool {
	for m := range r.Size() {
		degree, alter := r.Key.Degree(r.Member(m))
		if alter != 0 && !(r.Key.Mode == theory.MinorMode && alter == 1 && degree >= 6) {
			return false
		}
	}
	return true
}

const (
	// behindCosts is what a chord costs that is one in natural logarithms behind the best,
	// so that they decide before the shortest way does.
	behindCosts Cost = 1500
	// furthestBehind and mostOptions bound what is tried at all.
	furthestBehind = 4
	mostOptions    = 6
)

// Harmonize finds the chords of a palette that may stand under the open notes of a melody
// ([ProgressionChord.Open]), weighed by a model of how people harmonize. Other chords
// stay as they are and count as neighbors. A note that no chord of the palette holds keeps
// the choices it has.
func (p *Progression) Harmonize(m *tune.Model, palette Palette) {
	onsets := p.Layout.onsets(len(p.Chords))
	measures := p.Layout.measures(onsets[len(p.Chords)])
	for first := 0; first < len(p.Chords); {
		end := first + 1
		for end < len(p.Chords) && !p.Chords[end-1].PhraseEnd && p.Chords[end].melody() && p.Chords[first].melody() &&
			p.Chords[end].Reading.Key == p.Chords[first].Reading.Key {
			end++
		}
		if slices.ContainsFunc(p.Chords[first:end], func(c ProgressionChord) bool { return c.Open }) && p.Chords[first].melody() {
			p.harmonized = true
			harmonize(m, p.Chords[first:end], onsets[first:end], measures, palette)
		}
		first = end
	}
}

// melody reports whether the top voice has its note.
func (c *ProgressionChord) melody() bool { return len(c.Fixed) > 0 && c.Fixed[0] != nil }

func harmonize(model *tune.Model, chords []ProgressionChord, onsets []theory.Fraction, measures []theory.Measure, palette Palette) {
	notes := make([]tune.Note, len(chords))
	at := 0
	for i := range chords {
		for at+1 < len(measures) && !onsets[i].Less(measures[at+1].Onset) {
			at++
		}
		m := &measures[at]
		notes[i] = tune.Note{Pitch: *chords[i].Fixed[0], Strength: m.Time.Strength(onsets[i].Sub(m.Onset).Add(m.Into))}
	}
	options := model.Options(notes, chords[0].Reading.Key, func(note int, r harmony.Reading) bool {
		c := &chords[note]
		if r.MemberOf(c.Fixed[0].Class()) < 0 || c.Bass != nil && r.Bass() != c.Bass.Class() {
			return false
		}
		if c.Open {
			return palette.has(r) && (note < len(chords)-1 || rests(r))
		}
		return c.Choices == nil && c.Reading.Root() == r.Root() ||
			slices.ContainsFunc(c.Choices, func(o Choice) bool { return o.Reading == r })
	})
	for i := range chords {
		if c := &chords[i]; c.Open && len(options[i]) > 0 {
			c.Choices = nearest(options[i])
		}
	}
}

// rests reports whether a phrase can end with a chord: a triad in root position.
func rests(r harmony.Reading) bool {
	q := r.Quality()
	return r.Inversion() == 0 && (q == harmony.MajorTriad || q == harmony.MinorTriad)
}

// nearest are the options that are not far behind, as choices.
func nearest(options []tune.Option) []Choice {
	slices.SortStableFunc(options, func(a, b tune.Option) int {
		switch {
		case a.Behind < b.Behind:
			return -1
		case b.Behind < a.Behind:
			return 1
		}
		return 0
	})
	var out []Choice
	for i, o := range options {
		if i > 0 && (o.Behind > furthestBehind || i == mostOptions) {
			break
		}
		out = append(out, Choice{o.Reading, Cost(o.Behind * float64(behindCosts))})
	}
	return out
}
