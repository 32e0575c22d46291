package voicing

import (
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
)

// sings reports whether a line is no worse than without decorations: no augmented or
// diminished interval more, and no swaying between two notes. A passing note may stand
// where the line has turned back once, since it goes on.
func (d *decorator) sings(c *figure) bool {
	plain := d.solution.lines(&d.problem.Style, &d.layout)[c.voice]
	turns := 3
	if c.kind == harmony.Passing {
		turns = 4
	}
	return stumbles(d.lines[c.voice], turns) <= stumbles(plain, turns)
}

// stumbles counts the augmented and diminished intervals of a line, and the places
// where it sways: so many moves in a row between the same two notes.
func stumbles(line []lineNote, turns int) int {
	count := 0
	var tune []theory.Pitch
	for i := range line {
		if n := len(tune); n == 0 || tune[n-1] != line[i].pitch {
			tune = append(tune, line[i].pitch)
		}
	}
	for i := 1; i < len(tune); i++ {
		move := theory.Between(tune[i-1], tune[i]).Abs()
		if q := move.Quality(); q == theory.Augmented && move.Steps > 0 || q == theory.Diminished {
			count++
		}
		if i >= turns && sways(tune[i-turns:i+1]) {
			count++
		}
	}
	return count
}

func sways(tune []theory.Pitch) bool {
	for i := 2; i < len(tune); i++ {
		if tune[i] != tune[i-2] {
			return false
		}
	}
	return true
}

// movesWell reports whether a figure makes no perfect fifths, octaves or unisons in a
// row with any other voice: from moment to moment, from chord to chord, from beat to beat,
// and from one place off the beat to the next.
func (d *decorator) movesWell(c *figure) bool {
	plain := d.solution.lines(&d.problem.Style, &d.layout)
	for u := range d.lines {
		if u == c.voice {
			continue
		}
		for _, moments := range d.places(c, u) {
			for i := 1; i < len(moments); i++ {
				from, to := moments[i-1], moments[i]
				if perfects(d.lines[u], d.lines[c.voice], from, to) && !perfects(plain[u], plain[c.voice], from, to) {
					return false
				}
			}
		}
	}
	return true
}

// places are the onsets near a figure at which its voice is compared with another: all at
// which one of the two begins a note, the chords, the beats, and what begins off the beat.
func (d *decorator) places(c *figure, other int) [4][]theory.Fraction {
	k := c.change
	from, to := d.onsets[max(k-2, 0)], d.onsets[min(k+2, len(d.onsets)-1)]
	var all, beats, off []theory.Fraction
	for _, v := range []int{c.voice, other} {
		for _, n := range d.lines[v] {
			if !n.from.Less(from) && !to.Less(n.from) {
				all = append(all, n.from)
			}
		}
	}
	slices.SortFunc(all, theory.Fraction.Cmp)
	all = slices.Compact(all)
	chords := slices.DeleteFunc(slices.Clone(d.onsets), func(at theory.Fraction) bool { return at.Less(from) || to.Less(at) })
	for _, at := range all {
		if !slices.Contains(d.onsets, at) {
			off = append(off, at)
		}
	}
	beat := d.timeAt(from).Beat()
	for at := from.Sub(d.intoBeat(from)); !to.Less(at); at = at.Add(beat) {
		beats = append(beats, at)
	}
	return [4][]theory.Fraction{all, chords, beats, off}
}

// perfects reports whether two lines both move, and from one perfect fifth, octave or
// unison to another.
func perfects(a, b []lineNote, from, to theory.Fraction) bool {
	i, j, k, l := noteFrom(a, from), noteFrom(b, from), noteFrom(a, to), noteFrom(b, to)
	if i < 0 || j < 0 || k < 0 || l < 0 || a[i].pitch == a[k].pitch || b[j].pitch == b[l].pitch {
		return false
	}
	before, after := theory.Between(a[i].pitch, b[j].pitch).Abs(), theory.Between(a[k].pitch, b[l].pitch).Abs()
	return before.IsPerfectFifth() && after.IsPerfectFifth() || before.IsPerfectOctave() && after.IsPerfectOctave()
}
