package voicing

import (
	"context"
	"errors"
	"slices"

	"partwright/theory"
)

// Search is a problem searched through once for all that is asked about it: its
// voicings, and the reasons for each of them. It is not safe for concurrent use.
type Search struct {
	problem *Problem
	lattice *lattice
	best    *Solution
	// impossible is set where the hard rules leave nothing, so that the lattice
	// holds the least bad.
	impossible *ImpossibleError
	known      map[step][]Charge
}

// NewSearch searches through a problem. Where no voicing obeys the hard rules,
// [Search.Alternatives] says so and [Search.LeastBad] what comes nearest; it fails
// where a chord has no arrangement at all, and with the error of ctx once that is
// done.
func NewSearch(ctx context.Context, p *Problem) (_ *Search, err error) {
	defer theory.Recover(&err)
	s := &Search{problem: p, known: map[step][]Charge{}}
	s.lattice, err = newLattice(ctx, p, forbidden, true)
	if errors.As(err, &s.impossible) {
		s.lattice, err = newLattice(ctx, p, penalty, true)
	}
	if err == nil {
		err = s.lattice.retreat(ctx)
	}
	if err != nil {
		return nil, err
	}
	s.best = s.lattice.path(s.lattice.bestEnd())
	return s, nil
}

// Alternatives is [Alternatives] without searching again.
func (s *Search) Alternatives(ctx context.Context, k int) (found []*Solution, err error) {
	defer theory.Recover(&err)
	if s.impossible != nil {
		return nil, s.impossible
	}
	return s.lattice.alternatives(ctx, s.best, k)
}

// LeastBad returns the voicing with the fewest broken rules, and among those the
// cheapest, with the number of rules it breaks.
func (s *Search) LeastBad() (*Solution, int) {
	best := *s.best
	best.Chords = slices.Clone(best.Chords)
	return &best, best.broken
}
