package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// chord is a harmony with what rules ask of it again and again worked out once.
type chord struct {
	*harmony.Harmony
	size    int
	members [4]theory.PitchClass
	set     pitchClasses
	// lead and seventh are set where the chord has them.
	lead, seventh       theory.PitchClass
	hasLead, hasSeventh bool
}

func newChord(h *harmony.Harmony) chord {
	c := chord{Harmony: h, size: h.Size()}
	root, quality := h.Root(), h.Quality()
	for i := range c.size {
		c.members[i] = quality.Member(root, i)
		c.set = c.set.with(c.members[i])
	}
	c.lead, c.hasLead = h.LeadingTone()
	if c.hasSeventh = c.size == 4 && !quality.IsAugmentedSixth(); c.hasSeventh {
		c.seventh = c.members[3]
	}
	return c
}

// Root, Size, Member, Bass, LeadingTone and Seventh stand before those of the
// reading and say the same.
func (c *chord) Root() theory.PitchClass                { return c.members[0] }
func (c *chord) Size() int                              { return c.size }
func (c *chord) Member(i int) theory.PitchClass         { return c.members[i] }
func (c *chord) Bass() theory.PitchClass                { return c.members[c.Inversion()] }
func (c *chord) LeadingTone() (theory.PitchClass, bool) { return c.lead, c.hasLead }
func (c *chord) Seventh() (theory.PitchClass, bool)     { return c.seventh, c.hasSeventh }

// named reports whether somebody has given a chord its name, in the document or
// in an analysis of their own, so that there is no doubt what is meant. Where
// there is no chord (nil) nobody has.
func named(h *chord) bool { return h != nil && h.Confidence == 1 }

// chordAt returns the chord that sounds at a moment, nil where none was read.
func (p *Passage) chordAt(m int) *chord {
	if p.Harmony == nil {
		return nil
	}
	if i := p.Harmony.IndexAt(m); i >= 0 {
		return &p.chords[i]
	}
	return nil
}

func (p *Passage) findChords() {
	if p.Harmony == nil {
		return
	}
	p.chords = make([]chord, len(p.Harmony.Harmonies))
	for i := range p.chords {
		p.chords[i] = newChord(&p.Harmony.Harmonies[i])
	}
}

func isMajorOrMinor(q harmony.Quality) bool {
	return q == harmony.MajorTriad || q == harmony.MinorTriad
}

// secure reports whether hardly anybody would read a harmony otherwise.
func secure(h *chord) bool { return h.Confidence == 0 || h.Confidence >= secureConfidence }

const secureConfidence = 0.9

// altered reports whether a note is foreign to the key; minor has its raised
// sixth and seventh degrees.
func altered(k theory.Key, c theory.PitchClass) bool {
	degree, alter := k.Degree(c)
	if k.Mode == theory.MinorMode && alter == 1 && degree >= 6 {
		return false
	}
	return alter != 0
}
