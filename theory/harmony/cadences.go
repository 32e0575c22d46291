package harmony

import "partwright/theory"

// findCadences looks at how each phrase ends.
func (a *Analysis) findCadences() {
	for i := range a.Phrases {
		p := &a.Phrases[i]
		final := a.IndexAt(p.EndMoment - 1)
		if final < 0 {
			continue
		}
		a.Cadences = append(a.Cadences, a.cadence(i, final))
	}
}

// cadence names the cadence that ends phrase i with a harmony, after the
// definitions of Hutchinson, ch. 10, and Butterfield, unit 8.
func (a *Analysis) cadence(i, final int) Cadence {
	p := &a.Phrases[i]
	last := &a.Harmonies[final]
	c := Cadence{Phrase: i, Penultimate: a.before(p, final), Final: final, Onset: last.Onset, Key: last.Key}
	c.Soprano = a.soprano(p.EndMoment-1, last.Key)
	n := last.Numeral
	if n.IsApplied() && n.Degree == 5 {
		// V/vi closes a phrase as the half cadence of vi.
		c.Key = n.In(last.Key)
	}
	c.Picardy = last.Key.Mode == theory.MinorMode && n.IsTonic() && n.Quality == MajorTriad
	if n.IsDominant() && n.Degree == 5 {
		c.Kind = Half
	}
	if c.Penultimate < 0 {
		return c
	}
	before := &a.Harmonies[c.Penultimate]
	from := before.Numeral
	sameKey := before.Key == last.Key && !from.IsApplied()
	dominant := sameKey && from.IsDominant()
	rooted := dominant && from.Degree == 5 && from.Inversion == 0
	switch {
	case n.IsTonic() && rooted && n.Inversion == 0 && c.Soprano == 1:
		c.Kind = PerfectAuthentic
	case n.IsTonic() && dominant && n.Inversion < 2:
		c.Kind = ImperfectAuthentic
	case n.IsTonic() && n.Inversion == 0 && sameKey && from.Degree == 4 && !from.Quality.IsAugmentedSixth():
		c.Kind = Plagal
	case rooted && n.Degree == 6 && !n.IsApplied() && n.Inversion == 0,
		rooted && n.Degree == 4 && !n.IsApplied() && n.Inversion == 1:
		c.Kind = Deceptive
	case c.Kind == Half:
		c.Phrygian = sameKey && last.Key.Mode == theory.MinorMode && from.Degree == 4 && from.Inversion == 1 && n.Inversion == 0
	}
	return c
}

// before returns the harmony that leads to the final one within the phrase,
// past other forms of the final chord itself, or -1.
func (a *Analysis) before(p *Phrase, final int) int {
	last := &a.Harmonies[final]
	for i := final - 1; i >= 0 && a.Harmonies[i].EndMoment > p.FirstMoment; i-- {
		h := &a.Harmonies[i]
		if h.Key == last.Key && h.Root() == last.Root() && h.Numeral.Of == last.Numeral.Of {
			continue
		}
		return i
	}
	return -1
}

// soprano returns the scale degree of the highest note at a moment, 0 where it
// is altered.
func (a *Analysis) soprano(moment int, key theory.Key) int {
	var top *theory.VoiceNote
	for v := range a.texture.Voices {
		if note := a.texture.Sounding(moment, v); note != nil && (top == nil || note.Pitch.Above(top.Pitch)) {
			top = note
		}
	}
	if top == nil {
		return 0
	}
	degree, alter := key.Degree(top.Pitch.Class())
	if alter != 0 && (degree < 6 || key.Mode == theory.MajorMode) {
		return 0
	}
	return degree
}
