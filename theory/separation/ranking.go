package separation

// ranking tells the voices of a staff apart where its layers alone do not: it
// holds chords, or a layer divides. At each onset the new notes are fitted to
// the voices that are free, in order from the top, so that the voices together
// move as little as possible from their last notes and towards the next moment
// at which all of them sound.
type ranking struct {
	st *staff
	// homes has, for each lane, bit v set where voice v is the lane's by rights;
	// 0 where nothing is known.
	homes []uint32
	// full holds the pitches of the moments at which as many notes sound as the
	// staff has voices, st.voices for each; next is the number of the first of
	// them that comes after the present onset.
	full    []int16
	fullAt  []int64
	next    int
	ends    []int64
	last    []int16 // the pitch each voice sang last, -1 for none
	free    []int
	fitting fitting
}

// Costs in semitones of motion. Each group outweighs the ones before it: how far
// voices move, then which voices are silent, then rank and layer, then whether a
// note has a voice at all.
const (
	// outerCost is for making an outermost note the extra one.
	outerCost = 4
	// bassCost and melodyCost are for leaving the lowest or the highest voice
	// without a note: the lowest note of a chord is heard as the bass, its top
	// even more as the melody.
	bassCost   = 12
	melodyCost = 24
	// crossingCost is for a note above a held higher voice, or below a lower one,
	// strangerCost for a note in a voice that another layer has by rights.
	crossingCost = 48
	strangerCost = 48
	// leaveCost is for a note that becomes an extra one though a voice is free.
	leaveCost = 500
	// restingCost is for a note in a voice whose own layer shows a rest.
	restingCost = 1000
)

func newRanking(st *staff) *ranking {
	r := &ranking{st: st, ends: make([]int64, st.voices), last: make([]int16, st.voices), free: make([]int, 0, st.voices)}
	for v := range r.last {
		r.last[v] = -1
	}
	r.readFullMoments()
	return r
}

// readFullMoments collects the moments at which every voice sounds and learns
// from them which voices belong to which layer.
func (r *ranking) readFullMoments() {
	st := r.st
	time := make([]int64, len(st.lanes)*st.voices)
	rank := make([]int32, 0, st.voices)
	st.sweep(func(from, _ int, sounding []int32, until int64) {
		if len(sounding) != st.voices {
			return
		}
		rank = append(rank[:0], sounding...)
		for i := 1; i < len(rank); i++ { // insertion sort: a handful, mostly in order
			for j := i; j > 0 && st.ranksAbove(rank[j], rank[j-1]); j-- {
				rank[j], rank[j-1] = rank[j-1], rank[j]
			}
		}
		onset := st.tones[from].onset
		for v, i := range rank {
			r.full = append(r.full, st.tones[i].height)
			time[int(st.tones[i].lane)*st.voices+v] += until - onset
		}
		r.fullAt = append(r.fullAt, onset)
	})
	r.homes = st.homesFrom(time)
}

func (st *staff) ranksAbove(i, j int32) bool {
	a, b := &st.tones[i], &st.tones[j]
	if a.lane != b.lane {
		return a.lane < b.lane
	}
	return a.height > b.height
}

// homesFrom gives each main layer its own voice where there are as many, else
// the voices in which a layer spends a fifth of its time in full moments.
func (st *staff) homesFrom(time []int64) []uint32 {
	homes := make([]uint32, len(st.lanes))
	if len(st.lanes) == 1 {
		return homes
	}
	voice := 0
	for l := range homes {
		if st.layered {
			if st.lanes[l].main {
				homes[l] = 1 << voice
				voice++
			}
			continue
		}
		own := time[l*st.voices : (l+1)*st.voices]
		var total int64
		for _, t := range own {
			total += t
		}
		for v, t := range own {
			if total > 0 && 5*t >= total {
				homes[l] |= 1 << v
			}
		}
	}
	return homes
}

func (r *ranking) run() {
	st := r.st
	for from := 0; from < len(st.tones); {
		onset := st.tones[from].onset
		to := from
		for to < len(st.tones) && st.tones[to].onset == onset {
			to++
		}
		for r.next < len(r.fullAt) && r.fullAt[r.next] <= onset {
			r.next++
		}
		r.free = r.free[:0]
		for v, end := range r.ends {
			if end <= onset {
				r.free = append(r.free, v)
			}
		}
		r.place(st.tones[from:to], onset)
		from = to
	}
}

// place fits the tones that begin together to the free voices.
func (r *ranking) place(chord []tone, onset int64) {
	r.st.work.Step((len(chord) + 1) * (len(r.free) + 1) * (len(r.homes) + 1) / 4)
	r.fitting.solve(len(chord), len(r.free), fit{
		place: func(i, j int) int { return r.cost(chord, i, r.free[j], onset) },
		leave: func(i int) int { return r.leave(chord, i) },
		spare: func(j int) int { return r.spare(r.free[j]) },
	})
	for i, j := range r.fitting.of {
		if j < 0 {
			continue
		}
		v := r.free[j]
		chord[i].voice = int16(v)
		r.ends[v], r.last[v] = chord[i].end, chord[i].height
	}
}

// leave is the cost of making a note of the chord an extra one.
func (r *ranking) leave(chord []tone, i int) int {
	if (i == 0 && r.st.top) || (i == len(chord)-1 && r.st.bottom) {
		return leaveCost + outerCost
	}
	return leaveCost
}

// spare is the cost of leaving a free voice without a note.
func (r *ranking) spare(v int) int {
	switch {
	case v == 0 && r.st.top:
		return melodyCost
	case v == r.st.voices-1 && r.st.bottom:
		return bassCost
	}
	return 0
}

// cost is what it costs to sing chord[i] in voice v.
func (r *ranking) cost(chord []tone, i, v int, onset int64) int {
	t := &chord[i]
	cost := 0
	if r.last[v] >= 0 {
		cost += distance(r.last[v], t.height)
	}
	if r.next < len(r.fullAt) {
		cost += distance(r.full[r.next*r.st.voices+v], t.height)
	}
	if !r.st.layered {
		for u, end := range r.ends {
			held := end > onset
			if held && ((u < v && r.last[u] < t.height) || (u > v && r.last[u] > t.height)) {
				cost += crossingCost
			}
		}
	}
	for l, homes := range r.homes {
		switch own := homes>>v&1 == 1; {
		case l == int(t.lane) && homes != 0 && !own && !r.overfull(chord, i):
			cost += strangerCost
		case l != int(t.lane) && own && r.homes[t.lane]>>v&1 == 0 && r.st.restsAt(int16(l), onset):
			cost += restingCost
		}
	}
	return cost
}

// overfull reports whether chord[i] is one of more notes than its layer has
// voices of its own, and not among the first of them.
func (r *ranking) overfull(chord []tone, i int) bool {
	before := 0
	for j := range i {
		if chord[j].lane == chord[i].lane {
			before++
		}
	}
	own := 0
	for h := r.homes[chord[i].lane]; h != 0; h &= h - 1 {
		own++
	}
	return before >= own
}
