package voicing

import "partwright/theory/partwriting"

// maxPairs is how many pairs [MaxVoices] voices make.
const maxPairs = MaxVoices * (MaxVoices - 1) / 2

// voicePair is two voices, counted from the top.
type voicePair struct{ upper, lower int }

// pairsOf lists the pairs of so many voices. The outer voices come first: they forbid
// most, so that the rest is seldom asked. The other pairs with the top voice follow.
var pairsOf = func() (all [MaxVoices + 1][]voicePair) {
	for n := 2; n <= MaxVoices; n++ {
		all[n] = append(all[n], voicePair{0, n - 1})
		for u := range n {
			for l := n - 1; l > u; l-- {
				if u != 0 || l != n-1 {
					all[n] = append(all[n], voicePair{u, l})
				}
			}
		}
	}
	return all
}()

// dyad is what two voices sing together: an index into the tones of each, and how far
// apart these are.
type dyad struct {
	upper, lower uint8
	distance     partwriting.Distance
}

// usualDyads is about how many dyads a chord of four voices has in all.
const usualDyads = 256

// pairUp lists for every two of n voices the dyads that occur in some arrangement, which
// are far fewer than their tones make, and notes for each arrangement which it has.
func (s *set) pairUp(n int) {
	all := make([]dyad, 0, min(usualDyads, maxPairs*len(s.arrangements)))
	var known []uint16 // by the two tones: one more than the index of their dyad
	for p, pair := range pairsOf[n] {
		upper, lower := s.tones[pair.upper], s.tones[pair.lower]
		if size := len(upper) * len(lower); size > cap(known) {
			known = make([]uint16, size)
		} else {
			known = known[:size]
			clear(known)
		}
		first := len(all)
		for i := range s.arrangements {
			a := &s.arrangements[i]
			u, l := a.tone[pair.upper], a.tone[pair.lower]
			k := &known[int(u)*len(lower)+int(l)]
			if *k == 0 {
				all = append(all, dyad{u, l, partwriting.DistanceOf(from(&lower[l], &upper[u]))})
				*k = uint16(len(all) - first)
			}
			a.dyad[p] = *k - 1
		}
		s.dyads[p] = all[first:len(all):len(all)]
	}
}

// buffer lends stretches of one memory, so that what is needed again and again is not
// allocated each time.
type buffer[T any] struct {
	all  []T
	used int
}

// take returns n elements, whatever they hold.
func (b *buffer[T]) take(n int) []T {
	if len(b.all)-b.used < n {
		b.all, b.used = make([]T, max(2*len(b.all), n)), 0
	}
	b.used += n
	return b.all[b.used-n : b.used : b.used]
}
