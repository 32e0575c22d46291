package voicing

// arch bounds where the top voice should stand at one chord of a phrase, in
// semitones above C0.
type arch struct{ floor, ceiling int }

// archFrom is the shortest phrase, in chords, that is long enough for an arch.
const archFrom = 5

// archAt returns the arch at a chord. Over a phrase the line rises from the middle
// of its comfortable range to a climax about two thirds through and comes back:
// the ceiling is the middle at both ends and the top of the comfortable range at
// the climax, where the floor comes up above the middle (the melodic arch after Huron,
// by way of Open Music Theory v1; where in the phrase it lies is common practice, no
// source). A short phrase has none.
func (p *Problem) archAt(k int) arch {
	r := &p.Style.Voices[0]
	first, end := p.phraseAround(k)
	n := end - first
	if n < archFrom {
		return arch{0, r.High.Semitones()}
	}
	low, high := r.EasyLow.Semitones(), r.EasyHigh.Semitones()
	middle := (low + high) / 2
	// In sixths of a chord from the phrase's start: the climax is at four sixths.
	at, climax := 6*(k-first)+3, 4*n
	rise := (high - middle) * at / climax
	if at > climax {
		rise = (high - middle) * (6*n - at) / (2 * n)
	}
	a := arch{low, middle + rise}
	if 5*rise >= 4*(high-middle) {
		a.floor = (middle + high) / 2
	}
	return a
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

// shape adds what the top voice pays for standing outside its arch.
func (s *set) shape(a arch, w *Weights) {
	if w.Arch == 0 {
		return
	}
	for i := range s.arrangements {
		top := s.tones[0][s.arrangements[i].tone[0]].semitones
		s.arrangements[i].cost += w.Arch * Cost(max(0, top-a.ceiling, a.floor-top))
	}
}
