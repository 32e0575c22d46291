package voicing

import (
	"slices"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
)

// judge says what the rules make of a change of two chords.
type judge struct {
	variants *partwriting.Variants
}

// notJudged are the rules about what nobody chooses at a change: which chords follow one
// another, and how they are spelled.
var notJudged = []partwriting.Family{partwriting.Progression, partwriting.Spelling}

// newJudge sets the two chords on the first two beats of a measure that more measures
// follow, so that neither is the end of anything but of a phrase that is asked about.
func newJudge(q *Question) *judge {
	set := q.RuleSet
	if set == nil {
		set = q.Style.RuleSet()
	}
	t, a := q.Passage(q.anyNotes())
	return &judge{partwriting.NewVariants(t, a, set, 1, notJudged...)}
}

// anyNotes are some members of the next chord, the bass below.
func (q *Question) anyNotes() []theory.Pitch {
	notes := make([]theory.Pitch, len(q.Style.Voices))
	for v := range notes {
		class := q.To.Bass()
		notes[v] = theory.Pitch{Step: class.Step, Alter: class.Alter, Octave: int8(len(notes) - v)}
	}
	return notes
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
	s := Solution{Chords: []Chord{q.From, {Reading: q.To, Pitches: next, PhraseEnd: q.Ends}}}
	layout := openLayout()
	t := s.Texture(&q.Style, layout)
	return t, s.Harmony(t, layout)
}

// findings are what the rules say of the second chord and of the way to it. What is
// wrong with the choice of chords or with the first one by itself is not the option's
// doing.
func (j *judge) findings(next []theory.Pitch) []partwriting.Finding {
	return ofTheChange(j.variants.Check(next))
}

// ofTheChange leaves of findings those about the second chord and the way to it, the
// gravest first, and counts anew which follows from which.
func ofTheChange(all []partwriting.Finding) []partwriting.Finding {
	var at []int // the numbers that are left, by what they were
	for i := range all {
		if all[i].Onset.Sign() > 0 {
			at = append(at, i)
		}
	}
	slices.SortStableFunc(at, func(a, b int) int { return int(all[b].Severity) - int(all[a].Severity) })
	var out []partwriting.Finding
	for _, i := range at {
		f := all[i]
		if f.Follows = slices.Index(at, f.Follows-1) + 1; f.Follows == 0 {
			f.Cause = ""
		}
		out = append(out, f)
	}
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
