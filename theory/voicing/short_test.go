package voicing

import (
	"context"

	"partwright/theory"
	"partwright/theory/harmony"
)

// explained gives the reasons for one solution after a search of its own.
func explained(p *Problem, s *Solution) (*Explanation, error) {
	ctx := context.Background()
	search, err := NewSearch(ctx, p)
	if err != nil {
		return nil, err
	}
	return search.Explain(ctx, s)
}

// leastBad is [Search.LeastBad] by a search for nothing else.
func leastBad(p *Problem) (*Solution, int, error) {
	s, err := newLattice(context.Background(), p, penalty, false)
	if err != nil {
		return nil, 0, err
	}
	best := s.path(s.bestEnd())
	return best, best.broken, nil
}

// mended is the first of the mendings.
func mended(t *theory.Texture, a *harmony.Analysis, o MendOptions) *Mending {
	return MendingAlternatives(t, a, o, 1)[0]
}
