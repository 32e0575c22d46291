package theory

import (
	"cmp"
	"slices"
)

// shareReach is the farthest, in semitones, that a voice may move to or from a
// note it shares: a perfect fourth.
const shareReach = 5

// shareUnisons finds the notes that two voices of a staff sing from one head. A
// voice that is silent without a rest for exactly one note of its neighbor, and
// sings right before and right after (or is at the start or end of the staff),
// sings that note too if it lies within [shareReach] of its own on both sides.
// A longer silence stays a silence.
func (st *staff) shareUnisons(lines []line) {
	for v := 0; v < st.voices && st.voices > 1; v++ {
		var shared []int32
		own := lines[v].tones
		for k := 0; k <= len(own) && len(own) > 0; k++ {
			if i, ok := st.sharedAt(lines, v, k); ok {
				st.tones[i].shared = true
				shared = append(shared, i)
			}
		}
		if len(shared) == 0 {
			continue
		}
		lines[v].shared = len(shared)
		all := append(slices.Clone(own), shared...)
		slices.SortFunc(all, func(a, b int32) int { return cmp.Compare(st.tones[a].onset, st.tones[b].onset) })
		lines[v].tones = all
	}
}

// sharedAt returns the neighbor's tone that fills the gap before the k-th tone
// of voice v, or after its last one.
func (st *staff) sharedAt(lines []line, v, k int) (int32, bool) {
	own := lines[v].tones
	from, to := st.tones[0].onset, st.lastEnd
	var before, after *tone
	if k > 0 {
		before = &st.tones[own[k-1]]
		from = before.end
	}
	if k < len(own) {
		after = &st.tones[own[k]]
		to = after.onset
	}
	if from >= to {
		return 0, false
	}
	best, least := int32(-1), 0
	for _, u := range [2]int{v - 1, v + 1} {
		if u < 0 || u >= st.voices {
			continue
		}
		i, ok := st.toneFilling(lines[u].tones, from, to)
		if !ok {
			continue
		}
		motion := 0
		reachable := true
		for _, end := range [2]*tone{before, after} {
			if end != nil {
				d := distance(end.height, st.tones[i].height)
				motion += d
				reachable = reachable && d <= shareReach
			}
		}
		if reachable && (best < 0 || motion < least) && !st.voiceRests(lines, v, k, from, to) {
			best, least = i, motion
		}
	}
	return best, best >= 0
}

// toneFilling returns the tone that lasts exactly from one point to another.
func (st *staff) toneFilling(tones []int32, from, to int64) (int32, bool) {
	k, ok := slices.BinarySearchFunc(tones, from, func(i int32, from int64) int {
		return cmp.Compare(st.tones[i].onset, from)
	})
	if !ok || st.tones[tones[k]].end != to || st.tones[tones[k]].shared {
		return 0, false
	}
	return tones[k], true
}

// voiceRests reports whether the layers in which voice v sings next to its k-th
// tone show a rest between two points.
func (st *staff) voiceRests(lines []line, v, k int, from, to int64) bool {
	own := lines[v].tones
	for _, i := range [2]int{k - 1, k} {
		if i >= 0 && i < len(own) && st.restsWithin(st.tones[own[i]].lane, from, to) {
			return true
		}
	}
	return false
}

// restsAt reports whether a lane shows a rest at an onset.
func (st *staff) restsAt(lane int16, onset int64) bool {
	return st.restsWithin(lane, onset, onset+1)
}

// restsWithin reports whether a lane shows a rest between two points.
func (st *staff) restsWithin(lane int16, from, to int64) bool {
	k, _ := slices.BinarySearchFunc(st.rests, lane, func(r silence, lane int16) int {
		if r.lane != lane {
			return int(r.lane) - int(lane)
		}
		return cmp.Compare(r.end, from+1)
	})
	return k < len(st.rests) && st.rests[k].lane == lane && st.rests[k].onset < to
}
