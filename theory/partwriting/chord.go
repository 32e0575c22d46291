package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// chord is a harmony with what rules ask of it again and again worked out once.
type chord struct {
	*harmony.Harmony
	Chord
	// sounds is set where enough is heard to speak of a chord.
	sounds bool
}

// Chord is a reading with what rules ask of it worked out once.
type Chord struct {
	key theory.Key
	// local is the key to which an altered note is compared: where the chord is
	// applied and no dominant, that of its target.
	local     theory.Key
	quality   harmony.Quality
	degree    int8
	inversion int
	size      int
	members   [4]theory.PitchClass
	set       pitchClasses
	// lead and seventh are set where the chord has them, tonic is where the leading
	// tone of its key, or of the key it is applied to, leads.
	lead, seventh, tonic theory.PitchClass
	hasLead, hasSeventh  bool
	mode                 theory.Mode
	// lowered is the member of an augmented sixth that lies below the interval.
	lowered                                                           int
	applied, dominant, cadential, isTonic, neapolitan, augmentedSixth bool
}

// NewChord works out what rules ask of a reading.
func NewChord(r harmony.Reading) Chord {
	n := r.Numeral
	c := Chord{
		key: r.Key, quality: n.Quality, degree: n.Degree, inversion: r.Inversion(), size: r.Size(),
		mode: r.Key.Mode, tonic: n.In(r.Key).Tonic, applied: n.IsApplied(), dominant: n.IsDominant(),
		cadential: n.Cadential, isTonic: n.IsTonic(), neapolitan: n.IsNeapolitan(r.Key.Mode),
		augmentedSixth: n.Quality.IsAugmentedSixth(),
	}
	if c.local = c.key; c.applied && !c.dominant {
		c.local = n.In(r.Key)
	}
	root := r.Root()
	for i := range c.size {
		c.members[i] = n.Quality.Member(root, i)
		c.set = c.set.with(c.members[i])
	}
	c.lead, c.hasLead = r.LeadingTone()
	c.seventh, c.hasSeventh = r.Seventh()
	if c.lowered = 1; n.Quality == harmony.FrenchSixth {
		c.lowered = 2
	}
	return c
}

// Root, Size, Member, Bass, LeadingTone and Seventh stand before those of the
// reading and say the same.
func (c *Chord) Root() theory.PitchClass                { return c.members[0] }
func (c *Chord) Size() int                              { return c.size }
func (c *Chord) Member(i int) theory.PitchClass         { return c.members[i] }
func (c *Chord) Bass() theory.PitchClass                { return c.members[c.inversion] }
func (c *Chord) LeadingTone() (theory.PitchClass, bool) { return c.lead, c.hasLead }
func (c *Chord) Seventh() (theory.PitchClass, bool)     { return c.seventh, c.hasSeventh }

// Has reports whether a pitch class is a member of the chord.
func (c *Chord) Has(note theory.PitchClass) bool { return c.memberOf(note) >= 0 }

// memberOf returns the member that a pitch class is, -1 for none.
func (c *Chord) memberOf(note theory.PitchClass) int {
	for i := range c.size {
		if c.members[i] == note {
			return i
		}
	}
	return -1
}

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
		h := &p.Harmony.Harmonies[i]
		p.chords[i] = chord{Harmony: h, Chord: NewChord(h.Reading)}
		p.chords[i].sounds = p.makesChord(&p.chords[i])
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
