package theorytest

import (
	"runtime"
	"strings"
)

// Allocated returns the bytes that are allocated while work runs, by whatever runs
// beside it as well.
func Allocated(work func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	work()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

// Growth is what reading a text allocated, and reading one of its kind a quarter as
// long.
type Growth struct{ Quarter, Whole uint64 }

// Grow reads a piece of text that is repeated after a prefix to about size bytes, and to
// a quarter of that. What allocates beside it, and what a reader keeps for the next text
// until memory is collected, only ever adds: what looks too much is measured again, and
// the least counts.
func Grow(prefix, piece string, size int, read func(text string)) Growth {
	times := max(1, size/len(piece))
	of := func(n int) uint64 {
		text := prefix + strings.Repeat(piece, n)
		return Allocated(func() { read(text) })
	}
	g := Growth{of(times / 4), of(times)}
	for range 4 {
		if g.Linear() {
			break
		}
		g = Growth{min(g.Quarter, of(times/4)), min(g.Whole, of(times))}
	}
	return g
}

// Linear tells whether memory grew with the text and no faster: four times, with room
// for how slices grow and for what is allocated once. With the square it would grow
// sixteen times.
func (g Growth) Linear() bool { return g.Whole <= 7*g.Quarter+1<<18 }
