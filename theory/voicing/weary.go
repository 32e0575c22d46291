package voicing

import (
	"context"
	"errors"
	"slices"

	"partwright/theory"
)

// weary is a note that an inner voice has had for so long that it is to take another where
// that costs little.
type weary struct {
	voice int
	pitch theory.Pitch
}

const (
	// wearyShare is the part of [Weights.StandsStill] that such a note costs.
	wearyShare = 2
	// mostEnlivened is how often a harmonized tune is voiced anew for it.
	mostEnlivened = 4
)

// enliven voices a harmonized tune anew while inner voices have two notes at most for long, with
// the commoner one charged, as long as that is better by [Progression.judge].
func (p *Progression) enliven(ctx context.Context, fields []*field, way Harmonization, pose func() *Problem) error {
	least := p.judge(fields, way)
	if len(p.Chords) > longVoiced {
		return nil
	}
	for range mostEnlivened {
		before := p.weights()
		if !p.tire(way.Solution) {
			return nil
		}
		next, err := p.voiced(ctx, pose)
		var impossible *ImpossibleError
		if err != nil && !errors.As(err, &impossible) {
			return err
		}
		if err == nil {
			cost := p.judge(fields, next) - p.wearied(next)
			if cost < least {
				least, way = cost, next
				continue
			}
		}
		p.setWeights(before)
		return nil
	}
	return nil
}

// tire notes what inner voices have had for long, and reports whether that is anything new.
func (p *Progression) tire(s *Solution) (found bool) {
	for k := range s.Chords {
		for v := 1; v+1 < len(s.Chords[k].Pitches); v++ {
			if !narrow(s, k, v) {
				continue
			}
			first := k - narrowOver + 1
			times := map[theory.Pitch]int{}
			common := s.Chords[k].Pitches[v]
			for at := first; at <= k; at++ {
				one := s.Chords[at].Pitches[v]
				if times[one]++; times[one] > times[common] {
					common = one
				}
			}
			for at := first; at <= k; at++ {
				if w := (weary{v, common}); !slices.Contains(p.Chords[at].weary, w) {
					p.Chords[at].weary = append(slices.Clone(p.Chords[at].weary), w)
					found = true
				}
			}
		}
	}
	return found
}

// wearied is what such notes cost in a solution.
func (p *Progression) wearied(way Harmonization) (cost Cost) {
	for k := range way.Solution.Chords {
		for v, pitch := range way.Solution.Chords[k].Pitches {
			if slices.Contains(p.Chords[k].weary, weary{v, pitch}) {
				cost += way.Search.problem.Style.Weights.StandsStill / wearyShare
			}
		}
	}
	return cost
}
