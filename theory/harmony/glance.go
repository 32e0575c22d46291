package harmony

import "slices"

// The glance goes through the piece before the search. It hears every segment in every
// key, each with the numeral that is most usual there, whatever comes before: so it
// needs to remember no more than the key. It tells how good the best way through the
// piece is that has a given segment in a given key, and the search leaves out what is
// hopelessly behind, see widths.glance.

// keySet is a set of keys by their index: 64 tonics in two modes at most.
type keySet [2]uint64

func (s *keySet) add(key int) { s[key>>6] |= 1 << uint(key&63) }

// glance are its tables, all by key.
type glance struct {
	// habit[4*chord+inversion] is what the most usual numeral of the chord adds.
	habit []float32
	// come[f] is the best score of a way to boundary f, with a change into the key if
	// there is one; on[f] is that of the best way on from there.
	come, on []float32
	// behind[f] is how far the best way through boundary f is behind the best of all.
	behind []float32
	// live are the keys that are followed from each boundary, liveAt bounds them.
	live, liveAt []int32
	// through is what is added from boundary f on, before a change of key.
	through []float32
}

// glanceAt looks at the segments and keeps those that may be part of a good reading,
// each with the keys it may be heard in.
func (l *lattice) glanceAt(width float32) {
	n, keys := len(l.p.frames), len(l.table.keys)
	g := &l.first
	g.come = filled(g.come, (n+1)*keys)
	g.on = filled(g.on, (n+1)*keys)
	g.through = slices.Grow(g.through[:0], keys)[:keys]
	g.live, g.liveAt = g.live[:0], slices.Grow(g.liveAt[:0], n+1)[:n+1]
	g.behind = filled(g.behind, n+1)
	g.behind[n] = 0
	l.usualReadings()
	l.glanceOn()
	best := l.glanceEnds()
	l.glanceBack(best, width)
	l.keepGlanced()
}

// filled returns a table of a size that has nothing in it yet.
func filled(table []float32, size int) []float32 {
	table = slices.Grow(table[:0], size)[:size]
	for i := range table {
		table[i] = absent
	}
	return table
}

// usualReadings finds what each chord and inversion adds in each key.
func (l *lattice) usualReadings() {
	g, keys := &l.first, len(l.table.keys)
	g.habit = filled(g.habit, 4*len(l.table.chords)*keys)
	for c := range l.table.chords {
		ch := &l.table.chords[c]
		for _, r := range l.table.readings[ch.readings:ch.readingsEnd] {
			usual := l.t.usual[l.table.keys[r.key].Mode][4*int(r.numeral):][:4]
			for inversion, u := range usual {
				at := &g.habit[(4*c+inversion)*keys+int(r.key)]
				*at = max(*at, u)
			}
		}
	}
}

// glanceOn goes from the beginning to the end.
func (l *lattice) glanceOn() {
	g, keys := &l.first, len(l.table.keys)
	l.glanceBegins(g.come[:keys])
	for f := range l.p.frames {
		come := g.come[f*keys : (f+1)*keys]
		if !l.p.opens(f) {
			l.changeInto(come, l.t.change[bool2int(l.p.follows(f))])
		}
		g.liveAt[f] = int32(len(g.live))
		best := slices.Max(come)
		for k, score := range come {
			if score > best-max(l.width, l.glanceWidth) && score > absent {
				g.live = append(g.live, int32(k))
			}
		}
		live, end := g.live[g.liveAt[f]:], int32(-1)
		var crossed, into []float32
		for i := l.segStart[f]; i < l.segStart[f+1]; i++ {
			seg := &l.segments[i]
			if seg.end != end {
				end = seg.end
				l.crossing(f, int(end))
				crossed, into = l.crossed[int(end)-f-1], g.come[int(end)*keys:][:keys]
			}
			habit := g.habit[(4*int(seg.chord)+int(seg.inversion))*keys:][:keys]
			for _, k := range live {
				if score := come[k] + habit[k] + seg.score - crossed[k]; score > into[k] {
					into[k] = score
				}
			}
		}
	}
	g.liveAt[len(l.p.frames)] = int32(len(g.live))
}

// glanceBegins fills in what each key has at the first boundary.
func (l *lattice) glanceBegins(come []float32) {
	switch {
	case l.p.opens(0):
		for k := range come {
			come[k] = l.opening(k)
		}
	case l.seams != nil:
		for i := range l.seams.before {
			s := &l.seams.before[i]
			if key := slices.Index(l.table.keys, s.key); key >= 0 {
				come[key] = max(come[key], s.score)
			}
		}
	}
}

// glanceEnds fills in what each key has at the last boundary and returns the best
// score of all ways.
func (l *lattice) glanceEnds() float32 {
	g, n, keys := &l.first, len(l.p.frames), len(l.table.keys)
	on := g.on[n*keys:]
	if l.seams != nil && l.seams.after != nil {
		for state, score := range l.seams.after {
			if key := slices.Index(l.table.keys, state.key); key >= 0 {
				on[key] = max(on[key], score)
			}
		}
	} else {
		clear(on)
	}
	best := absent
	for k, score := range g.come[n*keys:] {
		best = max(best, score+on[k])
	}
	return best
}

// changeInto lets each key be reached from every other.
func (l *lattice) changeInto(come []float32, change float32) {
	keys := len(come)
	into := l.most[:keys]
	copy(into, come)
	best := slices.Max(come)
	for from, score := range come {
		// No relation of keys is a gain.
		if score <= absent || score < best-max(l.width, l.glanceWidth) {
			continue
		}
		for to, related := range l.relation[from*keys : (from+1)*keys] {
			into[to] = max(into[to], score+change+related)
		}
	}
	copy(come, into)
}

// glanceBack goes from the end to the beginning and marks what segments may be part of
// a way that is not further than width behind the best.
func (l *lattice) glanceBack(best, width float32) {
	g, keys := &l.first, len(l.table.keys)
	for f := len(l.p.frames) - 1; f >= 0; f-- {
		floor := best - width
		if f+l.p.first <= openingFrames {
			floor -= 2 * width
		}
		come, through := g.come[f*keys:(f+1)*keys], filled(g.through, keys)
		live, end := g.live[g.liveAt[f]:g.liveAt[f+1]], int32(-1)
		var crossed, ahead []float32
		for i := l.segStart[f]; i < l.segStart[f+1]; i++ {
			seg := &l.segments[i]
			if seg.end != end {
				end = seg.end
				l.crossing(f, int(end))
				crossed, ahead = l.crossed[int(end)-f-1], g.on[int(end)*keys:][:keys]
			}
			habit := g.habit[(4*int(seg.chord)+int(seg.inversion))*keys:][:keys]
			for _, k := range live {
				on := habit[k] + seg.score - crossed[k] + ahead[k]
				if come[k]+on >= floor {
					seg.keys.add(int(k))
					through[k] = max(through[k], on)
				}
			}
		}
		on := g.on[f*keys : (f+1)*keys]
		g.behind[f] = best - bestSum(come, through)
		l.changeOutOf(on, through, l.t.change[bool2int(l.p.follows(f))])
	}
}

func bestSum(a, b []float32) float32 {
	best := absent
	for i := range a {
		best = max(best, a[i]+b[i])
	}
	return best
}

// changeOutOf lets each key go on as every other.
func (l *lattice) changeOutOf(on, through []float32, change float32) {
	keys := len(on)
	copy(on, through)
	for to, score := range through {
		if score <= absent {
			continue
		}
		for from := range on {
			on[from] = max(on[from], score+change+l.relation[from*keys+to])
		}
	}
}

// keepGlanced drops the segments that no key is left for.
func (l *lattice) keepGlanced() {
	kept, from := l.segments[:0], int32(0)
	for f := range l.p.frames {
		end := l.segStart[f+1]
		for i := from; i < end; i++ {
			if seg := l.segments[i]; seg.keys != (keySet{}) {
				kept = append(kept, seg)
			}
		}
		from, l.segStart[f+1] = end, int32(len(kept))
	}
	l.segments = kept
}
