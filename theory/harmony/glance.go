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
	// habit[4*chord+inversion] is what the most usual numeral of the chord adds, most the
	// greatest of these numbers.
	habit, most []float32
	// come[f] is the best score of a way to boundary f, with a change into the key if
	// there is one; on[f] is that of the best way on from there.
	come, on []float32
	// behind[f] is how far the best way through boundary f is behind the best of all.
	behind []float32
	// live are the keys that are followed from each boundary, liveAt bounds them.
	live, liveAt []int32
	// through is what is added from boundary f on, before a change of key.
	through []float32
	// Of the segments between two boundaries: the live keys that they can matter to, what
	// the ways around them come to in each, and the best of them, in the order of keys.
	near                []int32
	around, ahead, tops []float32
}

// glanceAt looks at the segments and keeps those that may be part of a good reading,
// each with the keys it may be heard in.
func (l *lattice) glanceAt(width float32) {
	n, keys := len(l.p.frames), len(l.table.keys)
	g := &l.first
	g.come = filled(g.come, (n+1)*keys)
	g.on = filled(g.on, (n+1)*keys)
	g.through, g.tops = slices.Grow(g.through[:0], keys)[:keys], slices.Grow(g.tops[:0], keys)[:keys]
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
	g.habit, g.most = filled(g.habit, 4*len(l.table.chords)*keys), filled(g.most, 4*len(l.table.chords))
	for c := range l.table.chords {
		ch := &l.table.chords[c]
		for _, r := range l.table.readings[ch.readings:ch.readingsEnd] {
			usual := l.t.usual[l.table.keys[r.key].Mode][4*int(r.numeral):][:4]
			for inversion, u := range usual {
				if at := &g.habit[(4*c+inversion)*keys+int(r.key)]; u > *at {
					*at = u
				}
				if at := &g.most[4*c+inversion]; u > *at {
					*at = u
				}
			}
		}
	}
}

// glanceOn goes from the beginning to the end. What notes outside a key cost is left out
// until a way comes to a boundary: it depends on no chord.
func (l *lattice) glanceOn() {
	g, keys := &l.first, len(l.table.keys)
	l.glanceBegins(g.come[:keys])
	for f := range l.p.frames {
		come, cost := g.come[f*keys:(f+1)*keys], l.keyCost[f*keys:(f+1)*keys]
		if f > 0 {
			subtract(come, cost)
		}
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
		live := g.live[g.liveAt[f]:]
		for i := l.segStart[f]; i < l.segStart[f+1]; {
			end := l.segments[i].end
			first := i
			for i < l.segStart[f+1] && l.segments[i].end == end {
				i++
			}
			tops := l.topsOf(l.segments[first:i], live)
			into := g.come[int(end)*keys:][:keys]
			for _, k := range live {
				if score := come[k] + cost[k] + tops[k]; score > into[k] {
					into[k] = score
				}
			}
		}
	}
	n := len(l.p.frames)
	g.liveAt[n] = int32(len(g.live))
	subtract(g.come[n*keys:(n+1)*keys], l.keyCost[n*keys:(n+1)*keys])
}

func subtract(from, what []float32) {
	for k := range from {
		from[k] -= what[k]
	}
}

// nearTop is how near the best of the segments between two boundaries those are that
// topsOf asks first: most of the others can then be seen to be no better in any key.
const nearTop = 1.5

// topsOf finds the best of some segments in each of the live keys.
func (l *lattice) topsOf(segments []segment, live []int32) []float32 {
	g, keys := &l.first, len(l.table.keys)
	tops := g.tops
	best := absent
	for i := range segments {
		if s := segments[i].score; s > best {
			best = s
		}
	}
	for _, k := range live {
		tops[k] = absent
	}
	raise := func(seg *segment) {
		score := seg.score
		habit := g.habit[(4*int(seg.chord)+int(seg.inversion))*keys:][:keys]
		for _, k := range live {
			if score := habit[k] + score; score > tops[k] {
				tops[k] = score
			}
		}
	}
	for i := range segments {
		if segments[i].score >= best-nearTop {
			raise(&segments[i])
		}
	}
	least := -absent
	for _, k := range live {
		if tops[k] < least {
			least = tops[k]
		}
	}
	for i := range segments {
		seg := &segments[i]
		if seg.score < best-nearTop && seg.score+g.most[4*int(seg.chord)+int(seg.inversion)] > least {
			raise(seg)
		}
	}
	return tops
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
		score += change
		for to, related := range l.relation[from*keys : (from+1)*keys] {
			if s := score + related; s > into[to] {
				into[to] = s
			}
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
		live := g.live[g.liveAt[f]:g.liveAt[f+1]]
		for i := l.segStart[f]; i < l.segStart[f+1]; {
			first := i
			for i < l.segStart[f+1] && l.segments[i].end == l.segments[first].end {
				i++
			}
			l.markLikely(f, l.segments[first:i], live, floor)
		}
		on := g.on[f*keys : (f+1)*keys]
		g.behind[f] = best - bestSum(come, through)
		l.changeOutOf(on, through, l.t.change[bool2int(l.p.follows(f))])
	}
}

// markLikely marks the keys in which segments between two boundaries may be part of a way
// that is not below a floor.
func (l *lattice) markLikely(f int, segments []segment, live []int32, floor float32) {
	g, keys := &l.first, len(l.table.keys)
	end := int(segments[0].end)
	most := absent
	for i := range segments {
		seg := &segments[i]
		most = higher(most, seg.score+g.most[4*int(seg.chord)+int(seg.inversion)])
	}
	come, ahead := g.come[f*keys:(f+1)*keys], g.on[end*keys:(end+1)*keys]
	cost, later := l.keyCost[f*keys:(f+1)*keys], l.keyCost[end*keys:(end+1)*keys]
	g.near, g.around, g.ahead = g.near[:0], g.around[:0], g.ahead[:0]
	best := absent
	for _, k := range live {
		on := ahead[k] - (later[k] - cost[k])
		around := come[k] + on
		if around+most < floor {
			continue
		}
		g.near, g.around, g.ahead = append(g.near, k), append(g.around, around), append(g.ahead, on)
		best = higher(best, around)
	}
	near, around, on, through := g.near, g.around[:len(g.near)], g.ahead[:len(g.near)], g.through
	for i := range segments {
		seg := &segments[i]
		row := 4*int(seg.chord) + int(seg.inversion)
		if best+seg.score+g.most[row] < floor {
			continue
		}
		habit := g.habit[row*keys:][:keys]
		for j, k := range near {
			score := habit[k] + seg.score
			if around[j]+score >= floor {
				seg.keys.add(int(k))
				if score := score + on[j]; score > through[k] {
					through[k] = score
				}
			}
		}
	}
}

func bestSum(a, b []float32) float32 {
	best := absent
	for i := range a {
		if s := a[i] + b[i]; s > best {
			best = s
		}
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
		score += change
		for from := range on {
			if s := score + l.relation[from*keys+to]; s > on[from] {
				on[from] = s
			}
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
