package voicing

import "slices"

// Contour is the shape that a top line is to have over a phrase.
type Contour int8

// Contours.
const (
	// Arch rises to a climax about two thirds through and comes back, as far as that
	// costs little; it is what a line has that nobody asked to be otherwise.
	Arch Contour = iota
	// Rising and Falling go about a whole step a chord, from below the middle of the
	// comfortable range to above it or the other way; Steady stays in its middle.
	Rising
	Falling
	Steady
	// FreeContour is any.
	FreeContour
)

var contourNames = [...]string{"arch", "rising", "falling", "steady", "free"}

// String returns a word such as "rising".
func (c Contour) String() string { return contourNames[c] }

// ContourNames lists the words of all contours.
func ContourNames() []string { return slices.Clone(contourNames[:]) }

// ParseContour reads the word of a contour; "" is "arch".
func ParseContour(word string) (Contour, bool) {
	if word == "" {
		return Arch, true
	}
	i := slices.Index(contourNames[:], word)
	return Contour(max(i, 0)), i >= 0
}

// contourWeight is how many times as much a contour weighs that was asked for.
const contourWeight = 16

// arch bounds where the top voice should stand at one chord of a phrase, in
// semitones above C0, and says how it ends there.
type arch struct {
	floor, ceiling int
	// times is how many times the weight counts.
	times Cost
	// closes is set where a phrase ends after a dominant in root position.
	closes bool
}

// archFrom is the shortest phrase, in chords, that is long enough for an arch.
const archFrom = 5

// archAt returns the arch at a chord. Over a phrase the line rises from the middle
// of its comfortable range to a climax about two thirds through and comes back:
// the ceiling is the middle at both ends and the top of the comfortable range at
// the climax, where the floor comes up above the middle (the melodic arch after Huron,
// by way of Open Music Theory v1; where in the phrase it lies is common practice, no
// source). A short phrase has none.
func (p *Problem) archAt(k int) arch {
	first, end := p.phraseAround(k)
	a := p.contourAt(k, first, end)
	a.closes = k == end-1 && k > first && slices.ContainsFunc(p.Slots[k-1].Choices, func(c Choice) bool {
		n := c.Reading.Numeral
		return n.Degree == 5 && n.IsDominant() && !n.IsApplied() && n.Inversion == 0
	})
	return a
}

func (p *Problem) contourAt(k, first, end int) arch {
	r := &p.Style.Voices[0]
	n := end - first
	if p.Contour != Arch && p.Contour != FreeContour && n > 1 {
		return p.asked(k-first, n)
	}
	if n < archFrom || p.Contour == FreeContour {
		return arch{0, r.High.Semitones(), 1, false}
	}
	low, high := r.EasyLow.Semitones(), r.EasyHigh.Semitones()
	middle := (low + high) / 2
	// In sixths of a chord from the phrase's start: the climax is at four sixths.
	at, climax := 6*(k-first)+3, 4*n
	rise := (high - middle) * at / climax
	if at > climax {
		rise = (high - middle) * (6*n - at) / (2 * n)
	}
	a := arch{low, middle + rise, 1, false}
	if 5*rise >= 4*(high-middle) {
		a.floor = (middle + high) / 2
	}
	return a
}

// contourSlack is how far, in semitones, a line may stand from a contour that was
// asked for without paying.
const contourSlack = 2

// asked is where a line should stand at a chord of a phrase of n chords, of which this
// is the one with index i, by a contour that was asked for.
func (p *Problem) asked(i, n int) arch {
	r := &p.Style.Voices[0]
	low, high := r.EasyLow.Semitones(), r.EasyHigh.Semitones()
	at := (low + high) / 2
	span := min(high-low, 2*(n-1))
	switch p.Contour {
	case Rising:
		at += span*i/(n-1) - span/2
	case Falling:
		at += span/2 - span*i/(n-1)
	case Arch, Steady, FreeContour:
	}
	return arch{at - contourSlack, at + contourSlack, contourWeight, false}
}

// phraseAround returns the first chord of the phrase that chord k belongs to and
// the one after its last.
func (p *Problem) phraseAround(k int) (first, end int) {
	for first = k; first > 0 && !p.Slots[first-1].PhraseEnd; first-- {
	}
	for end = k + 1; end < len(p.Slots) && !p.Slots[end-1].PhraseEnd; end++ {
	}
	return first, end
}

// shape adds what the top voice pays for standing outside its arch, and for ending on
// another note than the tonic where a perfect close could be.
func (s *set) shape(a arch, w *Weights) {
	n := s.reading.Numeral
	closes := a.closes && n.IsTonic() && n.Inversion == 0
	if w.Arch == 0 && !(closes && w.ImperfectClose != 0) {
		return
	}
	for i := range s.arrangements {
		top := &s.tones[0][s.arrangements[i].tone[0]]
		s.arrangements[i].cost += w.Arch * a.times * Cost(max(0, top.semitones-a.ceiling, a.floor-top.semitones))
		if closes && top.member != 0 {
			s.arrangements[i].cost += w.ImperfectClose
		}
	}
}
