package partwriting

import "partwright/theory"

// Resolution is how one voice leaves a note that asks for another: all that the rules
// about leading tones, sevenths and altered notes ask of one voice.
type Resolution struct {
	From, To *Chord
	// Note is what the voice leaves, Goal what it has next, Move the interval.
	Note, Goal theory.PitchClass
	Move       theory.Interval
	// Outer is set in the highest and the lowest voice, Bass in the lowest.
	Outer, Bass bool
	// Descends is set where the voice has come to its note down from the tonic.
	Descends bool
	// Tenths is set where the voice runs with the bass in thirds or tenths.
	Tenths bool
}

// LeadsHome reports whether a chord goes to one in which its leading tone has to
// resolve: its tonic, or a chord on the sixth degree. Under a cadential six-four the
// dominant goes on.
func LeadsHome(from, to *Chord) bool {
	if !from.hasLead || to.cadential {
		return false
	}
	return to.Root() == from.tonic || to.Member(1) == from.tonic
}

// LeadRule names the rule about the leading tone of a chord in a voice.
func LeadRule(from *Chord, outer bool) RuleID {
	switch {
	case from.applied:
		return "applied-leading-tone-unresolved"
	case outer:
		return "leading-tone-unresolved"
	}
	return "inner-leading-tone-unresolved"
}

// leadUnresolved reports whether a leading tone that has to resolve does not, and the
// most that it weighs.
func (t *Resolution) leadUnresolved() (Severity, bool) {
	switch {
	case t.leadGoesOn():
		return Off, false
	case t.Outer && t.From.key != t.To.key && (t.To.Root() != t.From.tonic || t.From.size == 3 && t.From.Root() == t.To.key.Tonic):
		return Caution, true // the key changes: it may be no leading tone any more
	case t.From.applied && t.To.Root() != t.From.tonic:
		return Caution, true // the target has not come
	case t.From.applied && !t.Outer:
		return Caution, t.Goal != t.To.Member(2) || t.Move.Steps > 0 // only a fall to the fifth completes the target
	case t.Outer:
		return Off, true
	case t.To.Root() != t.From.tonic:
		return Caution, t.Move.Steps != -1 || t.From.mode != theory.MajorMode // V to vi in major
	}
	return Caution, t.Goal != t.To.Member(2) && t.Goal != t.To.Member(1) // or else it completes the tonic
}

// leadGoesOn reports whether a leading tone goes where it may: up by step, to its tonic,
// nowhere yet, down to the next seventh or inside a stepwise descent. An augmented second
// is reported as such.
func (t *Resolution) leadGoesOn() bool {
	switch {
	case t.Move.Steps == 1, t.Move == theory.Unison, t.slides(-1):
		return true
	case t.Move.Steps == -1:
		return t.Goal == t.From.tonic || augmented(t.Move) || t.Descends
	}
	return false
}

// seventhUnresolved reports whether a seventh goes elsewhere than down by step, where
// the root changes: it may wait, rise in tenths with the bass from a chord in second
// inversion, rise by a semitone within its letter into a six-four that delays the chord it
// is due in (viio7/V in major), and leap down a ninth, which is reported as a leap.
func (t *Resolution) seventhUnresolved() bool {
	switch {
	case t.To.cadential && t.slides(1):
		return false
	case t.Move == theory.Unison, t.Falls(), t.Move.Steps == -8:
		return false
	}
	return t.From.inversion != 2 || t.Move.Steps != 1 || !t.Tenths
}

// Falls reports whether the voice goes down by step, or by a semitone within its
// letter.
func (t *Resolution) Falls() bool { return t.Move.Steps == -1 || t.slides(-1) }

// slides reports whether the voice goes on by a semitone within its letter, up (1) or
// down (-1).
func (t *Resolution) slides(way int) bool { return t.Move.Steps == 0 && t.Move.Semitones == way }

// alterationRule names the rule about the altered notes of a chord on the way to
// another, "" where none is due.
func alterationRule(from, to *Chord) RuleID {
	switch {
	case from.augmentedSixth:
		return "augmented-sixth-unresolved"
	case from.neapolitan:
		return "neapolitan-unresolved"
	case !from.dominant && !from.isTonic && (to.dominant || to.cadential || to.isTonic):
		return "altered-tone-unresolved"
	}
	return ""
}

// pull is the direction in which a member of a chord is drawn: 1 up where it is raised
// against the key, -1 down where it is lowered, 0 where it is neither. Sevenths and
// leading tones have rules of their own. The lower note of an augmented sixth is drawn
// down, also where the scale of minor has it. The root of a borrowed triad is a root like
// any other and leaps or steps as its bass line goes (bVII-I, bVI-I; common practice, no
// source).
func (c *Chord) pull(member int) int {
	note := c.members[member]
	if c.augmentedSixth && member == c.lowered {
		return -1
	}
	if !altered(c.key, note) || c.hasSeventh && note == c.seventh || member == 0 && c.borrowed() {
		return 0
	}
	_, alter := c.key.Degree(note)
	return alter
}

// leadsOn reports whether an altered note goes on in its own direction by step, falls
// a third in it (as the lowered second to the leading tone), or slides back by a
// semitone.
func leadsOn(i theory.Interval, alter int) bool {
	switch {
	case i.Steps == 0 && i.Semitones*alter < 0:
		return true
	case alter > 0:
		return i.Steps == 1
	}
	return i.Steps == -1 || i.Steps == -2 && i.Semitones == -2
}

// Asks reports whether a member of the chord may have to go one way: a leading tone or
// an altered note.
func (c *Chord) Asks(member int) bool {
	return c.hasLead && c.members[member] == c.lead || c.pull(member) != 0
}

// unpreparedSeventh reports whether a voice leaps down to a seventh.
func unpreparedSeventh(move theory.Interval) bool {
	return move.Descends() && !move.IsStep() && move.Steps != 0
}

// Resolution tells which rules one voice breaks by the way it leaves a note and reaches
// the next. What one voice owes and another may pay is [Shared].
func (l *Law) Resolution(t *Resolution, tell Telling) {
	if t.To.hasSeventh && t.Goal == t.To.seventh && unpreparedSeventh(t.Move) {
		l.tell("seventh-unprepared", Off, tell)
	}
	if t.From.Root() == t.To.Root() {
		return // it goes on asking
	}
	if t.From.hasLead && t.Note == t.From.lead && LeadsHome(t.From, t.To) {
		if most, broken := t.leadUnresolved(); broken {
			l.tell(LeadRule(t.From, t.Outer), most, tell)
		}
	}
	if t.Move == theory.Unison {
		return
	}
	if rule := alterationRule(t.From, t.To); rule != "" {
		if member := t.From.memberOf(t.Note); member >= 0 {
			if pull := t.From.pull(member); pull != 0 && !leadsOn(t.Move, pull) {
				l.tell(rule, Off, tell)
			}
		}
	}
}
