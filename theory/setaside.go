package theory

import "slices"

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

func whyNoTone(n *Note) noTone {
	switch {
	case n.Flags.Has(Rest):
		return asRest
	case n.Flags.Has(Grace):
		return asGrace
	case n.Flags.Has(Cue):
		return asCue
	case n.Flags.Has(Unpitched):
		return asUnpitched
	case n.Flags.Has(Microtone):
		return asMicrotone
	case n.Duration.Sign() <= 0:
		return asInstant
	}
	return sounds
}

type partReason struct {
	part   int32
	reason noTone
	id     NoteID
}

// setAside lists whole parts first, then single notes, by part and reason.
func (g *gathering) setAside(reasons []partReason, sounding []bool) {
	for p := range g.score.Parts {
		switch kind := g.score.Parts[p].Kind; {
		case kind == PercussionPart:
			g.aside = append(g.aside, SetAside{Part: p, Reason: "percussion"})
		case kind == TablaturePart:
			g.aside = append(g.aside, SetAside{Part: p, Reason: "tablature"})
		case kind == EmptyPart, !sounding[p]:
			g.aside = append(g.aside, SetAside{Part: p, Reason: "no note that sounds: rests, chord symbols or figures only"})
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
		var notes []NoteID
		for ; i < len(reasons) && reasons[i].part == first.part && reasons[i].reason == first.reason; i++ {
			notes = append(notes, reasons[i].id)
		}
		g.aside = append(g.aside, SetAside{Part: int(first.part), Notes: notes, Reason: noToneReasons[first.reason]})
	}
}
