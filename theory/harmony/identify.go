package harmony

import (
	"slices"

	"partwright/theory"
)

// Chord is a chord by itself: a root, a quality and what lies in the bass. It
// becomes a [Reading] when a key gives it a numeral, see [ReadIn].
type Chord struct {
	Root      theory.PitchClass
	Quality   Quality
	Inversion int
}

// Bass returns the member that lies lowest.
func (c Chord) Bass() theory.PitchClass { return c.Quality.Member(c.Root, c.Inversion) }

// Identify names the chord that a set of spelled pitch classes forms over a
// bass: the quality whose members they are, all present but the fifth of a chord
// with a perfect one. Spelling counts: a German sixth is no dominant seventh.
// It reports false for anything that is not stacked in thirds.
func Identify(classes []theory.PitchClass, bass theory.PitchClass) (Chord, bool) {
	var found Chord
	best := -1
	for _, root := range classes {
		for q := range Quality(numQualities) {
			present, all := coverage(classes, root, q)
			// Prefer the chord that explains the notes with the fewest missing
			// members, then the simpler quality, which comes first.
			if !all || !complete(present, q) {
				continue
			}
			score := 8 - q.Size() + popcount(present)
			if score > best {
				if i := memberIndex(root, q, bass); i >= 0 {
					found, best = Chord{root, q, i}, score
				}
			}
		}
	}
	return found, best >= 0
}

// mostRespelled is how many classes are spelled otherwise at most: of more, half the notes
// of a chord would be wrong.
const mostRespelled = 2

// Respelled returns the chord that pitch classes over a bass sound as, with as few of them
// as can be spelled otherwise, each by its neighbor of the same sound. It reports false where
// they are a chord as they stand or sound as none.
func Respelled(classes []theory.PitchClass, bass theory.PitchClass) (to []theory.PitchClass, chord Chord, ok bool) {
	const around = 12 // the fifths to the next spelling of a sound
	var distinct []theory.PitchClass
	for _, c := range classes {
		if !slices.Contains(distinct, c) {
			distinct = append(distinct, c)
		}
	}
	spell := func(as map[theory.PitchClass]theory.PitchClass) bool {
		to = to[:0]
		for _, c := range classes {
			if other, changed := as[c]; changed {
				c = other
			}
			to = append(to, c)
		}
		low := bass
		if other, changed := as[bass]; changed {
			low = other
		}
		chord, ok = Identify(to, low)
		return ok
	}
	var try func(n, from int, as map[theory.PitchClass]theory.PitchClass) bool
	try = func(n, from int, as map[theory.PitchClass]theory.PitchClass) bool {
		if n == 0 {
			return spell(as)
		}
		for i := from; i < len(distinct); i++ {
			for _, by := range []int{around, -around} {
				if other := theory.PitchClassAtFifths(distinct[i].Fifths() + by); other.Alter >= -2 && other.Alter <= 2 {
					as[distinct[i]] = other
					if try(n-1, i+1, as) {
						return true
					}
					delete(as, distinct[i])
				}
			}
		}
		return false
	}
	for n := 1; n <= mostRespelled; n++ {
		if try(n, 0, map[theory.PitchClass]theory.PitchClass{}) {
			return to, chord, true
		}
	}
	return nil, Chord{}, false
}

// coverage returns which members of a quality on a root are present, as bits,
// and whether every class is a member.
func coverage(classes []theory.PitchClass, root theory.PitchClass, q Quality) (present int, all bool) {
	for _, c := range classes {
		i := memberIndex(root, q, c)
		if i < 0 {
			return present, false
		}
		present |= 1 << i
	}
	return present, true
}

// complete reports whether the members present are enough to name the quality.
func complete(present int, q Quality) bool {
	missing := 1<<q.Size() - 1 - present
	if missing == 0 {
		return true
	}
	perfectFifth := qualities[q].fifths[2] == 1
	return missing == 1<<2 && perfectFifth
}

func memberIndex(root theory.PitchClass, q Quality, c theory.PitchClass) int {
	for i := range q.Size() {
		if q.Member(root, i) == c {
			return i
		}
	}
	return -1
}

func popcount(bits int) int {
	n := 0
	for ; bits != 0; bits &= bits - 1 {
		n++
	}
	return n
}

// ReadIn gives a chord the numeral it has in a key. A chord of dominant kind
// that is foreign to the key is read as applied where it leads to a major or
// minor triad of the key; anything else is counted from the key's own degrees.
func ReadIn(key theory.Key, c Chord) Reading {
	if !isNative(key, c) {
		if n, ok := applied(key, c); ok {
			return Reading{Key: key, Numeral: n}
		}
	}
	degree, alter := key.Degree(c.Root)
	return Reading{Key: key, Numeral: Numeral{
		Degree: int8(degree), Alter: int8(alter), Quality: c.Quality, Inversion: int8(c.Inversion),
	}}
}

// isNative reports whether all members belong to the key: to its scale, or in
// minor to the raised leading tone's chords.
func isNative(key theory.Key, c Chord) bool {
	for i := range c.Quality.Size() {
		member := c.Quality.Member(c.Root, i)
		if _, alter := key.Degree(member); alter != 0 && !(key.Mode == theory.MinorMode && member == key.LeadingTone()) {
			return false
		}
	}
	return true
}

// applied reads a chord as V or vii of a degree of the key.
func applied(key theory.Key, c Chord) (Numeral, bool) {
	n := Numeral{Quality: c.Quality, Inversion: int8(c.Inversion)}
	target := c.Root.Transpose(theory.PerfectFourth)
	switch c.Quality {
	case MajorTriad, DominantSeventh,
		DominantNinth, DominantLoweredNinth, DominantRaisedNinth, DominantThirteenth, AugmentedSeventh, DominantLoweredFifth:
		n.Degree = 5
	case DiminishedTriad, HalfDiminishedSeventh, DiminishedSeventh:
		n.Degree = 7
		target = c.Root.Transpose(theory.MinorSecond)
	default:
		return n, false
	}
	degree, alter := key.Degree(target)
	mode, isTriad := triadMode(key, degree)
	if alter != 0 || degree == 1 || !isTriad {
		return n, false
	}
	n.Of = Target{Degree: int8(degree), Mode: mode}
	if n.Degree == 7 && mode == theory.MinorMode {
		n.Alter = 1
	}
	return n, true
}

// triadMode returns the mode of the triad on a degree of the key's scale, and
// false where it is diminished. The fifth degree of minor counts as major.
func triadMode(key theory.Key, degree int) (theory.Mode, bool) {
	scale := key.Scale()
	root, third, fifth := scale[degree-1], scale[(degree+1)%7], scale[(degree+3)%7]
	if fifth.Fifths()-root.Fifths() != 1 {
		return theory.MajorMode, false
	}
	if third.Fifths()-root.Fifths() == -3 && !(key.Mode == theory.MinorMode && degree == 5) {
		return theory.MinorMode, true
	}
	return theory.MajorMode, true
}
