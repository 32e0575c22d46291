package separation

import (
	"slices"

	"partwright/theory"
)

// noTone is why a written note opens no tone.
type noTone int8

const (
	sounds noTone = iota
	asRest
	asGrace
	asCue
	asUnpitched
	asMicrotone
	asInstant
)

var noToneReasons = [...]string{
	asGrace:     "grace notes, which have no duration of their own",
	asCue:       "cue notes, which are not performed",
	asUnpitched: "unpitched notes",
	asMicrotone: "microtones and pitches out of range, which are not analyzed",
	asInstant:   "notes without a duration",
}

func whyNoTone(n *theory.Note) noTone {
	switch {
	case n.Flags.Has(theory.Rest):
		return asRest
	case n.Flags.Has(theory.Grace):
		return asGrace
	case n.Flags.Has(theory.Cue):
		return asCue
	case n.Flags.Has(theory.Unpitched):
		return asUnpitched
	case n.Flags.Has(theory.Microtone):
		return asMicrotone
	case n.Duration.Sign() <= 0:
		return asInstant
	}
	return sounds
}

type partReason struct {
	part   int32
	reason noTone
	id     theory.NoteID
}

// setAside lists whole parts first, then single notes, by part and reason.
func (sel *selection) setAside(reasons []partReason, sounding []bool) {
	for p := range sel.score.Parts {
		switch kind := sel.score.Parts[p].Kind; {
		case kind == theory.PercussionPart:
			sel.aside = append(sel.aside, theory.SetAside{Part: p, Reason: "percussion"})
		case kind == theory.TablaturePart:
			sel.aside = append(sel.aside, theory.SetAside{Part: p, Reason: "tablature"})
		case kind == theory.EmptyPart, !sounding[p]:
			sel.aside = append(sel.aside, theory.SetAside{Part: p, Reason: "no note that sounds: rests, chord symbols or figures only"})
		}
	}
	slices.SortStableFunc(reasons, func(a, b partReason) int {
		if a.part != b.part {
			return int(a.part - b.part)
		}
		return int(a.reason - b.reason)
	})
	for i := 0; i < len(reasons); {
		first := reasons[i]
		var notes []theory.NoteID
		for ; i < len(reasons) && reasons[i].part == first.part && reasons[i].reason == first.reason; i++ {
			notes = append(notes, reasons[i].id)
		}
		sel.aside = append(sel.aside, theory.SetAside{Part: int(first.part), Notes: notes, Reason: noToneReasons[first.reason]})
	}
}
