package main

import (
	"context"
	"fmt"
	"io"
	"maps"
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/harmony/tune"
	"partwright/theory/voicing"
)

// harmonized counts at how many beats the root is that of an analysis where the program
// voices the phrase, for the first answer and for the best of several that contrast; and
// the chords of both by the same counter.
type harmonized struct {
	given                                 *given
	beats, right, best, unvoiced, phrases int
	// answers are how many there were in all, contrast how much the others differ from the
	// first in sum, others how many there were.
	answers, others int
	contrast        float64
	published, ours shares
	// overdone are what published analyses and the first answers have of what is easily overdone.
	overdone [2]overdone
}

func newHarmonized(g *given) *harmonized {
	return &harmonized{given: g, published: shares{}, ours: shares{}, overdone: [2]overdone{{times: map[string]int{}}, {times: map[string]int{}}}}
}

// answersCompared is of how many answers the best is taken.
const answersCompared = 5

func (h *harmonized) String() string {
	all := float64(max(h.beats, 1))
	return fmt.Sprintf("first %.1f %%, best of %d %.1f %% of %d beats; %d of %d phrases not voiced; %.1f answers a phrase, the others differ from the first by %.2f",
		100*float64(h.right)/all, answersCompared, 100*float64(h.best)/all, h.beats, h.unvoiced, h.phrases,
		float64(h.answers)/float64(max(h.phrases, 1)), h.contrast/float64(max(h.others, 1)))
}

func (h *harmonized) count(m *tune.Model, phrases []tune.Example) {
	for i := range phrases {
		p := &phrases[i]
		h.beats, h.phrases = h.beats+len(p.Notes), h.phrases+1
		progression, found := h.harmonize(m, p)
		if len(found) == 0 {
			h.unvoiced++
			continue
		}
		h.answers += len(found)
		h.published.add(p.Key, p.Chords)
		h.ours.add(p.Key, readings(found[0]))
		h.overdone[0].add(p, p.Chords)
		h.overdone[1].add(p, readings(found[0]))
		most := 0
		for k, s := range found {
			right := 0
			for i, c := range s.Chords {
				if c.Reading.Root() == p.Chords[i].Root() {
					right++
				}
			}
			if most = max(most, right); k == 0 {
				h.right += right
			} else {
				h.others++
				h.contrast += progression.Contrast(found[0], s)
			}
		}
		h.best += most
	}
}

func readings(s *voicing.Solution) (out []harmony.Reading) {
	for _, c := range s.Chords {
		r := c.Reading
		r.Numeral.Cadential = false // as the analyses name it
		out = append(out, r)
	}
	return out
}

// harmonize voices a phrase as a user would have it voiced.
func (h *harmonized) harmonize(m *tune.Model, e *tune.Example) (*voicing.Progression, []*voicing.Solution) {
	p := &voicing.Progression{}
	four := theory.TimeSignature{Beats: 4, BeatType: 4}
	for i, n := range e.Notes {
		c := voicing.ProgressionChord{
			Reading: harmony.Reading{Key: e.Key}, Duration: theory.Whole(1), Open: i > 0, PhraseEnd: i == len(e.Notes)-1,
		}
		if h.given.line == tune.Bass {
			c.Bass, c.Choices = &e.Notes[i].Pitch, voicing.OverBass(n.Pitch, e.Key).Choices
		} else {
			c.Fixed, c.Choices = []*theory.Pitch{&e.Notes[i].Pitch}, voicing.UnderMelody(n.Pitch, e.Key).Choices
		}
		if len(c.Choices) == 0 {
			return p, nil
		}
		if i == 0 {
			c.Choices = voicing.Opening(c.Choices)
		}
		p.Chords, p.Layout.Durations = append(p.Chords, c), append(p.Layout.Durations, c.Duration)
		// A measure for each beat, which begins where the beat is as strong as in the score.
		into := map[int]int64{3: 0, 2: 2}[n.Strength]
		if n.Strength < 2 {
			into = 1
		}
		at := theory.Whole(int64(i))
		p.Layout.Frame = append(p.Layout.Frame, theory.Measure{Index: i, Onset: at, Length: theory.Whole(1), Into: theory.Whole(into), Time: four})
	}
	if p.End(voicing.AsGiven) != nil {
		return p, nil
	}
	model := func(tune.Line) *tune.Model { return m }
	pose := func() *voicing.Problem { return p.Problem(voicing.Chorale()) }
	if p.Harmonize(context.Background(), model, voicing.Applied, pose) != nil {
		return p, nil
	}
	search, err := voicing.NewSearch(context.Background(), pose())
	if err != nil {
		return p, nil
	}
	found, err := search.Alternatives(context.Background(), 1)
	if err != nil {
		least, _ := search.LeastBad()
		found = []*voicing.Solution{least}
	}
	if len(found[0].Chords) != len(e.Notes) {
		return p, nil
	}
	ways, err := p.Contrasting(context.Background(), model, voicing.Applied, found[0], pose, answersCompared-1)
	if err != nil {
		return p, found
	}
	for _, way := range ways {
		found = append(found, way.Solution)
	}
	return p, found
}

// shares counts chords by what they are: degree, inversion and the cadence of their phrase.
type shares map[[2]string]int

func (s shares) add(key theory.Key, chords []harmony.Reading) {
	var own []harmony.Numeral
	for i, r := range chords {
		n := tune.In(key, r)
		if i > 0 && n == own[len(own)-1] {
			continue
		}
		own = append(own, n)
	}
	for _, n := range own {
		degree := fmt.Sprint(n.Degree)
		switch {
		case n.IsApplied():
			degree = "applied"
		case n.Cadential:
			degree = "cadential six-four"
		case n.Alter != 0 && !(key.Mode == theory.MinorMode && n.Degree == 7):
			degree = "altered"
		}
		s[[2]string{"degree", degree}]++
		s[[2]string{"position", [...]string{"root", "first inversion", "second inversion", "third inversion"}[n.Inversion]}]++
	}
	if len(own) > 1 {
		s[[2]string{"cadence", closeOf(own[len(own)-2], own[len(own)-1])}]++
	}
}

// closeOf names the close of two chords (Hutchinson, Music Theory for the 21st-Century
// Classroom, ch. 11).
func closeOf(last, end harmony.Numeral) string {
	dominant := (last.Degree == 5 || last.Degree == 7) && last.IsDominant() && !last.IsApplied()
	switch {
	case dominant && end.IsTonic():
		return "authentic"
	case end.Degree == 5 && !end.IsApplied():
		return "half"
	case last.Degree == 4 && !last.IsApplied() && end.IsTonic():
		return "plagal"
	case dominant && end.Degree == 6 && !end.IsApplied():
		return "deceptive"
	case last.IsApplied():
		return "in another key"
	}
	return "other"
}

// compare prints the shares of the published analyses beside those of the first answers.
func (h *harmonized) compare(w io.Writer) {
	names := slices.Collect(maps.Keys(h.published))
	for name := range h.ours {
		if _, known := h.published[name]; !known {
			names = append(names, name)
		}
	}
	slices.SortFunc(names, func(a, b [2]string) int { return slices.Compare(a[:], b[:]) })
	sum := func(s shares, of string) (n int) {
		for name, count := range s {
			if name[0] == of {
				n += count
			}
		}
		return max(n, 1)
	}
	for _, name := range names {
		fmt.Fprintf(w, "%-9s %-20s published %5.1f %%, ours %5.1f %%\n", name[0], name[1],
			100*float64(h.published[name])/float64(sum(h.published, name[0])), 100*float64(h.ours[name])/float64(sum(h.ours, name[0])))
	}
	h.overdone[1].compare(w, &h.overdone[0])
}
