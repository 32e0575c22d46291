package voicing

import "partwright/theory/harmony"

// taste says which members of a chord are usually there and which are doubled: what
// the rules leave open has its price.
type taste struct {
	size int
	// least is how often a member is expected, preferred what is doubled for nothing.
	least     [4]uint8
	preferred [4]bool
	// falls is set where each upper member is to go down by step, so that of two notes on
	// one of them the second has nowhere to go.
	falls bool
	// closes is set for a chord in root position that ends a phrase after one a fifth higher,
	// where a leading tone that rises leaves no voice for the fifth.
	closes bool
}

// taste gives the usual way to voice a reading where it stands.
func (b *beside) taste(r harmony.Reading, style *Style) taste {
	d := tasteOf(r, style)
	d.closes = b.ends && b.before != nil && r.Inversion() == 0 && b.before.Root().Fifths() == r.Root().Fifths()+1
	return d
}

// tasteOf gives the usual way to voice a reading. The sources are those of the rules:
// roots and thirds are there, inverted chords complete; three voices leave out what
// they must, over the fifth the root (Hutchinson ch. 26, Butterfield unit 10, Open
// Music Theory v1, chord doubling).
func tasteOf(r harmony.Reading, style *Style) taste {
	q, n := r.Quality(), len(style.Voices)
	d := taste{size: r.Size()}
	for m := range d.size {
		d.least[m] = 1
		d.preferred[m] = style.lifted
	}
	if style.lifted {
		return d
	}
	inverted := r.Inversion() > 0
	if n < d.size && r.Inversion() == 2 {
		d.least[0] = 0 // what is left over the fifth is the chord on its third
	}
	plain := q.IsSeventh() && !q.IsAugmentedSixth() && !q.IsExtended() || q == harmony.MajorTriad || q == harmony.MinorTriad
	if n < d.size || !inverted && plain {
		d.least[2] = 0
	}
	for m := range d.size {
		if r.Numeral.Lacks(m) {
			d.least[m] = 0
		}
	}
	d.falls = r.Numeral.Cadential || q.IsExtended()
	d.prefer(r, inverted)
	return d
}

// prefer marks the members whose doubling costs nothing.
func (d *taste) prefer(r harmony.Reading, inverted bool) {
	q := r.Quality()
	switch {
	case q == harmony.ItalianSixth, r.Inversion() == 2 && !q.IsSeventh():
		d.preferred[2] = true // the tonic note, and the bass of a six-four
	case q.IsAugmentedSixth(): // each note once
	case q == harmony.DiminishedTriad, r.Numeral.IsNeapolitan(r.Key.Mode):
		d.preferred[1] = true
	default:
		d.preferred[0] = true
		if inverted && !q.IsSeventh() {
			d.preferred[2] = true
		}
	}
}

// missing is how many times as much as a fifth the want of a member weighs that a chord
// usually has.
const missing = 4

// fallingTwice is how many times as much it costs to double what is to fall.
const fallingTwice = 4

// complete reports whether no member is missing.
func (d *taste) complete(count memberCounts) bool {
	for m := range d.size {
		if count[m] == 0 {
			return false
		}
	}
	return true
}

// cost is what the counts of an arrangement cost.
func (d *taste) cost(count memberCounts, n int, style *Style) Cost {
	var cost Cost
	for m := range d.size {
		if count[m] < d.least[m] {
			cost += missing * style.Weights.OmittedFifth
		}
		if extra := int(count[m]) - 1; extra > 0 && !d.preferred[m] {
			if d.falls {
				extra *= fallingTwice
			}
			cost += Cost(extra) * style.Weights.Doubling
		}
	}
	if d.size == 4 && n < d.size && count[0] == 0 {
		cost += style.Weights.OmittedFifth
	}
	if count[2] == 0 {
		fifth := style.Weights.OmittedFifth
		if d.closes {
			fifth /= 2
		}
		cost += fifth
	}
	return cost
}
