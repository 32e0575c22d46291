package voicing

// queue gives the cheapest of many ways first; of those that cost the same, the one that
// was listed first. Few are asked for, so that it is a heap and not sorted.
type queue []passing

func newQueue(all []passing) queue {
	q := queue(all)
	for i := range q {
		q[i].order = int32(i)
	}
	for i := len(q)/2 - 1; i >= 0; i-- {
		q.sink(i)
	}
	return q
}

// next takes the cheapest out.
func (q *queue) next() passing {
	all := *q
	first, last := all[0], len(all)-1
	all[0] = all[last]
	*q = all[:last]
	q.sink(0)
	return first
}

// sink moves the i-th down until nothing below it is cheaper.
func (q queue) sink(i int) {
	for {
		child := 2*i + 1
		if child >= len(q) {
			return
		}
		if child+1 < len(q) && q[child+1].before(&q[child]) {
			child++
		}
		if !q[child].before(&q[i]) {
			return
		}
		q[i], q[child] = q[child], q[i]
		i = child
	}
}

func (p *passing) before(o *passing) bool {
	return p.cost < o.cost || p.cost == o.cost && p.order < o.order
}
