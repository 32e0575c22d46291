package voicing

import (
	"cmp"
	"context"
	"errors"
	"maps"
	"math"
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/tune"
	"partwright/theory/partwriting"
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
		return !n.IsApplied() && !isSixFour(r) && n.Alter == 0 && (n.Degree == 1 || n.Degree == 4 || n.Degree == 5) &&
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
	// firstAttempts is how many ways are voiced as they are before one may be left,
	// furtherAttempts how many where the best of these has a fault or ends on neither tonic
	// nor dominant.
	firstAttempts, furtherAttempts = 8, 40
	// faultCosts and cautionCosts are for each fault and caution in a way that is voiced; of a
	// progression of more chords than longVoiced, the first way without a fault is taken.
	faultCosts, cautionCosts Cost = 100000, 600
	longVoiced                    = 64
	// outOfReach is how far behind a change counts at most.
	outOfReach = 12
)

// Harmonize finds chords of a palette for the open notes of a melody, or of a bass without
// one ([ProgressionChord.Open]), weighed by a model of how people harmonize and by what
// teachers mend (manner.go). Other chords stay as they are and count as neighbors. A note that
// no chord of the palette holds keeps the choices it has. The chords are those that the
// problem which pose makes of the progression can be voiced with; where it cannot, or the
// search fails, several choices are left at each note, and the error is that of the search.
func (p *Progression) Harmonize(ctx context.Context, model func(tune.Line) *tune.Model, palette Palette, pose func() *Problem) error {
	fields := p.fields(model, palette)
	if len(fields) == 0 {
		return nil
	}
	p.harmonized = true
	ways := make([][]foundWay, len(fields))
	for i, f := range fields {
		if i > 0 && f.first == fields[i-1].first+len(fields[i-1].chords) {
			f.follows = last(ways[i-1][0].chords)
		}
		ways[i] = f.best(firstAttempts, nil)
	}
	best, err := p.bestVoiced(ctx, fields, ways, pose)
	if err == nil && best == nil { // lines may each have a first way that stands in the way of the other's
		if err = p.possible(ctx, fields, ways, pose); err == nil {
			best, err = p.bestVoiced(ctx, fields, ways, pose)
		}
	}
	if err != nil {
		return err
	}
	if best != nil {
		way, err := p.keeps(ctx, fields, best, pose)
		if err != nil {
			return err
		}
		_, err = p.lead(ctx, fields, way, pose)
		return err
	}
	way, err := p.goes(ctx, fields, joined(fields, ways, make([]int, len(fields))), pose)
	var impossible *ImpossibleError
	switch {
	case errors.As(err, &impossible):
		return nil
	case err != nil:
		return err
	}
	_, err = p.lead(ctx, fields, way, pose)
	return err
}

// bestVoiced are the ways through each line that make the best whole once they are voiced,
// nil where none can be voiced as it is. It begins with the best way through each line and
// tries the next ones, a line at a time, and further ones while there is a fault or no close;
// in a long progression only the next ones until there is no fault.
func (p *Progression) bestVoiced(ctx context.Context, fields []*field, ways [][]foundWay, pose func() *Problem) (map[int]harmony.Reading, error) {
	at := make([]int, len(fields))
	var best map[int]harmony.Reading
	least := Cost(math.MaxInt32)
	better := func() (bool, error) {
		target := joined(fields, ways, at)
		way, err := p.keeps(ctx, fields, target, pose)
		var impossible *ImpossibleError
		if errors.As(err, &impossible) {
			return false, nil
		}
		if err != nil {
			return false, err
		}
		cost := p.judge(fields, way)
		if cost >= least {
			return false, nil
		}
		best, least = target, cost
		return true, nil
	}
	if _, err := better(); err != nil {
		return nil, err
	}
	choose := func(i, from int, goesOn func() bool) error {
		taken := at[i]
		for k := from; k < len(ways[i]) && goesOn(); k++ {
			at[i] = k
			found, err := better()
			if err != nil {
				return err
			}
			if found {
				taken = k
			}
		}
		at[i] = taken
		return nil
	}
	long, faulty := len(p.Chords) > longVoiced, func() bool { return least >= faultCosts }
	for i := range fields {
		if err := choose(i, 1, func() bool { return !long || faulty() }); err != nil {
			return nil, err
		}
	}
	lacking := func() bool { return faulty() || !p.rests(best) }
	for i := 0; i < len(fields) && !long && lacking(); i++ {
		tried := len(ways[i])
		if p.rests(best) {
			ways[i] = fields[i].best(furtherAttempts, nil)
		} else {
			ways[i] = append(ways[i], fields[i].best(furtherAttempts, p.closing(fields[i]))...)
		}
		if err := choose(i, tried, lacking); err != nil {
			return nil, err
		}
	}
	return best, nil
}

// possible takes the ways out that cannot be voiced until the first one through each line can be
// voiced with the others, as far as there are such.
func (p *Progression) possible(ctx context.Context, fields []*field, ways [][]foundWay, pose func() *Problem) error {
	searched := make([]bool, len(fields))
	for range firstAttempts * len(fields) {
		_, err := p.keeps(ctx, fields, joined(fields, ways, make([]int, len(fields))), pose)
		var impossible *ImpossibleError
		if !errors.As(err, &impossible) {
			return err
		}
		i := lineAt(fields, impossible.Slot)
		if without(fields[i], impossible, &ways[i], 0) {
			continue
		}
		if searched[i] {
			return nil
		}
		searched[i] = true
		ways[i] = append(ways[i][:1:1], fields[i].best(furtherAttempts, nil)...)
		if !without(fields[i], impossible, &ways[i], 0) {
			return nil
		}
	}
	return nil
}

// rests reports whether a harmonization leaves the last chord a tonic or a dominant, as a
// phrase ends; where it does not choose that chord it has no say.
func (p *Progression) rests(chosen map[int]harmony.Reading) bool {
	last, ok := chosen[len(p.Chords)-1]
	return !ok || closesOn(last)
}

// joined are ways through each line by the index of the chord in the progression.
func joined(fields []*field, ways [][]foundWay, at []int) map[int]harmony.Reading {
	out := map[int]harmony.Reading{}
	for i, f := range fields {
		maps.Copy(out, f.from(ways[i][at[i]].chords))
	}
	return out
}

// judge is what a harmonization costs with what teachers mend in its chords and in its voices,
// and what the rules find.
func (p *Progression) judge(fields []*field, way Harmonization) Cost {
	sum := way.Solution.Cost
	chords := readingsOf(way.Solution)
	for _, f := range fields {
		part := f.parts([]tune.Way{chords})[0]
		counts := f.manner.of(part) - f.met(part)
		if f.first > 0 {
			counts += f.joins(modeled(chords[f.first-1]), part[0])
		}
		sum += Cost(counts * float64(behindCosts))
	}
	for _, found := range p.findings(way) {
		switch found.Severity {
		case partwriting.Fault:
			sum += faultCosts
		case partwriting.Caution:
			sum += cautionCosts
		}
	}
	return sum + sung(way.Solution, &way.Search.problem.Style)
}

// findings are what the rules find in a harmonization.
func (p *Progression) findings(way Harmonization) []partwriting.Finding {
	style := &way.Search.problem.Style
	texture := way.Solution.Texture(style, p.Layout)
	return partwriting.CheckPart(texture, way.Solution.Harmony(texture, p.Layout), style.Rules)
}

func last(way tune.Way) *harmony.Reading { return &way[len(way)-1] }

// fields are the lines in which chords are to be chosen, with the ways through them.
func (p *Progression) fields(model func(tune.Line) *tune.Model, palette Palette) []*field {
	var out []*field
	for _, s := range p.openLines(palette) {
		out = append(out, s.field(model))
	}
	return out
}

// goes voices the progression along a way, which it may leave where that is cheaper, and
// settles on the chords it finds and the voices that are best in whole lines.
func (p *Progression) goes(ctx context.Context, fields []*field, target map[int]harmony.Reading, pose func() *Problem) (Harmonization, error) {
	for _, f := range fields {
		f.choose(target)
	}
	way, err := p.voiced(ctx, pose)
	if err != nil {
		return way, err
	}
	for _, f := range fields {
		f.settle(way.Solution.Chords[f.first:])
	}
	return p.sung(ctx, pose)
}

// keeps voices the progression along a way as it is, with the voices that are best in whole lines.
func (p *Progression) keeps(ctx context.Context, fields []*field, target map[int]harmony.Reading, pose func() *Problem) (Harmonization, error) {
	for _, f := range fields {
		found := make([]Chord, len(f.chords))
		for i := range found {
			found[i].Reading = target[f.first+i]
		}
		f.settle(found)
	}
	return p.sung(ctx, pose)
}

// sung is [Progression.voiced] with the voices that are best in whole lines.
func (p *Progression) sung(ctx context.Context, pose func() *Problem) (Harmonization, error) {
	way, err := p.voiced(ctx, pose)
	if err == nil {
		way.Solution = way.Search.sung()
	}
	return way, err
}

func (p *Progression) voiced(ctx context.Context, pose func() *Problem) (Harmonization, error) {
	search, err := NewSearch(ctx, pose())
	if err != nil {
		return Harmonization{}, err
	}
	best, err := search.Alternatives(ctx, 1)
	if err != nil {
		return Harmonization{}, err
	}
	return Harmonization{search, best[0]}, nil
}

// charging is a charge for a chord at a note of a line.
type charging func(note int, r harmony.Reading) float64

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
			var before *theory.Pitch
			if first > 0 {
				if other, note := p.Chords[first-1].line(); other == line {
					before = note
				}
			}
			out = append(out, &openLine{
				line: line, first: first, before: before, chords: p.Chords[first:end], onsets: onsets[first:end], measures: measures, palette: palette,
				inner: end < len(p.Chords) && p.Chords[end-1].PhraseEnd,
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
	// inner is set where another phrase follows.
	inner bool
	// before is the note of the line that ends the phrase before, nil where there is none.
	before *theory.Pitch
}

// notes are the given notes of the line.
func (s *openLine) notes() []tune.Note {
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
	return notes
}

// weigh has a model weigh the chords; the charge may be nil.
func (s *openLine) weigh(model *tune.Model, charge charging) *tune.Weighed {
	return model.Weigh(s.notes(), s.chords[0].Reading.Key, s.allowed, tune.Charge(charge))
}

// choose gives each open chord those that are not far behind, at what it costs to leave a
// target given by the index of the chord in the progression.
func (f *field) choose(target map[int]harmony.Reading) {
	charged := f.weigh(f.model, func(note int, r harmony.Reading) float64 {
		switch wanted, ok := target[f.first+note]; {
		case !ok || r == wanted:
			return 0
		case r.Root() == wanted.Root():
			return leavesChord
		}
		return leavesRoot
	})
	opening := map[harmony.Reading]float64{}
	for _, o := range charged.Options()[0] {
		opening[o.Reading] = o.Behind
	}
	options := f.plain.Options()
	for i := range f.chords {
		c := &f.chords[i]
		c.after = nil
		if i > 0 {
			c.after = f.after(charged, i)
		}
		if !c.Open || len(options[i]) == 0 {
			continue
		}
		for k := range options[i] { // the way is tried, however far behind it is
			if o := &options[i][k]; o.Reading == target[f.first+i] {
				o.Behind = 0
			}
		}
		c.Choices = nearest(options[i])
		for k := range c.Choices {
			r := &c.Choices[k].Reading
			c.Choices[k].Cost = 0
			if i == 0 {
				c.Choices[k].Cost = f.opens(opening, *r)
			}
			if i == len(f.chords)-1 && raisedTonic(*r) {
				*r = named([]Chord{{Reading: *r}}, 0)
			}
		}
	}
}

func (f *field) opens(opening map[harmony.Reading]float64, r harmony.Reading) Cost {
	return Cost(min(opening[r], outOfReach) * float64(behindCosts))
}

// settle leaves each open chord the one that was found, at what it costs by the model alone.
func (f *field) settle(found []Chord) {
	found = slices.Clone(found[:len(f.chords)])
	for i := range slices.Backward(found) { // a name may hang on what follows
		found[i].Reading = named(found, i)
	}
	opening := map[harmony.Reading]float64{}
	for _, o := range f.plain.Options()[0] {
		opening[o.Reading] = o.Behind
	}
	for i := range f.chords {
		c := &f.chords[i]
		c.weary = nil
		if i > 0 {
			c.after = f.after(f.plain, i)
		}
		if !c.Open && !slices.ContainsFunc(c.Choices, func(o Choice) bool { return o.Reading == found[i].Reading }) {
			continue
		}
		c.Choices = []Choice{{Reading: found[i].Reading}}
		if i == 0 {
			c.Choices[0].Cost = f.opens(opening, found[i].Reading)
		}
	}
}

// after is what it costs to come to a chord at a note.
func (s *openLine) after(w *tune.Weighed, note int) Syntax {
	return func(from, to harmony.Reading) Cost {
		return Cost(min(w.Behind(note, modeled(from), modeled(to)), outOfReach) * float64(behindCosts))
	}
}

// named is a chord of a phrase as somebody names it who sees what follows: a cadential
// six-four, in minor the subdominant with a raised third and the major tonic at the end.
func named(phrase []Chord, at int) harmony.Reading {
	r := phrase[at].Reading
	n := &r.Numeral
	last := at == len(phrase)-1
	switch {
	case last && raisedTonic(r):
		*n = harmony.Numeral{Degree: 1, Quality: harmony.MajorTriad, Inversion: n.Inversion}
	case !last && isCadential(r, phrase[at+1].Reading):
		n.Cadential = true
	case !last && raisedSubdominant(r) && phrase[at+1].Reading.Root() != r.Key.Scale()[6] && phrase[at+1].Reading.Numeral.Of != n.Of:
		*n = harmony.Numeral{Degree: 4, Quality: n.Quality, Inversion: n.Inversion}
	}
	return r
}

// raisedSubdominant reports whether a chord is the dominant of the seventh degree of a minor
// key, which has the notes of the subdominant over the raised sixth degree.
func raisedSubdominant(r harmony.Reading) bool {
	n := r.Numeral
	return r.Key.Mode == theory.MinorMode && n.Degree == 5 && n.Of == harmony.Target{Degree: 7}
}

// modeled is a chord as the model names it, which names chords without what follows them.
func modeled(r harmony.Reading) harmony.Reading {
	n := r.Numeral
	r.Numeral.Cadential = false
	major := n.Quality == harmony.MajorTriad || n.Quality == harmony.DominantSeventh
	if r.Key.Mode == theory.MinorMode && !n.IsApplied() && n.Alter == 0 && major && (n.Degree == 1 || n.Degree == 4) {
		return harmony.ReadIn(r.Key, harmony.Chord{Root: r.Root(), Quality: r.Quality(), Inversion: r.Inversion()})
	}
	return r
}

// allowed reports whether a chord holds the notes that are given, and is of the palette
// where it is to be chosen.
func (s *openLine) allowed(note int, r harmony.Reading) bool {
	c := &s.chords[note]
	if len(c.Fixed) > 0 && c.Fixed[0] != nil && r.MemberOf(c.Fixed[0].Class()) < 0 || c.Bass != nil && r.Bass() != c.Bass.Class() {
		return false
	}
	if c.Open {
		return s.palette.has(r) && c.holdsBesides(r) && (note < len(s.chords)-1 || s.rests(note, r))
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
	slices.SortStableFunc(options, func(a, b tune.Option) int { return cmp.Compare(a.Behind, b.Behind) })
	var out []Choice
	for i, o := range options {
		if i > 0 && (o.Behind > furthestBehind || i == mostOptions) {
			break
		}
		out = append(out, Choice{o.Reading, Cost(o.Behind * float64(behindCosts))})
	}
	return out
}
