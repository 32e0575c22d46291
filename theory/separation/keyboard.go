package separation

import "slices"

// joinStaves takes the two staves of a keyboard as one where that fits the music
// better: where chords pass notes from hand to hand, such as a tenor that the
// left hand has now and then, each hand has now more notes and now fewer, but
// both together mostly the same number.
func joinStaves(staves []staff) []staff {
	out := staves[:0]
	for i := 0; i < len(staves); i++ {
		upper := &staves[i]
		upper.countVoices()
		if upper.bottom || i+1 == len(staves) || !upper.top || !staves[i+1].bottom {
			out = append(out, *upper)
			continue
		}
		lower := &staves[i+1]
		lower.countVoices()
		i++
		if upper.isSplit() || lower.isSplit() {
			both := joinPair(upper, lower)
			both.countVoices()
			if 2*both.misfit() < upper.misfit()+lower.misfit() {
				out = append(out, both)
				continue
			}
		}
		out = append(out, *upper, *lower)
	}
	return out
}

// isSplit reports whether voices of the staff have to be told apart by rank.
func (st *staff) isSplit() bool { return st.voices > 1 && !st.layered }

// misfit is how long the staff sounds with more or fewer notes than voices.
func (st *staff) misfit() int64 {
	var time int64
	st.sweep(func(from, _ int, sounding []int32, until int64) {
		if len(sounding) != st.voices {
			time += until - st.tones[from].onset
		}
	})
	return time
}

// joinPair returns two staves as one, the lanes of the upper one above.
func joinPair(upper, lower *staff) staff {
	both := *upper
	both.bottom, both.joined = true, true
	both.lastEnd = max(upper.lastEnd, lower.lastEnd)
	both.lanes = slices.Concat(upper.lanes, lower.lanes)
	both.tones = slices.Concat(upper.tones, lower.tones)
	both.rests = slices.Concat(upper.rests, lower.rests)
	for i := len(upper.tones); i < len(both.tones); i++ {
		both.tones[i].lane += int16(len(upper.lanes))
	}
	for i := len(upper.rests); i < len(both.rests); i++ {
		both.rests[i].lane += int16(len(upper.lanes))
	}
	slices.SortFunc(both.tones, compareTones)
	return both
}
