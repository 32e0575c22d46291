package harmony

import (
	"slices"

	"partwright/theory"
)

// Excerpt returns what an analysis says of some moments of its texture, or of a changed
// version of it in which the harmonies are the same. The parts that the notes play are
// worked out anew.
func (a *Analysis) Excerpt(e *theory.Excerpt) *Analysis {
	end := e.From + len(e.Moments)
	first := max(slices.IndexFunc(a.Harmonies, func(h Harmony) bool { return h.EndMoment > e.From }), 0)
	last := first
	for last < len(a.Harmonies) && a.Harmonies[last].FirstMoment < end {
		last++
	}
	out := &Analysis{Harmonies: slices.Clone(a.Harmonies[first:last]), Phrases: a.Phrases,
		Given: a.Given, Use: a.Use, Style: a.Style, doubts: a.doubts}
	out = out.placeIn(e)
	for _, c := range a.Contested {
		if c.Moment >= e.From && c.Moment < end {
			c.Moment -= e.From
			out.Contested = append(out.Contested, c)
		}
	}
	return out
}

// placeIn turns harmonies and phrases, which go by the moments of the whole, into an
// analysis of an excerpt. Only phrases that end in it have cadences.
func (a *Analysis) placeIn(e *theory.Excerpt) *Analysis {
	n := len(e.Moments)
	into := func(m int) int { return min(max(m-e.From, 0), n) }
	out := emptyAnalysis(e.Texture)
	out.Given, out.Use, out.Style = a.Given, a.Use, a.Style
	out.Harmonies = a.Harmonies
	for i := range out.Harmonies {
		h := &out.Harmonies[i]
		h.FirstMoment, h.EndMoment = into(h.FirstMoment), into(h.EndMoment)
	}
	out.doubts = a.doubts.within(e)
	out.finish()
	for _, p := range a.Phrases {
		if p.EndMoment <= e.From || p.FirstMoment >= e.From+n {
			continue
		}
		ends := p.EndMoment <= e.From+n
		p.FirstMoment, p.EndMoment = into(p.FirstMoment), into(p.EndMoment)
		out.Phrases = append(out.Phrases, p)
		if final := out.IndexAt(p.EndMoment - 1); ends && final >= 0 {
			out.Cadences = append(out.Cadences, out.cadence(len(out.Phrases)-1, final))
		}
	}
	return out
}

// within returns the doubts of the frames that reach into an excerpt, by its moments.
func (d doubts) within(e *theory.Excerpt) doubts {
	out := doubts{weights: d.weights}
	for f, start := range d.starts {
		if int(start) >= e.From+len(e.Moments) {
			break
		}
		if f+1 == len(d.starts) || int(d.starts[f+1]) > e.From {
			out.starts, out.rivals = append(out.starts, start-int32(e.From)), append(out.rivals, d.rivals[f])
		}
	}
	return out
}
