package partwriting

import (
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
)

// Variants checks many ways to voice the same chords, one after the other, that differ
// in the notes of one moment only. It finds what [Check] finds in each, by rules of some
// families, and works out once what they share.
type Variants struct {
	passage *Passage
	moment  int
	rules   []*Rule
}

// NewVariants prepares a texture whose notes are all members of the chords of its
// reading. It writes each variant into the texture: whoever calls leaves that alone. What
// the rules of the families in without say is not asked for.
func NewVariants(t *theory.Texture, a *harmony.Analysis, set *RuleSet, moment int, without ...Family) *Variants {
	v := &Variants{passage: NewPassage(t, a, set), moment: moment}
	for _, r := range suite {
		if set.SeverityOf(r) != Off && !slices.Contains(without, r.Family) {
			v.rules = append(v.rules, r)
		}
	}
	return v
}

// Check gives each voice a note at the moment, from the top, and returns what the rules
// find then. Every voice has to begin a note there, and each note has to be a member of
// the chord.
func (v *Variants) Check(pitches []theory.Pitch) []Finding {
	p := v.passage
	for i, pitch := range pitches {
		note := &p.Voices[i].Notes[p.At(v.moment, i)]
		note.Pitch = pitch
		for _, id := range note.IDs {
			p.Score.Notes[id].Pitch, p.Score.Notes[id].Written = pitch, pitch
		}
	}
	p.fillCells()
	for i := range p.chords {
		p.chords[i].sounds = p.makesChord(&p.chords[i])
	}
	p.findLines()
	p.findPairs()
	p.findDoublings()
	return p.by(v.rules)
}
