package separation

// fitting places things that are in order, such as the notes of a chord from the
// top, on places that are in order, such as voices, so that the order is kept
// and the sum of the costs is least. It is the dynamic programme of sequence
// alignment; its buffers are kept from one use to the next.
type fitting struct {
	// of holds, after solve, the place of each thing, -1 for one left over.
	of   []int
	best []int
}

// fit names the costs of one fitting.
type fit struct {
	// place is the cost of putting thing i on place j, leave of leaving thing i
	// over, and spare of leaving place j empty.
	place func(i, j int) int
	leave func(i int) int
	spare func(j int) int
}

// neverLeave is a cost of leaving a thing over that is paid only if there are
// more things than places.
func neverLeave(int) int { return 1 << 20 }

func noCost(int) int { return 0 }

// solve finds the cheapest way. Among equals a thing stays on its own: earlier
// things go to earlier places.
func (f *fitting) solve(things, places int, c fit) {
	width := places + 1
	f.best = resized(f.best, (things+1)*width)
	f.of = resized(f.of, things)
	// best[i][j] is the least cost of fitting the things from i on to the places
	// from j on.
	best := f.best
	best[things*width+places] = 0
	for i := things; i >= 0; i-- {
		for j := places; j >= 0; j-- {
			least := -1
			if i < things && j < places {
				least = c.place(i, j) + best[(i+1)*width+j+1]
			}
			if j < places {
				if cost := c.spare(j) + best[i*width+j+1]; least < 0 || cost < least {
					least = cost
				}
			}
			if i < things {
				if cost := c.leave(i) + best[(i+1)*width+j]; least < 0 || cost < least {
					least = cost
				}
			}
			best[i*width+j] = max(least, 0)
		}
	}
	j := 0
	for i := 0; i < things; {
		f.of[i] = -1
		here := best[i*width+j]
		switch {
		case j < places && here == c.place(i, j)+best[(i+1)*width+j+1]:
			f.of[i] = j
			i, j = i+1, j+1
		case j < places && here == c.spare(j)+best[i*width+j+1]:
			j++
		default:
			i++
		}
	}
}

func resized(s []int, n int) []int {
	if cap(s) < n {
		return make([]int, n, 2*n)
	}
	return s[:n]
}
