package voicing

// total is what a way through several chords costs: the rules that it breaks, each a
// [fault], and below that the sum of its costs, so that however long the way is the one
// never runs into the other.
type total int64

const (
	fault total = 1 << 40
	// unreachable is more than any way costs.
	unreachable total = 1 << 62
)

// total takes the cost of one chord and the change to it.
func (s *lattice) total(c Cost) total {
	if s.lenient {
		return total(c/penalty)*fault + total(c%penalty)
	}
	return total(c)
}

// parts are the sum of the costs, and how many rules are broken.
func (t total) parts() (cost Cost, broken int) { return Cost(t % fault), int(t / fault) }
