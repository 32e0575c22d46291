package partwriting

import (
	"slices"

	"partwright/theory"
)

// Shared is something that two chords in succession ask of all voices together, so
// that one of them can settle it for the others.
type Shared struct {
	Rule RuleID
	// Most is the most that it weighs here, [Off] where the set alone decides.
	Most Severity
	// Of says what one voice has to do with it.
	Of func(*Resolution) Part
}

// Part is what one voice has to do with something that all voices share: it is broken
// where some voice leaves it open, some voice calls for it, and none settles it.
type Part uint8

// Parts, which can be joined.
const (
	LeavesOpen Part = 1 << iota
	CallsFor
	Settles
)

// SharedBetween lists what a chord and the next one, in one phrase, ask of the voices
// together; before is the chord in front of them, nil where there is none. Unsure is set
// where there is one and nobody knows which; voices is how many they are.
func SharedBetween(before, from, to *Chord, unsure bool, voices int) []Shared {
	var out []Shared
	if from.hasSeventh && (from.Root() != to.Root() || sheds(from, to)) {
		rooted := unsure || before != nil && before.Root() == from.Root()
		out = append(out, Shared{"seventh-unresolved", Off, func(r *Resolution) Part { return sharesSeventh(r, rooted) }})
	}
	if from.cadential && to.degree == 5 && !to.cadential {
		most := Off
		if before != nil && before.degree == 5 && before.Bass() == from.Bass() {
			most = Caution
		}
		for member := range 2 {
			out = append(out, Shared{"cadential-six-four-unresolved", most, leavesSixFour(member)})
		}
	}
	if to.cadential {
		for member := range 2 {
			out = append(out, Shared{"cadential-six-four-unprepared", Off, reachesSixFour(member)})
		}
	}
	out = append(out, crossRelations(from, to)...)
	out = append(out, augmentedSeconds(from, to)...)
	if from.Root() == to.Root() {
		out = append(out, missingFromBoth(from, to, true, voices)...)
		out = append(out, missingFromBoth(to, from, false, voices)...)
	}
	return out
}

// sheds reports whether a seventh chord goes to a triad of another quality on its own
// root, as V7/V to ii: the harmony has changed, and the seventh has no chord any more that
// it could wait in.
func sheds(from, to *Chord) bool {
	return from.hasSeventh && to.size == 3 && from.Root() == to.Root() && to.set&^from.set != 0
}

// sharesSeventh is about a seventh that one voice may hand to another. Without its root,
// which may have sounded before, it is a seventh above nothing.
func sharesSeventh(r *Resolution, rooted bool) Part {
	var part Part
	if rooted || r.Note == r.From.Root() {
		part |= CallsFor
	}
	if r.Note == r.From.seventh {
		if r.Falls() {
			part |= Settles
		} else if r.seventhUnresolved() {
			part |= LeavesOpen
		}
	}
	return part
}

// leavesSixFour is about the sixth or the fourth of a cadential six-four: one voice
// takes it down by step, or up into the seventh; a doubling is then free to go elsewhere.
func leavesSixFour(member int) func(*Resolution) Part {
	return func(r *Resolution) Part {
		switch {
		case r.Bass || r.Note != r.From.members[member]:
			return 0
		case r.Falls(), r.To.hasSeventh && r.Goal == r.To.seventh && r.Move.Steps == 1:
			return Settles
		case r.Move == theory.Unison:
			return 0
		}
		return LeavesOpen | CallsFor
	}
}

// reachesSixFour is about the same notes when they come: by step or held, in one voice
// at least.
func reachesSixFour(member int) func(*Resolution) Part {
	return func(r *Resolution) Part {
		switch {
		case r.Bass || r.Goal != r.To.members[member]:
			return 0
		case r.Move.Number() <= 2:
			return Settles
		}
		return LeavesOpen | CallsFor
	}
}

// crossRelations are the letters that two chords inflect otherwise. A voice that goes
// from one inflection to the other settles it; the lowered second of a Neapolitan
// before the natural one is free.
func crossRelations(from, to *Chord) []Shared {
	var out []Shared
	for i := range from.size {
		for j := range to.size {
			a, b := from.members[i], to.members[j]
			if a.Step != b.Step || a.Alter == b.Alter || from.neapolitan && from.Root().Step == b.Step {
				continue
			}
			out = append(out, Shared{"cross-relation", Off, func(r *Resolution) Part {
				var part Part
				if r.Note == a {
					part |= LeavesOpen
				}
				if r.Goal == b {
					part |= CallsFor
				}
				if r.Note.Step == a.Step && r.Goal.Step == a.Step && r.Note.Alter != r.Goal.Alter {
					part |= Settles
				}
				return part
			}})
		}
	}
	return out
}

// augmentedSeconds are those between notes of two chords that may turn out to be the
// arpeggio of a diminished seventh chord, since a member of one chord need not sound.
// They call for a note that does not belong to it.
func augmentedSeconds(from, to *Chord) []Shared {
	var out []Shared
	for i := range from.size {
		for j := range to.size {
			a, b := from.members[i], to.members[j]
			set := diminishedAround(a, b)
			if set == 0 || !set.has(from.Bass()) || !set.has(to.Bass()) || (from.set|to.set)&^set == 0 {
				continue
			}
			out = append(out, Shared{"augmented-second", Off, func(r *Resolution) Part {
				var part Part
				if r.Note == a && r.Goal == b && r.Move.IsStep() {
					part |= LeavesOpen
				}
				if !set.has(r.Note) || !set.has(r.Goal) {
					part |= CallsFor
				}
				return part
			}})
		}
	}
	return out
}

// diminishedAround is the diminished seventh chord in which two notes are an augmented
// second apart, empty where they are not.
func diminishedAround(a, b theory.PitchClass) pitchClasses {
	flat := min(a.Fifths(), b.Fifths())
	if a.Fifths()+b.Fifths()-2*flat != 9 {
		return 0
	}
	var set pitchClasses
	for up := 0; up <= 9; up += 3 {
		set = set.with(theory.PitchClassAtFifths(flat + up))
	}
	return set
}

// OpenSecond reports whether an augmented second between two chords is judged with all
// that sounds, see [SharedBetween].
func OpenSecond(from, to *Chord, a, b theory.PitchClass) bool {
	set := diminishedAround(a, b)
	return set != 0 && set.has(from.Bass()) && set.has(to.Bass())
}

// missingFromBoth are the members that a chord needs and may have from its neighbor on
// the same root, unless that has another one in their place. First is set where the chord
// comes before its neighbor.
func missingFromBoth(c, beside *Chord, first bool, voices int) []Shared {
	var out []Shared
	for member := range c.size {
		if !c.needs(member, voices, true) {
			continue
		}
		note, both := c.members[member], beside.set.has(c.members[member])
		out = append(out, Shared{missingRules[member], Off, func(r *Resolution) Part {
			own, other := r.Goal, r.Note
			if first {
				own, other = other, own
			}
			if own.Step == note.Step || both && other.Step == note.Step {
				return Settles
			}
			return LeavesOpen | CallsFor
		}})
	}
	return out
}

// missingRules are the rules about members that are missing, by member.
var missingRules = [4]RuleID{"root-missing", "third-missing", "fifth-missing", "seventh-missing"}

// IsOmission reports whether a rule is about a member of a chord that is missing.
func IsOmission(rule RuleID) bool { return slices.Contains(missingRules[:], rule) }
