package harmony

import "slices"

// way is the best way into a key by an abrupt change.
type way struct {
	score float32
	from  int32
}

// leaps finds, for each key, the best node to leave another key from, and the
// most that its own nodes have.
func (l *lattice) leaps(b *boundary) {
	for k := range l.into {
		l.into[k] = way{absent, -1}
	}
	for k := range l.into {
		mode := l.table.keys[k].Mode
		best := way{absent, -1}
		b.most[k] = absent
		for i := l.keyAt[k]; i < l.keyAt[k+1]; i++ {
			node := &b.nodes[i]
			score := node.score + l.t.exit[mode][node.state] - l.unsettled(node.heard)
			onward := node.score
			if b.phrase {
				score += l.t.final[mode][node.state]
				onward += l.t.final[mode][node.state]
			}
			b.most[k] = max(b.most[k], onward)
			if score > best.score {
				best = way{score, b.first + i}
			}
		}
		if best.from < 0 {
			continue
		}
		best.score += l.t.leap[bool2int(b.phrase)]
		relation := l.relation[k*len(l.into) : (k+1)*len(l.into)]
		for to := range l.into {
			if score := best.score + relation[to]; score > l.into[to].score && to != k {
				l.into[to] = way{score, best.from}
			}
		}
	}
}

// related is how usual a change from one key to another is, weighed.
func (l *lattice) related(from, to int) float32 { return l.relation[from*len(l.table.keys)+to] }

// relateKeys prepares related for all pairs of keys.
func (l *lattice) relateKeys() {
	keys := l.table.keys
	l.relation = slices.Grow(l.relation[:0], len(keys)*len(keys))[:len(keys)*len(keys)]
	for to := range keys {
		l.nearest[to] = absent
		for from := range keys {
			d := int(l.table.tonics[to]) - int(l.table.tonics[from])
			usual := float32(-20)
			if d >= -maxRelation && d <= maxRelation {
				usual = l.h.relation[keys[from].Mode][keys[to].Mode][d+maxRelation]
			}
			l.relation[from*len(keys)+to] = l.w.keyHabits * usual
			if from != to {
				l.nearest[to] = max(l.nearest[to], l.w.keyHabits*usual)
			}
		}
	}
}

func bool2int(b bool) int {
	if b {
		return 1
	}
	return 0
}

// unsettled is the cost of leaving a key that has not been established.
func (l *lattice) unsettled(heard settling) float32 {
	if heard == settled {
		return 0
	}
	return l.w.unsettled
}

// opening is how likely a piece is to begin in a key, by its signature.
func (l *lattice) opening(key int) float32 {
	off := l.table.keys[key].Signature() - l.p.signature
	if off < 0 {
		off = -off
	}
	return -l.w.signature * float32(off)
}

// turn lets a chord that has been reached in one key go on in another, where it
// is a plain chord of both.
func (l *lattice) turn(g *group, floor float32) {
	l.before = l.before[:0]
	best := absent
	for i := g.first; i < int32(len(l.entries)); i++ {
		old := &l.entries[i]
		if old.plain {
			score := old.score + l.t.older[l.table.keys[old.key].Mode][old.state] - l.unsettled(old.heard)
			l.before = append(l.before, turning{score, old.key, old.state, old.from})
			best = max(best, score)
		}
	}
	for i := range l.within {
		r := &l.within[i]
		if !r.plain {
			continue
		}
		mode := l.table.keys[r.key].Mode
		state := r.numeral*4 + int16(g.inversion)
		into := l.t.newer[mode][state]
		if best+into+l.nearest[r.key] <= floor {
			continue
		}
		score, at := floor-into, -1
		for o := range l.before {
			old := &l.before[o]
			if old.score <= score || old.key == r.key {
				continue
			}
			if s := old.score + l.related(int(old.key), int(r.key)); s > score {
				score, at = s, o
			}
		}
		if at >= 0 {
			old, heard := &l.before[at], l.h.heard[mode][state]
			l.merge(g, entry{score + into, r.key, state, heard, true, placeOf(r.place, heard), old.state, old.key, old.from})
		}
	}
}

// merge adds an entry to those of a group, or puts it in the place of one that
// says the same and is worse.
func (l *lattice) merge(g *group, in entry) {
	same := slices.IndexFunc(l.entries[g.first:], func(e entry) bool { return e.place == in.place })
	switch {
	case same < 0:
		l.entries = append(l.entries, in)
	case l.entries[int(g.first)+same].score < in.score:
		l.entries[int(g.first)+same] = in
	}
	g.best, l.bestEntry = max(g.best, in.score), max(l.bestEntry, in.score)
}

// turning is an entry that may turn into another key, with what that costs so far.
type turning struct {
	score      float32
	key, state int16
	from       int32
}
