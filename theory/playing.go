package theory

// MeasureSigns are the signs of one measure that send the players elsewhere.
type MeasureSigns struct {
	// Forward opens a repeat at the start, Backward closes one at the end. Times is
	// how often the repeat is played in all, 0 for as often as its endings say, or twice.
	Forward, Backward bool
	Times             int
	// EndingStart and EndingEnd bound a first, second or later ending; Endings are its
	// numbers, empty where it comes in the order written.
	EndingStart, EndingEnd bool
	Endings                []int
	// Return is the measure that a da capo or dal segno at the end leads to, and Coda
	// the one that a to coda at the end leads to; HasReturn and HasCoda say that there
	// is one. Fine ends the piece.
	HasReturn, HasCoda, Fine bool
	Return, Coda             int
}

// maxHeard bounds how many measures a performance is followed for, and maxTimesHeard
// the same as a multiple of those written.
const (
	maxHeard      = 1 << 18
	maxTimesHeard = 64
)

// Playing returns the measures in the order in which they are heard. After a da capo
// or dal segno repeats are not taken again and the last ending is played, and only
// then do fine and to coda count; in a piece without such a return, to coda counts at
// the last time through the repeat around it (common practice, no source). Whole is
// false where the performance was too long to be followed to its end.
func Playing(signs []MeasureSigns) (heard []int, whole bool) {
	p := &player{signs: signs, back: make([]int, len(signs)), group: make([]int, len(signs)), used: make([]bool, len(signs))}
	p.pair()
	for i := range signs {
		p.returns = p.returns || signs[i].HasReturn
		p.repeats = p.repeats || signs[i].Backward
	}
	for at := 0; at >= 0 && at < len(signs); {
		if at = p.ending(at); at >= len(signs) {
			break
		}
		if len(heard) >= min(maxHeard, maxTimesHeard*len(signs)) {
			return heard, false
		}
		heard = append(heard, at)
		at = p.after(at)
	}
	return heard, true
}

// player follows the signs.
type player struct {
	signs []MeasureSigns
	// back is where the backward repeat of a measure leads, -1 for none; group is the
	// group of endings that a measure belongs to, -1 for none.
	back, group []int
	groups      []endings
	// live are the repeats around the present measure that are played again.
	live []pass
	used []bool
	// returned is set after a da capo or dal segno; returns and repeats where the piece
	// has one.
	returned, returns, repeats bool
}

// pass counts how often the repeat that starts at a measure is played.
type pass struct{ start, count int }

// endings are those of one repeat: the first measure of all, the first one behind them,
// and by number the measure at which each ending begins.
type endings struct {
	start, first, end int
	number            map[int]int
	count             int
	least, most       int
}

// pair finds where each backward repeat leads, and which endings belong together. A
// backward repeat leads to the nearest forward one that is still open; without one,
// behind the last repeat, or to the beginning.
func (p *player) pair() {
	var open []int
	base, now, over := 0, -1, false
	start := func() int {
		if len(open) > 0 {
			return open[len(open)-1]
		}
		return base
	}
	closeRepeat := func(end int) {
		if len(open) > 0 {
			open = open[:len(open)-1]
		}
		base = end
	}
	for i := range p.signs {
		s := &p.signs[i]
		if now >= 0 && (s.Forward || over && !s.EndingStart) {
			p.groups[now].end = i
			closeRepeat(i)
			now = -1
		}
		if s.Forward {
			open = append(open, i)
		}
		if s.EndingStart {
			if now < 0 {
				now = len(p.groups)
				p.groups = append(p.groups, endings{start: start(), first: i, end: len(p.signs), number: map[int]int{}})
			}
			p.groups[now].add(i, s.Endings)
			over = false
		}
		p.back[i], p.group[i] = -1, now
		if s.EndingEnd || s.Backward {
			over = true
		}
		if s.Backward {
			p.back[i] = start()
			if now < 0 {
				closeRepeat(i + 1)
			}
		}
	}
}

// add takes an ending in; one without numbers, or with those of an earlier one, comes
// next.
func (g *endings) add(first int, numbers []int) {
	known := len(numbers) == 0
	for _, n := range numbers {
		_, taken := g.number[n]
		known = known || taken
	}
	if known {
		numbers = []int{g.most + 1}
	}
	for _, n := range numbers {
		if g.least == 0 || n < g.least {
			g.least = n
		}
		g.most = max(g.most, n)
		g.number[n] = first
	}
	g.count++
}

// ending returns the measure to play instead of one at which endings begin.
func (p *player) ending(at int) int {
	if p.group[at] < 0 {
		return at
	}
	g := &p.groups[p.group[at]]
	if at != g.first {
		return at
	}
	n := p.count(g.start)
	if p.returned {
		n = max(g.most, 2)
	}
	if first, there := g.number[n]; there {
		return first
	}
	if n < g.least {
		return at
	}
	return g.end
}

func (p *player) count(start int) int {
	for _, l := range p.live {
		if l.start == start {
			return l.count
		}
	}
	return 1
}

// after returns the measure that is heard after one, -1 at the end.
func (p *player) after(at int) int {
	s := &p.signs[at]
	switch {
	case s.HasCoda && p.lastTime() && !p.used[at]:
		p.used[at] = true
		return s.Coda
	case s.Fine && p.returned:
		return -1
	case s.Backward && !p.returned && p.again(at):
		return p.back[at]
	case s.HasReturn && !p.used[at]:
		p.used[at], p.returned, p.live = true, true, nil
		return s.Return
	}
	return p.onward(at)
}

// onward is the next measure on the page, or behind the endings at the end of one.
func (p *player) onward(at int) int {
	g := p.group[at]
	if next := at + 1; g < 0 || next >= len(p.signs) || p.group[next] != g || !p.signs[next].EndingStart || next == p.groups[g].first {
		return next
	}
	return p.groups[g].end
}

// again counts a backward repeat and reports whether it is taken.
func (p *player) again(at int) bool {
	start := p.back[at]
	n := p.count(start)
	most := max(p.signs[at].Times, 2)
	if g := p.group[at]; g >= 0 {
		most = p.groups[g].most
		if p.groups[g].count == 1 {
			most++ // the last time goes past the only ending
		}
	}
	for len(p.live) > 0 && p.live[len(p.live)-1].start >= start {
		p.live = p.live[:len(p.live)-1]
	}
	if n >= most {
		return false
	}
	p.live = append(p.live, pass{start, n + 1})
	return true
}

// lastTime reports whether to coda counts: after the return, or in a piece without one
// at a time through a repeat after the first.
func (p *player) lastTime() bool {
	return p.returned || !p.returns && (len(p.live) > 0 || !p.repeats)
}

// JumpsOf returns the joins that are heard and not on the page, in order, and for
// each measure whether the next one on the page never follows it.
func JumpsOf(heard []int, measures int) (jumps []Jump, cut []bool) {
	cut = make([]bool, measures)
	for _, m := range heard {
		cut[m] = true
	}
	seen := make(map[Jump]bool)
	for i := 1; i < len(heard); i++ {
		j := Jump{From: heard[i-1], To: heard[i]}
		if j.To == j.From+1 {
			cut[j.From] = false
			continue
		}
		if !seen[j] {
			seen[j] = true
			jumps = append(jumps, j)
		}
	}
	return jumps, cut
}
