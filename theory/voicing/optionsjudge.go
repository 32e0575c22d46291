package voicing

import (
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// judge says what the rules make of a change of two chords.
type judge struct {
	question *Question
	set      *partwriting.RuleSet
	layout   Layout
}

// newJudge sets the two chords on the first two beats of a measure that more measures
// follow, so that neither is the end of anything.
func newJudge(q *Question) *judge {
	j := &judge{question: q, set: q.RuleSet}
	if j.set == nil {
		j.set = q.Style.RuleSet()
	}
	j.layout = openLayout()
	return j
}

// openLayout is one measure, without a bar that ends a phrase after it.
func openLayout() Layout {
	time := theory.TimeSignature{Beats: 4, BeatType: 4}
	return Layout{Frame: []theory.Measure{
		{Index: 0, Label: "1", Length: theory.Whole(4), Time: time},
		{Index: 1, Label: "2", Onset: theory.Whole(4), Length: theory.Whole(4), Time: time},
	}}
}

// Passage is the sonority and one that follows it, as the rules see them: on the first
// two beats of a measure.
func (q *Question) Passage(next []theory.Pitch) (*theory.Texture, *harmony.Analysis) {
	s := Solution{Chords: []Chord{q.From, {Reading: q.To, Pitches: next}}}
	layout := openLayout()
	t := s.Texture(&q.Style, layout)
	return t, s.Harmony(t, layout)
}

// findings are what the rules say of the second chord and of the way to it. What is
// wrong with the choice of chords or with the first one by itself is not the option's
// doing.
func (j *judge) findings(next []theory.Pitch) []partwriting.Finding {
	t, a := j.question.Passage(next)
	var out []partwriting.Finding
	for _, f := range partwriting.Check(t, a, j.set) {
		if f.Onset.Sign() > 0 && f.Family != partwriting.Progression && f.Family != partwriting.Spelling {
			out = append(out, f)
		}
	}
	slices.SortStableFunc(out, func(a, b partwriting.Finding) int { return int(b.Severity) - int(a.Severity) })
	return out
}

// couldRepeat reports whether a chord that might come after the next one can have the
// same perfect interval above a bass that has moved: only then is it worth a warning.
func (q *Question) couldRepeat(above theory.Interval) bool {
	if len(q.Onward) == 0 {
		return true
	}
	return slices.ContainsFunc(q.Onward, func(r harmony.Reading) bool {
		bass := r.Bass()
		return bass != q.To.Bass() && r.MemberOf(bass.Transpose(above)) >= 0
	})
}
