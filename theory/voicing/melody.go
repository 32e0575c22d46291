package voicing

import (
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/tune"
)

// Palette is which chords a melody, or a bass without figures, may be given.
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
	behindCosts Cost = 3000
	// furthestBehind and mostOptions bound what is tried at all.
	furthestBehind = 4
	mostOptions    = 6
	// leavesRoot and leavesChord are how much less likely a chord is to count that has another
	// root, or is another chord on the same root, than the way that is preferred.
	leavesRoot, leavesChord = 4.0, 1.0
	// outOfReach is how far behind a change counts at most.
	outOfReach = 12
)

// Harmonize finds the chords of a palette that may stand at the open notes of a melody, or
// of a bass without one ([ProgressionChord.Open]), weighed by a model of how people
// harmonize. Other chords stay as they are and count as neighbors. A note that no chord of
// the palette holds keeps the choices it has.
func (p *Progression) Harmonize(model func(tune.Line) *tune.Model, palette Palette) {
	p.harmonize(model, palette, nil)
}

// charging is a charge for a chord of a progression, by its index.
type charging func(k int, r harmony.Reading) float64

func (p *Progression) harmonize(model func(tune.Line) *tune.Model, palette Palette, charge charging) {
	for _, s := range p.openLines(palette) {
		p.harmonized = true
		if charge != nil {
			w := s.weigh(model, charge)
			s.choose(w.Options(), w)
			continue
		}
		plain := s.weigh(model, nil)
		way := plain.Preferred(s.line, dislikes)
		options := plain.Options()
		for i, r := range way { // the way is tried, however far behind it is
			for k := range options[i] {
				if o := &options[i][k]; o.Reading == r {
					o.Behind = 0
				}
			}
		}
		s.choose(options, s.weigh(model, toward(s.from(way), leavesRoot, leavesChord)))
	}
}

// from is a way by the index of its chords in the progression.
func (s *openLine) from(way tune.Way) map[int]harmony.Reading {
	out := map[int]harmony.Reading{}
	for i, r := range way {
		out[s.first+i] = r
	}
	return out
}

// openLines are the lines in which chords are to be chosen.
func (p *Progression) openLines(palette Palette) []*openLine {
	var out []*openLine
	onsets := p.Layout.onsets(len(p.Chords))
	measures := p.Layout.measures(onsets[len(p.Chords)])
	for first := 0; first < len(p.Chords); {
		line, given := p.Chords[first].line()
		end := first + 1
		for end < len(p.Chords) && !p.Chords[end-1].PhraseEnd && p.Chords[end].Reading.Key == p.Chords[first].Reading.Key {
			if other, note := p.Chords[end].line(); note == nil || other != line {
				break
			}
			end++
		}
		if given != nil && slices.ContainsFunc(p.Chords[first:end], func(c ProgressionChord) bool { return c.Open }) {
			out = append(out, &openLine{
				line: line, first: first, chords: p.Chords[first:end], onsets: onsets[first:end], measures: measures, palette: palette,
			})
		}
		first = end
	}
	return out
}

// Harmonized reports whether a model has weighed chords of the progression.
func (p *Progression) Harmonized() bool { return p.harmonized }

// line is the given line by which a chord is chosen, and its note: the top voice where that
// is given, else the bass; nil where neither is.
func (c *ProgressionChord) line() (tune.Line, *theory.Pitch) {
	if len(c.Fixed) > 0 && c.Fixed[0] != nil {
		return tune.Melody, c.Fixed[0]
	}
	return tune.Bass, c.Bass
}

// openLine are chords of one key and phrase over the notes of one line.
type openLine struct {
	line tune.Line
	// first is the index of its first chord in the progression.
	first    int
	chords   []ProgressionChord
	onsets   []theory.Fraction
	measures []theory.Measure
	palette  Palette
}

// weigh has the model weigh the chords; the charge may be nil.
func (s *openLine) weigh(model func(tune.Line) *tune.Model, charge charging) *tune.Weighed {
	notes := make([]tune.Note, len(s.chords))
	at := 0
	for i := range s.chords {
		for at+1 < len(s.measures) && !s.onsets[i].Less(s.measures[at+1].Onset) {
			at++
		}
		m := &s.measures[at]
		_, note := s.chords[i].line()
		notes[i] = tune.Note{Pitch: *note, Strength: m.Time.Strength(s.onsets[i].Sub(m.Onset).Add(m.Into))}
	}
	var own tune.Charge
	if charge != nil {
		own = func(note int, r harmony.Reading) float64 { return charge(s.first+note, r) }
	}
	return model(s.line).Weigh(notes, s.chords[0].Reading.Key, s.allowed, own)
}

// choose gives each open chord those of the options that are not far behind: the first what
// it costs as it is weighed, the others what it costs to come to them.
func (s *openLine) choose(options [][]tune.Option, w *tune.Weighed) {
	opening := map[harmony.Reading]float64{}
	for _, o := range w.Options()[0] {
		opening[o.Reading] = o.Behind
	}
	for i := range s.chords {
		c := &s.chords[i]
		c.after = nil
		if i > 0 {
			c.after = s.after(w, i)
		}
		if !c.Open || len(options[i]) == 0 {
			continue
		}
		c.Choices = nearest(options[i])
		for k := range c.Choices {
			c.Choices[k].Cost = 0
			if i == 0 {
				c.Choices[k].Cost = Cost(min(opening[c.Choices[k].Reading], outOfReach) * float64(behindCosts))
			}
			if r := &c.Choices[k].Reading; i == len(s.chords)-1 && raisedTonic(*r) {
				r.Numeral = harmony.Numeral{Degree: 1, Quality: harmony.MajorTriad, Inversion: r.Numeral.Inversion}
			}
		}
	}
}

// after is what it costs to come to a chord at a note.
func (s *openLine) after(w *tune.Weighed, note int) Syntax {
	return func(from, to harmony.Reading) Cost {
		// The major tonic in minor has another name for the model.
		if n := to.Numeral; n.IsTonic() && !n.IsApplied() && to.Key.Mode == theory.MinorMode && n.Quality == harmony.MajorTriad {
			to = harmony.ReadIn(to.Key, harmony.Chord{Root: to.Root(), Quality: to.Quality(), Inversion: to.Inversion()})
		}
		return Cost(min(w.Behind(note, from, to), outOfReach) * float64(behindCosts))
	}
}

// allowed reports whether a chord holds the notes that are given, and is of the palette
// where it is to be chosen.
func (s *openLine) allowed(note int, r harmony.Reading) bool {
	c := &s.chords[note]
	if len(c.Fixed) > 0 && c.Fixed[0] != nil && r.MemberOf(c.Fixed[0].Class()) < 0 || c.Bass != nil && r.Bass() != c.Bass.Class() {
		return false
	}
	if c.Open {
		return s.palette.has(r) && (note < len(s.chords)-1 || s.rests(note, r))
	}
	return c.Choices == nil && c.Reading.Root() == r.Root() ||
		slices.ContainsFunc(c.Choices, func(o Choice) bool { return o.Reading == r })
}

// rests reports whether a phrase can end with a chord: a triad in root position, or the one
// that the given bass leaves. In minor it is the major tonic only where a note asks for it.
func (s *openLine) rests(note int, r harmony.Reading) bool {
	q := r.Quality()
	if q != harmony.MajorTriad && q != harmony.MinorTriad || r.Inversion() != 0 && !(s.line == tune.Bass && r.Inversion() == 1) {
		return false
	}
	if !raisedTonic(r) {
		return true
	}
	tonic := harmony.Reading{Key: r.Key, Numeral: harmony.Numeral{Degree: 1, Quality: harmony.MinorTriad}}
	_, given := s.chords[note].line()
	return tonic.MemberOf(given.Class()) < 0
}

// raisedTonic reports whether a chord is the major tonic of a minor key, which in the middle
// of a phrase is the dominant of the fourth degree.
func raisedTonic(r harmony.Reading) bool {
	return r.Key.Mode == theory.MinorMode && r.Numeral.IsApplied() && r.Root() == r.Key.Tonic && r.Quality() == harmony.MajorTriad
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
