package voicing

import (
	"context"
	"math"
	"slices"

	"partwright/theory"
)

// weary is a note that a voice is not to take, for the sake of its whole line.
type weary struct {
	voice int
	pitch theory.Pitch
}

const (
	// wearyShare is the part of [Weights.StandsStill] that such a note costs, each time that it
	// is named.
	wearyShare = 2
	// mostLed is how often a harmonized tune is voiced anew for it.
	mostLed = 16
)

// lead makes the voicing of a harmonized tune that is best in its whole lines the cheapest, and
// returns it: where the cheapest goes another way its notes are charged, and so on until it goes
// the same. Where that takes too long, the best of those that came up remains.
func (p *Progression) lead(ctx context.Context, fields []*field, wanted Harmonization, pose func() *Problem) (Harmonization, error) {
	best, least := wanted, Cost(math.MaxInt32)
	weights := p.weights()
	for range mostLed {
		way, err := p.voiced(ctx, pose)
		if err != nil {
			return way, err
		}
		if cost := p.judge(fields, way) - p.wearied(way); cost < least {
			least, best, weights = cost, way, p.weights()
		}
		if !p.tire(way.Solution, wanted.Solution) {
			return way, nil
		}
	}
	p.setWeights(weights)
	return best, nil
}

// tire charges the notes of a solution that another does not have, and reports whether there
// are any.
func (p *Progression) tire(s, wanted *Solution) (found bool) {
	for k := range s.Chords {
		for v, pitch := range s.Chords[k].Pitches {
			if pitch != wanted.Chords[k].Pitches[v] {
				p.Chords[k].weary = append(slices.Clone(p.Chords[k].weary), weary{v, pitch})
				found = true
			}
		}
	}
	return found
}

// wearied is what such notes cost in a solution.
func (p *Progression) wearied(way Harmonization) (cost Cost) {
	for k := range way.Solution.Chords {
		for _, w := range p.Chords[k].weary {
			if way.Solution.Chords[k].Pitches[w.voice] == w.pitch {
				cost += way.Search.problem.Style.Weights.StandsStill / wearyShare
			}
		}
	}
	return cost
}
