package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Sonority is a chord as it is voiced: how often each of its members sounds, and
// between which chords it stands. It is all that the rules about doublings and
// omissions ask.
type Sonority struct {
	Chord *Chord
	// Count is how many voices sound each member, Voices how many sound at all.
	Count  [4]int
	Voices int
	// Before and After are the chords beside it in its phrase, nil where there are
	// none or where they are not known.
	Before, After *Chord
	// Into and OutOf are how the bass comes from the one and goes to the other, nil at
	// the edge of a phrase.
	Into, OutOf *theory.Interval
	// Named is set where somebody has named the chord, so that it needs its seventh.
	Named bool
	// BassExcused is set where a doubled third in the bass is licensed by the way it
	// is reached; FifthRises where the fifth of a diminished triad goes up by step in
	// one of the voices that sing it.
	BassExcused, FifthRises bool
	// FifthFree is [Limits.PredominantFifthFree] of the set.
	FifthFree bool
}

// sonorityRule is a rule about doublings or omissions.
type sonorityRule struct {
	id     RuleID
	breaks func(*Sonority) (Severity, bool)
}

var sonorityRules = []sonorityRule{
	{"leading-tone-doubled", (*Sonority).doublesLead},
	{"seventh-doubled", func(s *Sonority) (Severity, bool) { return Off, s.doublesSeventh() }},
	{"altered-tone-doubled", func(s *Sonority) (Severity, bool) {
		for member := range s.Chord.size {
			if s.Count[member] > 1 && s.Chord.single(member) {
				return Off, true
			}
		}
		return Off, false
	}},
	{"chromatic-doubling", (*Sonority).doublesOtherThanCustom},
	{"third-doubled", func(s *Sonority) (Severity, bool) { return Off, s.doublesThird() }},
	{"bass-doubled-in-six", func(s *Sonority) (Severity, bool) { return Off, s.doublesBassOfSix() && !s.BassExcused }},
	{"six-four-doubling", (*Sonority).leavesBassOfSixFour},
	{"diminished-triad-doubling", func(s *Sonority) (Severity, bool) {
		return Off, s.doublesInDiminished(0) || s.doublesInDiminished(2)
	}},
	{"third-missing", func(s *Sonority) (Severity, bool) { return Off, s.lacks(1) }},
	{"root-missing", func(s *Sonority) (Severity, bool) { return Off, s.lacks(0) }},
	{"fifth-missing", func(s *Sonority) (Severity, bool) { return Off, s.lacks(2) }},
	{"seventh-missing", func(s *Sonority) (Severity, bool) { return Off, s.lacks(3) && s.Named }},
}

// doublesLead reports whether the leading tone is doubled. Where the chord leads
// neither to its tonic nor to a chord that holds it, that is a caution.
func (s *Sonority) doublesLead() (Severity, bool) {
	c := s.Chord
	if !c.hasLead || s.Count[c.memberOf(c.lead)] < 2 || isOldTonic(c, s.Before) || isOldNeapolitan(c, s.Before) {
		return Off, false
	}
	if !leadsHome(c, s.After) {
		return Caution, true
	}
	return Off, true
}

// doublesSeventh reports whether a seventh is doubled. Without its root it may be none.
func (s *Sonority) doublesSeventh() bool {
	return s.Chord.hasSeventh && s.Count[3] > 1 && s.Count[0] > 0
}

// isOldTonic reports whether a triad, read as a dominant of a new key or degree,
// is what the dominant of the key has just led to: until a seventh says otherwise
// it is heard as the tonic, and its third is no leading tone. The dominant after an
// applied dominant in its own key stays one (Hutchinson, section 29.1).
func isOldTonic(c, before *Chord) bool {
	return !c.hasSeventh && before != nil && before.hasLead && !before.applied && before.key.Tonic == c.Root()
}

// isOldNeapolitan reports whether a major six-three, read as a dominant of a new key
// or degree, lies a semitone above the triad before it: it has come as that one's
// Neapolitan sixth, which doubles its bass, and only becomes a dominant as it leaves
// (Reger, On the Theory of Modulation, does so in most of his examples).
func isOldNeapolitan(c, before *Chord) bool {
	if c.quality != harmony.MajorTriad || c.inversion != 1 || before == nil || !isMajorOrMinor(before.quality) {
		return false
	}
	return before.Root().Transpose(theory.MinorSecond).Chroma() == c.Root().Chroma()
}

// leadsHome reports whether a dominant goes to the chord it belongs to or, on
// the degrees of the key, to one that holds its tonic, such as vi, or to a six-four
// that delays it over its bass; at the end of a phrase it has done what it can. While its
// root lasts, where it leads is open.
func leadsHome(c, after *Chord) bool {
	return after == nil || after.cadential && after.Bass() == c.tonic || after.Root() == c.Root() || after.Root() == c.tonic || !c.applied && after.set.has(c.tonic)
}

// single reports whether a member is to be sung by one voice since it is altered: it
// lies outside the key, or it is the lower note of an augmented sixth. Leading tones
// and sevenths have rules of their own. A Picardy third is an ending and no leading
// tone; the root of a triad that is borrowed from the other mode is a root like any
// other (bIII, bVI, bVII; common practice, no source), and so is that of a Neapolitan
// in root position. What belongs to the key that a chord without dominant function is
// applied to is not altered in it.
func (c *Chord) single(member int) bool {
	note := c.members[member]
	switch {
	case c.hasLead && note == c.lead, c.hasSeventh && note == c.seventh, c.isTonic && member == 1:
		return false
	case c.augmentedSixth && member == c.lowered:
		return true
	case member == 0 && (c.borrowed() || c.neapolitan && c.inversion == 0):
		return false
	}
	return altered(c.local, note)
}

// borrowed reports whether a chord is a major or minor triad of its key that is no
// Neapolitan, wherever its root lies.
func (c *Chord) borrowed() bool { return isMajorOrMinor(c.quality) && !c.applied && !c.neapolitan }

// doublesOtherThanCustom reports whether an Italian sixth does not double the first
// degree, or a Neapolitan sixth its bass.
func (s *Sonority) doublesOtherThanCustom() (Severity, bool) {
	right, ok := s.Chord.custom()
	return Off, ok && s.Voices == 4 && s.complete() && s.Count[s.Chord.memberOf(right)] < 2
}

// custom returns the note that an Italian sixth or a Neapolitan sixth doubles.
func (c *Chord) custom() (theory.PitchClass, bool) {
	switch {
	case c.quality == harmony.ItalianSixth:
		return c.members[2], true // the first degree of the key that it is a sixth of
	case c.neapolitan && c.inversion == 1:
		return c.Bass(), true
	}
	return theory.PitchClass{}, false
}

func (s *Sonority) complete() bool {
	for member := range s.Chord.size {
		if s.Count[member] == 0 {
			return false
		}
	}
	return true
}

// doublesThird reports whether a triad in root position doubles a third that should
// not be: not after a dominant, whose leading tone and its neighbors lead there, nor
// where it is a first, fourth or fifth degree.
func (s *Sonority) doublesThird() bool {
	c := s.Chord
	if !isMajorOrMinor(c.quality) || c.inversion != 0 || s.Voices < 4 || s.Count[1] < 2 || s.Before != nil && s.Before.dominant {
		return false
	}
	return c.plainThird(1, 4, 5)
}

// plainThird reports whether the third of a triad has no rule of its own and is none
// of some degrees.
func (c *Chord) plainThird(except ...int) bool {
	third := c.members[1]
	if c.hasLead && c.lead == third || altered(c.key, third) {
		return false // reported as such
	}
	degree, _ := c.key.Degree(third)
	for _, d := range except {
		if degree == d {
			return false
		}
	}
	return true
}

// doublesBassOfSix is the same for the bass of a six-three. In chains of them the
// doubling alternates.
func (s *Sonority) doublesBassOfSix() bool {
	c := s.Chord
	if !isMajorOrMinor(c.quality) || c.inversion != 1 || s.Voices < 4 || s.Count[1] < 2 {
		return false
	}
	return !isSix(s.Before) && !isSix(s.After) && c.plainThird(1, 2, 4, 5)
}

// BassOfSix is how grave it is that a voice doubles the third in the bass of a six-three
// while it moves so against the bass.
func (l *Law) BassOfSix(s *Sonority, voice, bass theory.Interval, revoiced bool) Severity {
	against := voice.Semitones*bass.Semitones < 0
	return l.weighed("bass-doubled-in-six", Off, !against && !revoiced && s.doublesBassOfSix())
}

func isSix(c *Chord) bool { return c != nil && c.inversion == 1 && c.size == 3 }

// leavesBassOfSixFour reports whether a six-four does not double its bass.
func (s *Sonority) leavesBassOfSixFour() (Severity, bool) {
	c := s.Chord
	if !isMajorOrMinor(c.quality) || c.inversion != 2 || s.Voices != 4 || s.Count[2] > 1 || !s.complete() {
		return Off, false
	}
	switch s.sixFour() {
	case passingSixFour:
		return Off, false
	case cadentialSixFour:
		if s.betweenDominants() {
			return Caution, true
		}
		return Off, true
	}
	return Caution, true
}

// betweenDominants reports whether a dominant over the same bass came just before: the
// six-four is then the neighbor of a dominant that was there already.
func (s *Sonority) betweenDominants() bool {
	return s.Before != nil && s.Before.degree == 5 && s.Before.Bass() == s.Chord.Bass()
}

// doublesInDiminished reports whether a diminished triad doubles its root or its fifth
// and not its third. The fifth may be where it rises.
func (s *Sonority) doublesInDiminished(member int) bool {
	c := s.Chord
	if c.quality != harmony.DiminishedTriad || s.Voices < 4 || s.Count[1] > 1 || s.Count[member] < 2 {
		return false
	}
	return !(c.hasLead && c.members[member] == c.lead) && !(member == 2 && s.FifthRises)
}

// lacks reports whether a chord lacks a member that it needs.
func (s *Sonority) lacks(member int) bool {
	return member < s.Chord.size && s.Count[member] == 0 && s.Chord.needs(member, s.Voices, s.Named) && !(member == 2 && s.preparesBoth())
}

// preparesBoth reports whether a ii65 doubles its bass in place of its fifth before V7:
// the one is held as the seventh of V7, its own seventh falls to the leading tone.
func (s *Sonority) preparesBoth() bool {
	c, after := s.Chord, s.After
	return s.FifthFree && c.degree == 2 && c.inversion == 1 && c.hasSeventh && !c.applied && s.Count[1] > 1 &&
		after != nil && after.degree == 5 && after.hasSeventh && !after.applied && after.key == c.key
}

// needs reports whether a chord cannot do without a member. In four voices and more the
// fifth may go from triads and sevenths in root position. Three voices leave out what
// they must, the fifth of a triad and the fifth or root of a seventh chord; what they mean
// by less is known only where somebody has named the chord.
func (c *Chord) needs(member, voices int, named bool) bool {
	switch {
	case voices >= 4:
		return member != 2 || c.inversion != 0
	case voices < 3 || !named || c.augmentedSixth && c.size == 4:
		return false
	}
	return member == 1 || member == 3 || member == 0 && c.size == 3
}
