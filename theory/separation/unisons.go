package separation

import (
	"cmp"
	"slices"
)

// shareReach is the farthest, in semitones, that a voice may move to or from a
// note it shares: a perfect fifth.
const shareReach = 7

// shareUnisons finds the notes that two voices of a staff sing from one head. A
// voice that is silent without a rest for exactly one pitch of its neighbor, and
// sings right before and right after (or is at the start or end of the staff),
// sings that pitch too if it lies within [shareReach] of its own on both sides.
// Any other silence stays a silence.
func (st *staff) shareUnisons(lines []line) {
	for v := 0; v < st.voices && st.voices > 1; v++ {
		own := lines[v].tones
		var shared []int32
		for k := 0; k <= len(own) && len(own) > 0; k++ {
			st.work.Step(1)
			for _, i := range st.sharedAt(lines, v, k) {
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

// sharedAt returns the neighbor's tones that fill the gap before the k-th tone
// of voice v, or after its last one; nil if there is no gap or none fill it.
func (st *staff) sharedAt(lines []line, v, k int) []int32 {
	own := lines[v].tones
	from, to := st.tones[0].onset, st.lastEnd
	ends := [2]*tone{}
	if k > 0 {
		ends[0] = &st.tones[own[k-1]]
		from = ends[0].end
	}
	if k < len(own) {
		ends[1] = &st.tones[own[k]]
		to = ends[1].onset
	}
	if from >= to {
		return nil
	}
	var best []int32
	least := 0
	for _, u := range [2]int{v - 1, v + 1} {
		if u < 0 || u >= st.voices {
			continue
		}
		run := st.onePitch(lines[u].tones, from, to)
		if run == nil {
			continue
		}
		motion, reachable := 0, true
		for _, end := range ends {
			if end != nil {
				d := distance(end.height, st.tones[run[0]].height)
				motion += d
				reachable = reachable && d <= shareReach
			}
		}
		if reachable && (best == nil || motion < least) && !st.voiceRests(own, k, from, to) {
			best, least = run, motion
		}
	}
	return best
}

// onePitch returns the tones of a line that last without a break from one point
// to another, all of one pitch and none of them shared; nil where it has others.
func (st *staff) onePitch(tones []int32, from, to int64) []int32 {
	k, ok := slices.BinarySearchFunc(tones, from, func(i int32, from int64) int {
		return cmp.Compare(st.tones[i].onset, from)
	})
	if !ok {
		return nil
	}
	height, at := st.tones[tones[k]].height, from
	for i := k; i < len(tones); i++ {
		t := &st.tones[tones[i]]
		if t.onset != at || t.height != height || t.shared || t.end > to {
			return nil
		}
		if at = t.end; at == to {
			return tones[k : i+1]
		}
	}
	return nil
}

// voiceRests reports whether the layers in which a voice sings before and at its
// k-th tone show a rest between two points.
func (st *staff) voiceRests(own []int32, k int, from, to int64) bool {
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
