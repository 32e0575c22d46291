package voicing

import (
	"slices"

	"partwright/theory"
	"partwright/theory/partwriting"
)

// modalFrom is how many notes a tune has at least of which a mode is told.
const modalFrom = 6

// telling is what tells a mode from major or minor on its final: the note that it has and the
// one that they have in its place, in fifths above the final, and a chord that it has and they
// have not (common practice, no source).
type telling struct {
	mode           theory.Mode
	natural, usual int
	chord          string
}

var tellings = []telling{
	{theory.MinorMode, 3, -4, "IV"},  // dorian
	{theory.MinorMode, -5, 2, "bII"}, // phrygian
	{theory.MajorMode, 6, -1, "II"},  // lydian
	{theory.MajorMode, -2, 5, "v"},   // mixolydian
}

// Modal says where a tune that has its chords chosen as in major or minor may be meant in
// another mode: it ends on a note that is not in the tonic triad but begins on that note or the
// fifth above, or it has the note that tells a mode and never the one that major or minor has there, or in
// minor comes to its final from the whole tone below. It is false for other lines and where
// the key changes.
func (p *Progression) Modal() (said partwriting.Said, ok bool) {
	notes, key, ok := p.tune()
	if !ok {
		return said, false
	}
	final, first := notes[len(notes)-1], notes[0]
	at := func(fifths int) theory.PitchClass { return theory.PitchClassAtFifths(final.Fifths() + fifths) }
	if degree, alter := key.Degree(final); degree != 1 || alter != 0 {
		if degree == 3 || degree == 5 || alter != 0 || first != final && first != at(1) {
			return said, false
		}
		other := theory.MajorKey(final)
		if slices.Contains(notes, at(-3)) {
			other = theory.MinorKey(final)
		}
		return partwriting.Said{Phrase: partwriting.TuneFinal, Pairs: []any{"final", final, "key", key, "other", other}}, true
	}
	for _, t := range tellings {
		leading := t.mode == theory.MinorMode && slices.Contains(notes, at(5)) // it goes up to the final as minor does
		if t.mode == key.Mode && !leading && slices.Contains(notes, at(t.natural)) && !slices.Contains(notes, at(t.usual)) {
			return partwriting.Said{Phrase: partwriting.TuneModal, Pairs: []any{"note", at(t.natural), "usual", at(t.usual), "final", final, "key", key, "chord", t.chord}}, true
		}
	}
	if key.Mode == theory.MinorMode && notes[len(notes)-2] == at(-2) {
		return partwriting.Said{Phrase: partwriting.TuneModal, Pairs: []any{"note", at(-2), "usual", at(5), "final", final, "key", key, "chord", "v"}}, !slices.Contains(notes, at(5))
	}
	return said, false
}

// tune is the melody that is given throughout and has its chords chosen, false where it is not.
func (p *Progression) tune() (notes []theory.PitchClass, key theory.Key, ok bool) {
	if !p.harmonized || len(p.Chords) < modalFrom {
		return nil, key, false
	}
	key = p.Chords[0].Reading.Key
	for i := range p.Chords {
		c := &p.Chords[i]
		if len(c.Fixed) == 0 || c.Fixed[0] == nil || i > 0 && !c.Open || c.Reading.Key != key {
			return nil, key, false
		}
		notes = append(notes, c.Fixed[0].Class())
	}
	return notes, key, true
}
