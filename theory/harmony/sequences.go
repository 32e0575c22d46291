package harmony

// sequences are told by the roots: chords that follow one another with one root count
// as one.

// rooted is a stretch of harmonies with one root.
type rooted struct {
	first, last, step int // step is the letter of the root, 0 to 6
	inversion, top    int // top is the letter of the highest voice
	triad             bool
}

func (a *Analysis) rootedStretches() []rooted {
	var out []rooted
	for i := range a.Harmonies {
		h := &a.Harmonies[i]
		step := int(h.Root().Step)
		if n := len(out); n > 0 && out[n-1].step == step {
			out[n-1].last = i
			continue
		}
		out = append(out, rooted{i, i, step, h.Inversion(), a.topLetter(h), !h.Quality().IsSeventh()})
	}
	return out
}

// topLetter is the letter of the highest note where a harmony begins, 0 to 6; -1 in
// silence.
func (a *Analysis) topLetter(h *Harmony) int {
	top, height := -1, 0
	for v := range a.texture.Voices {
		if n := a.texture.At(h.FirstMoment, v); n >= 0 {
			if p := a.texture.Voices[v].Notes[n].Pitch; top < 0 || p.Semitones() > height {
				top, height = int(p.Step), p.Semitones()
			}
		}
	}
	return top
}

// How many chords make a sequence: two copies of a model of two and the beginning of a
// third, or four parallel sixths. Our own choice; books speak of two copies and more.
const (
	leastPairs  = 5
	leastSixths = 4
)

// sequences finds stretches in which a model of one or two chords is repeated on other
// degrees, each copy as far from the one before, with the same inversions and with the same line on
// top.
func (a *Analysis) sequences() []Device {
	all := a.rootedStretches()
	var out []Device
	for i := 0; i < len(all); {
		if n := sixths(all[i:]); n >= leastSixths {
			out = append(out, Device{Sequence, all[i].first, all[i+n-1].last, "parallel-sixths", -1})
			i += n - 1
			continue
		}
		if n, name := pairs(all[i:]), sequenceName(all[i:]); n >= leastPairs && name != "" {
			out = append(out, Device{Sequence, all[i].first, all[i+n-1].last, name, -1})
			i += n - 1
			continue
		}
		i++
	}
	return out
}

// letters is the distance up from one stretch's root to another's, 0 to 6.
func letters(from, to rooted) int { return (to.step - from.step + 7) % 7 }

func (r *rooted) isSixth() bool { return r.triad && r.inversion == 1 }

// sixths counts the first inversions that move in one direction by step.
func sixths(all []rooted) int {
	n := 1
	for n < len(all) && all[n].isSixth() && all[n-1].isSixth() {
		if d := letters(all[n-1], all[n]); (d != 1 && d != 6) || n > 1 && d != letters(all[n-2], all[n-1]) {
			break
		}
		n++
	}
	return n
}

// pairs counts the chords that repeat a model of two.
func pairs(all []rooted) int {
	if len(all) < 3 || letters(all[0], all[2]) == 0 {
		return 0
	}
	across, n := letters(all[0], all[2]), 2
	for n < len(all) && letters(all[n-2], all[n]) == across && all[n].inversion == all[n-2].inversion &&
		all[n-2].top >= 0 && (all[n].top-all[n-2].top+7)%7 == across {
		n++
	}
	return n
}

// sequenceNames are by the distance of the two chords of the model and that of one copy
// from the next, in letters up.
var sequenceNames = map[[2]int]string{
	{3, 6}: "descending-fifths", // I IV vii iii
	{4, 1}: "ascending-fifths",  // I V ii vi
	{4, 5}: "descending-thirds", // I V vi iii
	{5, 1}: "ascending-5-6",     // I vi ii vii
	{3, 1}: "ascending-seconds", // I IV ii V, the bass up a fourth and down a third
	{5, 3}: "falling-thirds",    // I vi IV ii
	{2, 4}: "rising-thirds",     // I iii V vii
}

// sequenceName takes the model from the first chord on or, where that has no name, from
// the second; "" where neither has.
func sequenceName(all []rooted) string {
	if len(all) < leastPairs {
		return ""
	}
	across := letters(all[0], all[2])
	for i := range 2 {
		if name := sequenceNames[[2]int{letters(all[i], all[i+1]), across}]; name != "" {
			return name
		}
	}
	return ""
}
