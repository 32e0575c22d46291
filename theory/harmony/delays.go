package harmony

import (
	"slices"
	"strconv"
	"strings"

	"partwright/theory"
)

// Delay is a suspension or retardation as figured bass writes it: one number above
// the bass gives way to the next.
type Delay struct {
	// Harmony indexes Harmonies: the chord whose member is delayed.
	Harmony int
	// The foreign note sounds in that harmony from From until Until, where the
	// member comes.
	From, Until theory.Fraction
	// Class is that of the foreign note; Number and Resolved are as 4 and 3.
	Class            theory.PitchClass
	Number, Resolved int
}

// Delays lists the suspensions and retardations over a bass that stays, in order.
// Those of the bass itself have no figures of their own.
func (a *Analysis) Delays() []Delay {
	var out []Delay
	for v, notes := range a.Notes {
		for n := range notes {
			r := &notes[n]
			first, second, ok := strings.Cut(r.Figures, "-")
			if !ok || r.Harmony < 0 {
				continue
			}
			number, _ := strconv.Atoi(first)
			resolved, _ := strconv.Atoi(second)
			h, note := &a.Harmonies[r.Harmony], &a.texture.Voices[v].Notes[n]
			if !isStep(number-resolved) || number == 2 || !note.End().Less(h.End) {
				continue
			}
			out = append(out, Delay{
				Harmony: r.Harmony, From: later(note.Onset, h.Onset), Until: note.End(), Class: note.Pitch.Class(),
				Number: number, Resolved: resolved,
			})
		}
	}
	slices.SortStableFunc(out, func(x, y Delay) int {
		if x.Harmony != y.Harmony {
			return x.Harmony - y.Harmony
		}
		return x.From.Cmp(y.From)
	})
	return out
}

// DelayedFigures returns the figures of a chord as [Chord.Figures] does while some
// of its members are delayed and after others have come: the numbers of the
// foreign notes stand in place of the members', and a member that has come has
// its own even where it is understood.
func (c Chord) DelayedFigures(signature theory.KeySignature, delayed, come []Delay) (figures []theory.Figure, ok bool) {
	figures, ok = c.Figures(signature)
	if !ok {
		return nil, false
	}
	find := func(number int) int {
		return slices.IndexFunc(figures, func(f theory.Figure) bool { return f.Number == number || f.Number == 0 && number == 3 })
	}
	for _, d := range delayed {
		if i := find(d.Resolved); i >= 0 {
			figures = slices.Delete(figures, i, i+1)
		}
		f := theory.Figure{Number: d.Number}
		if d.Class.Alter != signature.Alter(d.Class.Step) && d.Class.Alter >= -2 && d.Class.Alter <= 2 {
			f.Prefix = accidentalWords[d.Class.Alter+2]
		}
		if find(d.Number) < 0 {
			figures = append(figures, f)
		}
	}
	for _, d := range come {
		if find(d.Resolved) < 0 {
			figures = append(figures, theory.Figure{Number: d.Resolved})
		}
	}
	slices.SortFunc(figures, func(a, b theory.Figure) int { return b.Number - a.Number })
	return figures, true
}

// Late is a member of a chord that comes late: until then another note sounds in its
// voice, a step above it, or below it where it rises.
type Late struct {
	// From sounds first, To is the member; For is how long From sounds into the chord.
	From, To theory.PitchClass
	For      theory.Fraction
}
