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

// closing is the two chords that end a phrase.
type closing struct {
	// from is the numeral before the last, to the last one; from is zero, and what
	// follows false, where a phrase has one chord only.
	from, to Numeral
	// soprano is the scale degree on top of the last chord.
	soprano int
	// sameKey is set where both are in one key and neither is applied; dominant where
	// the first is a dominant of that key, rooted where it is V in root position.
	sameKey, dominant, rooted bool
	minor                     bool
}

func (a *Analysis) closingOf(c *Cadence) closing {
	last := &a.Harmonies[c.Final]
	e := closing{to: last.Numeral, soprano: c.Soprano, minor: last.Key.Mode == theory.MinorMode}
	if c.Penultimate < 0 {
		return e
	}
	before := &a.Harmonies[c.Penultimate]
	e.from = before.Numeral
	e.sameKey = before.Key == last.Key && !e.from.IsApplied()
	e.dominant = e.sameKey && e.from.IsDominant()
	e.rooted = e.dominant && e.from.Degree == 5 && e.from.Inversion == 0
	return e
}

// cadenceKinds tells the kind of a cadence by the first line that fits, after the
// definitions of Hutchinson, ch. 10, and Butterfield, unit 8.
var cadenceKinds = []struct {
	kind CadenceKind
	fits func(*closing) bool
}{
	{PerfectAuthentic, func(e *closing) bool {
		return e.rooted && e.to.IsTonic() && e.to.Inversion == 0 && e.soprano == 1
	}},
	{ImperfectAuthentic, func(e *closing) bool {
		return e.dominant && e.to.IsTonic() && e.to.Inversion < 2
	}},
	{Plagal, func(e *closing) bool {
		return e.sameKey && e.from.Degree == 4 && !e.from.Quality.IsAugmentedSixth() && e.to.IsTonic() && e.to.Inversion == 0
	}},
	{Deceptive, func(e *closing) bool { // V-vi
		return e.rooted && e.to.Degree == 6 && !e.to.IsApplied() && e.to.Inversion == 0
	}},
	{Deceptive, func(e *closing) bool { // V-IV6
		return e.rooted && e.to.Degree == 4 && !e.to.IsApplied() && e.to.Inversion == 1
	}},
	{Half, func(e *closing) bool {
		return e.to.IsDominant() && e.to.Degree == 5
	}},
}

func (e *closing) kind() CadenceKind {
	for i := range cadenceKinds {
		if cadenceKinds[i].fits(e) {
			return cadenceKinds[i].kind
		}
	}
	return NoCadence
}

// isPhrygian reports whether a half cadence is iv6-V in minor.
func (e *closing) isPhrygian() bool {
	return e.sameKey && e.minor && e.from.Degree == 4 && e.from.Inversion == 1 && e.to.Inversion == 0
}

// cadence names the cadence that ends phrase i with a harmony.
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
	e := a.closingOf(&c)
	c.Kind = e.kind()
	c.Phrygian = c.Kind == Half && e.isPhrygian()
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
