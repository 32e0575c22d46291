package harmony

import (
	"slices"
	"sort"

	"partwright/theory"
)

// Placed is an entry of an analysis at its place in a score.
type Placed struct {
	Entry
	Onset theory.Fraction
}

// Place finds the onsets that the entries of an analysis have in a score, in
// order. Entries outside the score are left out. Analysts number measures after a
// pickup differently; of the numbering in RomanText, that as printed and those one
// off, Place takes the one in which the labeled roots sound most often.
func (r *RomanText) Place(t *theory.Texture) []Placed {
	var best []Placed
	most := -1
	for _, numbers := range numberings(t.Score) {
		placed := r.placeBy(t.Score, numbers)
		sound := 0
		for i := range placed {
			if rootSounds(t, placed[i].Onset, placed[i].Root()) {
				sound++
			}
		}
		if sound > most {
			best, most = placed, sound
		}
	}
	return best
}

// numberings lists how the measures of a score may be numbered. With a pickup of
// number 0, the measures after it go on from 1 or keep what is printed.
func numberings(s *theory.Score) [][]int {
	usual := romanNumbers(s)
	shifted := func(by int) []int {
		out := slices.Clone(usual)
		for i := range out {
			out[i] += by
		}
		return out
	}
	printed := shifted(0)
	if len(s.Measures) > 1 && usual[0] == 0 && s.Measures[0].Label == "1" {
		printed = shifted(1)
		printed[0] = 0
	}
	return [][]int{usual, shifted(1), shifted(-1), printed}
}

func (r *RomanText) placeBy(s *theory.Score, numbers []int) []Placed {
	// A measure that a repeat divides stands as two with one number, as many as follow
	// one another. into is how far they have come in it by each of them.
	type run struct{ from, to int }
	runs := map[int]run{}
	into := make([]theory.Fraction, len(numbers))
	for i, n := range numbers {
		r, known := runs[n]
		switch {
		case !known:
			runs[n] = run{i, i + 1}
		case r.to == i:
			runs[n] = run{r.from, i + 1}
			into[i] = later(into[i-1], s.Measures[i].Into)
		}
	}
	var out []Placed
	for _, e := range r.Entries {
		r, ok := runs[e.Measure]
		if !ok {
			continue
		}
		i := r.from + sort.Search(r.to-r.from-1, func(k int) bool { return e.Offset.Less(into[r.from+1+k]) })
		m := &s.Measures[i]
		into := e.Offset.Sub(m.Into)
		if into.Sign() < 0 || !into.Less(m.Length) {
			continue
		}
		out = append(out, Placed{e, m.Onset.Add(into)})
	}
	return out
}

// rootSounds reports whether a pitch class sounds at an onset.
func rootSounds(t *theory.Texture, onset theory.Fraction, root theory.PitchClass) bool {
	for v := range t.Voices {
		notes := t.Voices[v].Notes
		i, _ := noteAt(notes, onset)
		if i >= 0 && notes[i].Pitch.Class() == root {
			return true
		}
	}
	return false
}

// noteAt returns the index of the note of a line that sounds at an onset, -1 in
// silence, and the index of the next one.
func noteAt(notes []theory.VoiceNote, onset theory.Fraction) (at, next int) {
	lo, hi := 0, len(notes)
	for lo < hi {
		if mid := (lo + hi) / 2; onset.Less(notes[mid].Onset) {
			hi = mid
		} else {
			lo = mid + 1
		}
	}
	if lo > 0 && onset.Less(notes[lo-1].End()) {
		return lo - 1, lo
	}
	return -1, lo
}
