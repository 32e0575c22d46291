package harmony

// enter finds the best ways to begin each chord that a segment from frame f has,
// and takes them to where its segments end.
func (l *lattice) enter(f int) {
	l.groupAt[f], l.entryAt[f] = int32(len(l.groups)), int32(len(l.entries))
	l.groupSegments(f)
	b := boundary{frame: f, width: l.widthAt(f), first: l.nodeAt[f], nodes: l.nodes[l.nodeAt[f]:l.nodeAt[f+1]], most: l.most,
		phrase: l.p.follows(f), opens: l.p.opens(f)}
	l.leaps(&b)
	l.bestEntry = absent
	// Chords that explain much come first: what they reach rules out more of the
	// others.
	groups := l.groups[l.groupAt[f]:]
	l.order = l.order[:0]
	for i := range groups {
		l.order = append(l.order, int32(i))
	}
	for i := 1; i < len(l.order); i++ {
		for j := i; j > 0 && groups[l.order[j-1]].explains < groups[l.order[j]].explains; j-- {
			l.order[j-1], l.order[j] = l.order[j], l.order[j-1]
		}
	}
	for _, i := range l.order {
		g := &groups[i]
		l.p.texture.Score.Work.Step(8)
		l.begin(g, &b)
		for at := g.segment; at >= 0; at = l.segments[at].next {
			l.arrive(g, at, l.crossed[int(l.segments[at].end)-f-1])
		}
	}
}

// boundary is what there is to go on from.
type boundary struct {
	nodes []node
	first int32 // index of nodes[0] among all nodes
	frame int
	// opens is set at the beginning of the piece, phrase after the end of one.
	opens, phrase bool
	width         float32
	// most is the best score that a chord of each key has to go on from.
	most []float32
}

// groupSegments makes groups of the segments from frame f that share chord and
// inversion, and prepares what each key costs up to their ends.
func (l *lattice) groupSegments(f int) {
	first := int32(len(l.groups))
	segments := l.segments[l.segStart[f]:l.segStart[f+1]]
	var most [maxSegmentFrames]float32
	for i, end := 0, int32(-1); i < len(segments); i++ {
		length := int(segments[i].end) - f - 1
		if segments[i].end != end {
			end = segments[i].end
			l.crossing(f, int(end))
			l.needs(f, int(end))
			most[length] = segments[i].score
		}
		most[length] = max(most[length], segments[i].score)
	}
	for i := range segments {
		seg := &segments[i]
		at := l.segStart[f] + int32(i)
		explains := seg.score - most[int(seg.end)-f-1]
		seg.group = l.groupOf(seg, first)
		if int(seg.group) == len(l.groups) {
			l.groups = append(l.groups, group{chord: seg.chord, inversion: seg.inversion, segment: -1, explains: explains})
		}
		g := &l.groups[seg.group]
		g.explains = max(g.explains, explains)
		seg.next, g.segment = g.segment, at
		g.keys[0] |= seg.keys[0]
		g.keys[1] |= seg.keys[1]
	}
}

// groupOf finds the group of a segment's chord and inversion from a first one
// on, the number of groups if there is none.
func (l *lattice) groupOf(seg *segment, first int32) int32 {
	for i := first; i < int32(len(l.groups)); i++ {
		if g := &l.groups[i]; g.chord == seg.chord && g.inversion == seg.inversion {
			return i
		}
	}
	return int32(len(l.groups))
}

// floor is the score of an entry of a group that would be as good as the best of
// what is known so far.
func (l *lattice) floor(g *group) float32 {
	need := float32(1e30)
	for at := g.segment; at >= 0; at = l.segments[at].next {
		seg := &l.segments[at]
		if s := l.ring[int(seg.end)%len(l.ring)].best - seg.score; s < need {
			need = s
		}
	}
	return max(need, l.bestEntry)
}

// needs finds, for each key, the score of a way up to frame f and of a segment from there
// to a boundary that is not yet hopeless there, by what has arrived so far.
func (l *lattice) needs(f, end int) {
	need, crossed, keys := l.needed[end-f-1], l.crossed[end-f-1], len(l.table.keys)
	floor := l.ring[end%len(l.ring)].hoped
	if floor <= absent {
		for k := range need {
			need[k] = absent
		}
		return
	}
	floor -= l.hopeless(end)
	for k, on := range l.first.on[end*keys : (end+1)*keys] {
		need[k] = floor - on + crossed[k]
	}
}

// need is the least score that a way has to have to go on as a group in a key without
// being hopeless.
func (l *lattice) need(g *group, key int16, f int) float32 {
	need := -absent
	for at := g.segment; at >= 0; at = l.segments[at].next {
		seg := &l.segments[at]
		if s := l.needed[int(seg.end)-f-1][key] - seg.score; s < need {
			need = s
		}
	}
	return need
}

// turns is how much further behind a way may be that a chord turns from into another key:
// what is hoped for it there counts, of which the glance knows little.
const turns = 2

// begin finds the best way to begin a chord in each of its readings.
func (l *lattice) begin(g *group, b *boundary) {
	l.within = l.table.within(g.chord, g.keys, l.within[:0])
	g.first, g.best = int32(len(l.entries)), absent
	floor := l.floor(g) - b.width
	key, need := int16(-1), absent
	for i := range l.within {
		r := &l.within[i]
		mode := l.table.keys[r.key].Mode
		state := r.numeral*4 + int16(g.inversion)
		if b.opens {
			score := l.t.first[mode][state] + l.opening(int(r.key))
			floor = l.add(g, entry{score, r.key, state, settled, r.plain, placeOf(r.place, settled), -1, -1, -1}, floor)
			continue
		}
		if r.key != key {
			key, need = r.key, l.need(g, r.key, b.frame)
		}
		least := need
		if r.plain {
			least -= turns
		}
		least = max(least, floor)
		leap := l.into[r.key].score + l.t.entry[mode][state]
		if leap <= least && b.most[r.key]+l.t.reach[bool2int(b.phrase)][mode][state] <= least {
			continue
		}
		hears := l.h.heard[mode][state]
		best := [settled + 1]way{{least, -1}, {least, -1}, {least, -1}, {least, -1}}
		if leap > least {
			best[hears] = way{leap, l.into[r.key].from}
		}
		l.follow(r.key, state, hears, b, &best)
		for heard, way := range best {
			if way.from >= 0 && (heard == int(settled) || way.score > best[settled].score) {
				floor = l.add(g, entry{way.score, r.key, state, settling(heard), r.plain,
					placeOf(r.place, settling(heard)), -1, -1, way.from}, floor)
			}
		}
	}
	if !b.opens && !b.phrase && len(l.entries) > int(g.first) {
		l.turn(g, floor)
	}
	g.count = int32(len(l.entries)) - g.first
}

// placeOf is where a reading of a chord stands among its arrivals.
func placeOf(reading int16, heard settling) int16 {
	return reading*int16(settled+1) + int16(heard)
}

// add appends an entry, if it is not below the floor, and returns the new floor.
func (l *lattice) add(g *group, in entry, floor float32) float32 {
	if in.score <= floor {
		return floor
	}
	l.entries = append(l.entries, in)
	g.best, l.bestEntry = max(g.best, in.score), max(l.bestEntry, in.score)
	return max(floor, in.score-l.widthAt(int(l.segments[g.segment].start)))
}

// follow finds the best predecessors within the same key.
func (l *lattice) follow(key, state int16, hears settling, b *boundary, best *[settled + 1]way) {
	mode := l.table.keys[key].Mode
	first := l.keyAt[key]
	nodes := b.nodes[first:l.keyAt[key+1]]
	if b.phrase {
		for i := range nodes {
			score := nodes[i].score + l.t.final[mode][nodes[i].state] + l.t.start[mode][state]
			if best := &best[nodes[i].heard|hears]; score > best.score {
				*best = way{score, b.first + first + int32(i)}
			}
		}
		return
	}
	n := l.h.words[mode].states()
	pair := l.t.pair[mode][int(state)*n : (int(state)+1)*n]
	reach := l.t.reach[0][mode][state]
	for i := range nodes {
		// The nodes come in order of score: the rest is further behind.
		if nodes[i].score+reach <= best[settled].score {
			break
		}
		score := nodes[i].score + pair[nodes[i].state]
		if best := &best[nodes[i].heard|hears]; score > best.score {
			*best = way{score, b.first + first + int32(i)}
		}
	}
}

// arrive takes a group's entries along one of its segments to where it ends.
func (l *lattice) arrive(g *group, at int32, crossed []float32) {
	seg := &l.segments[at]
	to := &l.ring[int(seg.end)%len(l.ring)]
	width := l.widthAt(int(seg.start))
	if g.best+seg.score < to.best-width {
		return
	}
	on, hopeless := l.first.on[int(seg.end)*len(l.table.keys):][:len(l.table.keys)], l.hopeless(int(seg.end))
	ch := &l.table.chords[seg.chord]
	first := to.open(seg.chord, seg.inversion, ch.readingsEnd-ch.readings)
	places := to.places[first:]
	best := to.best
	entries := l.entries[g.first : g.first+g.count]
	for e := range entries {
		in := &entries[e]
		score := in.score + seg.score - crossed[in.key]
		if score < best-width {
			continue
		}
		hope := score + on[in.key]
		if hope < to.hoped-hopeless {
			continue
		}
		if hope > to.hoped {
			to.hoped = hope
		}
		if score > best {
			best = score
		}
		a := &places[in.place]
		if a.score <= absent {
			to.taken = append(to.taken, first+int32(in.place))
		}
		if score > a.score {
			*a = arrival{score, g.first + int32(e), at}
		}
	}
	to.best = best
}
