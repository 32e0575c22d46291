package harmony

import "slices"

// way is the best way into a key by an abrupt change.
type way struct {
	score float32
	from  int32
}

// leaps finds, for each key, the best node to leave another key from.
func (l *lattice) leaps(nodes []node, begin int32, phrase bool) []way {
	if len(nodes) == 0 {
		return nil
	}
	keys := l.table.keys
	out := make([]way, len(keys))
	for k := range out {
		out[k] = way{absent, -1}
	}
	b := bool2int(phrase)
	for i := 0; i < len(nodes); {
		k := nodes[i].key
		best := way{absent, -1}
		for ; i < len(nodes) && nodes[i].key == k; i++ {
			score := nodes[i].score + l.w.habits*l.h.exit[keys[k].Mode][nodes[i].state] - l.unsettled(nodes[i].heard)
			if phrase {
				score += l.w.endHabits * l.h.final[keys[k].Mode][nodes[i].state]
			}
			if score > best.score {
				best = way{score, begin + int32(i)}
			}
		}
		for to := range keys {
			if to == int(k) {
				continue
			}
			score := best.score + l.w.keyHabits*l.h.leap[b] + l.related(int(k), to) - l.w.leap
			if score > out[to].score {
				out[to] = way{score, best.from}
			}
		}
	}
	return out
}

// related is how usual a change from one key to another is, weighed.
func (l *lattice) related(from, to int) float32 { return l.relation[from*len(l.table.keys)+to] }

// relateKeys prepares related for all pairs of keys.
func (l *lattice) relateKeys() {
	keys := l.table.keys
	l.relation = slices.Grow(l.relation[:0], len(keys)*len(keys))
	for from := range keys {
		for to := range keys {
			d := int(l.table.tonics[to]) - int(l.table.tonics[from])
			usual := float32(-20)
			if d >= -maxRelation && d <= maxRelation {
				usual = l.h.relation[keys[from].Mode][keys[to].Mode][d+maxRelation]
			}
			l.relation = append(l.relation, l.w.keyHabits*usual)
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
func (l *lattice) turn(first int32, inversion int8, readings []chordReading) {
	l.before = l.before[:0]
	best := absent
	for i := range l.entries[first:] {
		old := &l.entries[first+int32(i)]
		if old.plain {
			score := old.score + l.w.habits*l.h.older[l.table.keys[old.key].Mode][old.state] - l.unsettled(old.heard) +
				l.w.keyHabits*l.h.pivot[0] - l.w.pivot
			l.before = append(l.before, turning{score, old.key, first + int32(i)})
			best = max(best, score)
		}
	}
	if best < l.bestEntry-pruneWidth {
		return
	}
	for _, r := range readings {
		if !r.plain {
			continue
		}
		mode := l.table.keys[r.key].Mode
		state := int16(r.numeral)*4 + int16(inversion)
		into := l.w.habits * l.h.newer[mode][state]
		best, at := absent, int32(-1)
		for _, old := range l.before {
			if old.key == r.key {
				continue
			}
			if score := old.score + into + l.related(int(old.key), int(r.key)); score > best {
				best, at = score, old.entry
			}
		}
		if best > l.bestEntry-pruneWidth {
			l.entries = append(l.entries, entry{best, r.key, state, l.h.heard[mode][state], true, l.entries[at].from, at})
		}
	}
}

// turning is an entry that may turn into another key, with what that costs so far.
type turning struct {
	score float32
	key   int16
	entry int32
}
