package voicing

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// doubling says how often each member of a chord may and should occur.
type doubling struct {
	size int
	// least and most bound the count of each member; usual is what costs nothing.
	least, most [4]uint8
	preferred   [4]bool
	// free lets any note be doubled or left out.
	free bool
}

// doublings gives the bounds for a reading in n voices. The sources are those
// of the rules: roots and thirds always present; inverted chords complete; no
// leading tone, seventh or altered note twice; the bass of a six-four doubled;
// a diminished triad doubles its third (Hutchinson ch. 26, Butterfield unit 10,
// Open Music Theory v1, chord doubling).
func doublings(r harmony.Reading, style *Style) doubling {
	q, n := r.Quality(), len(style.Voices)
	mixture := style.DoubleMixture && isMixture(r)
	d := doubling{size: r.Size()}
	for m := range d.size {
		d.least[m], d.most[m] = 1, uint8(n)
	}
	if lead, ok := r.LeadingTone(); ok {
		d.most[r.MemberOf(lead)] = 1
	}
	if r.Size() == 4 && !q.IsAugmentedSixth() {
		d.most[3] = 1
	}
	inverted := r.Inversion() > 0
	if n < d.size && r.Inversion() == 2 {
		d.least[0] = 0 // what is left over the fifth is the chord on its third
	}
	if n < d.size || !inverted && q.IsSeventh() && !q.IsAugmentedSixth() {
		d.least[2] = 0
	}
	if !inverted && (q == harmony.MajorTriad || q == harmony.MinorTriad) {
		d.least[2] = 0
	}
	for m := range d.size {
		if altered(r, m) && !(m == 0 && mixture) {
			d.most[m] = 1
		}
	}
	d.prefer(r, inverted, n)
	return d
}

// lenient leaves doublings and omissions to the rules and only says what they cost.
func lenient(r harmony.Reading, style *Style) doubling {
	d := doublingsFor(r, style)
	d.free = true
	return d
}

// complete asks for every member and leaves open which are doubled.
func complete(r harmony.Reading, n int) doubling {
	d := doubling{size: r.Size()}
	for m := range d.size {
		d.least[m], d.most[m], d.preferred[m] = 1, uint8(n), true
	}
	return d
}

// altered reports whether a member lies outside the scale of the key in which
// the chord counts, so that it points one way only (Open Music Theory v1, on
// doubling). Minor has its raised sixth and seventh degrees; a chord that stands
// on one may double it.
func altered(r harmony.Reading, member int) bool {
	degree, alter := r.Key.Degree(r.Member(member))
	if member == 0 && r.Key.Mode == theory.MinorMode && alter == 1 && degree >= 6 {
		return r.Quality().IsAugmentedSixth()
	}
	return alter != 0
}

// isMixture reports whether a triad is borrowed from the other mode on a root outside
// the key: bIII, bVI, bVII. The Neapolitan doubles its third.
func isMixture(r harmony.Reading) bool {
	q := r.Quality()
	return (q == harmony.MajorTriad || q == harmony.MinorTriad) && !r.Numeral.IsApplied() && !r.Numeral.IsNeapolitan(r.Key.Mode)
}

// prefer marks the members whose doubling costs nothing.
func (d *doubling) prefer(r harmony.Reading, inverted bool, n int) {
	q := r.Quality()
	switch {
	case q == harmony.ItalianSixth:
		d.preferred[2] = true // the tonic note
		d.most[0], d.most[1] = 1, 1
	case q.IsAugmentedSixth():
		for m := range d.size {
			if r.Member(m) != r.Key.Tonic || n == d.size {
				d.most[m] = 1
			}
		}
	case r.Inversion() == 2 && !q.IsSeventh():
		// A six-four doubles its bass and nothing else.
		d.preferred[2] = true
		d.most[0], d.most[1] = 1, 1
	case q == harmony.DiminishedTriad:
		d.preferred[1] = true
		d.most[0] = 1
	case r.Numeral.IsNeapolitan(r.Key.Mode):
		d.preferred[1] = true
	default:
		d.preferred[0] = true
		if inverted && !q.IsSeventh() {
			d.preferred[2] = true
		}
	}
}

// missing is how many times as much as a fifth the want of a member weighs that a chord
// cannot do without, where it is let go at all.
const missing = 4

// judge reports whether the counts of an arrangement are allowed and what they
// cost.
func (d *doubling) judge(s *set, a *arrangement, n int, style *Style) (Cost, bool) {
	var count [4]uint8
	for v := range n {
		count[s.tones[v][a.tone[v]].member]++
	}
	var cost Cost
	for m := range d.size {
		if d.free && count[m] < d.least[m] {
			cost += missing * style.Weights.OmittedFifth
		}
		if !d.free && (count[m] < d.least[m] || count[m] > d.most[m]) {
			return 0, false
		}
		if extra := int(count[m]) - 1; extra > 0 && !d.preferred[m] {
			cost += Cost(extra) * style.Weights.Doubling
		}
	}
	if d.size == 4 && n < d.size && count[0] == 0 {
		cost += style.Weights.OmittedFifth
	}
	if count[2] == 0 {
		// Without a fifth the root must fill the gap.
		if !d.free && (d.size == 3 && n > 3 && count[0] < 3 || d.size == 4 && n > 3 && count[0] < 2) {
			return 0, false
		}
		cost += style.Weights.OmittedFifth
	}
	return cost, true
}
