package voicing

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// duty is what one chord asks of its notes when another follows.
type duty struct {
	from, to harmony.Reading
	// same is set while one harmony lasts: duties wait, and lines may leap
	// within it.
	same bool
	// resolves is set where a dominant goes to its tonic or to the sixth degree.
	resolves, deceptive bool
	// target is the tonic that a leading tone of from leads to.
	target theory.PitchClass
	// cadential is set where a cadential six-four goes to its dominant;
	// prepares where one is reached.
	cadential, prepares bool
	// augmented is set where an augmented sixth opens.
	augmented bool
	// descends is set where the bass came from the tonic, so that a leading tone
	// in it may go on down.
	descends bool
	// rises is set where the bass of a chord in second inversion steps up, so that
	// the seventh may rise with it in tenths: I, V4/3, I6 (Hutchinson, Music Theory
	// for the 21st-Century Classroom, section 27.1).
	rises bool
}

func dutyBetween(from, to harmony.Reading) duty {
	d := duty{from: from, to: to, same: sameHarmony(from, to)}
	local := from.Numeral.In(from.Key)
	d.target = local.Tonic
	if from.Numeral.IsDominant() && !d.same {
		d.resolves = to.Root() == d.target
		d.deceptive = to.Member(1) == d.target && !to.Quality().IsAugmentedSixth()
	}
	d.cadential = from.Numeral.Cadential && to.Numeral.Degree == 5
	d.prepares = to.Numeral.Cadential && !from.Numeral.Cadential
	d.rises = from.Inversion() == 2 && (to.Bass().Step-from.Bass().Step+7)%7 == 1
	d.augmented = from.Quality().IsAugmentedSixth() && from.Root() != to.Root()
	return d
}

// sameHarmony reports whether a chord goes on in another form: another
// inversion, a seventh added, or the leading-tone chord beside its dominant.
func sameHarmony(a, b harmony.Reading) bool {
	if a.Numeral.Cadential != b.Numeral.Cadential {
		return false
	}
	if a.Root() == b.Root() && a.Member(1) == b.Member(1) && a.Member(2) == b.Member(2) {
		return true
	}
	return a.Numeral.IsDominant() && b.Numeral.IsDominant() && a.Numeral.In(a.Key) == b.Numeral.In(b.Key)
}

// revoiced reports whether one harmony lasts on its root and keeps its function.
func (d *duty) revoiced() bool {
	return d.same && d.from.Root() == d.to.Root() && d.from.Numeral.IsApplied() == d.to.Numeral.IsApplied()
}

// resolve reports whether a voice may take its tone from here to there as far
// as the duties go, and what that costs.
func (d *duty) resolve(a, b *tone, where position, w *Weights) (Cost, bool) {
	move := theory.Interval{Steps: b.diatonic - a.diatonic, Semitones: b.semitones - a.semitones}
	if d.prepares && b.member < 2 && (move.Steps < -1 || move.Steps > 1) {
		return 0, false
	}
	if d.same && (d.from.Root() == d.to.Root() || !a.seventh) {
		return 0, true // a new root asks for the seventh, within a function too
	}
	if d.cadential {
		return 0, d.closes(a, b, move)
	}
	if d.augmented {
		if ok, decided := d.opens(a, move); decided {
			return 0, ok
		}
	}
	if a.seventh && move != theory.Unison && (move.Steps != -1 || move.Semitones < -2) {
		return w.RisingSeventh, d.rises && move.Steps == 1 && move.Semitones <= 2
	}
	if a.leading {
		return d.leads(a, b, move, where, w)
	}
	return 0, true
}

// closes leads a cadential six-four: sixth to fifth and fourth to third above
// the bass, in their own voices.
func (d *duty) closes(a, b *tone, move theory.Interval) bool {
	if a.member == 2 {
		return true
	}
	return move.Steps == -1 && b.pitch.Class() != d.from.Member(2)
}

// opens leads the two notes of an augmented sixth out to the fifth degree. The
// raised fourth may slide down into the seventh of V7, and both may wait in
// another augmented sixth.
func (d *duty) opens(a *tone, move theory.Interval) (ok, decided bool) {
	if move == theory.Unison {
		return true, true
	}
	raised := int8(0)
	if d.from.Quality() == harmony.FrenchSixth {
		raised = 1
	}
	switch a.member {
	case raised:
		return move == theory.Interval{Steps: 1, Semitones: 1} ||
			d.to.Quality().IsSeventh() && move == theory.Interval{Steps: 0, Semitones: -1}, true
	case raised + 1:
		return move == theory.Interval{Steps: -1, Semitones: -1}, true
	}
	return d.leans(a, move)
}

// leans leads what else is altered in an augmented sixth, as the third above its
// bass note in major: on in its direction by step, or back by a semitone.
func (d *duty) leans(a *tone, move theory.Interval) (ok, decided bool) {
	_, alter := d.from.Key.Degree(a.pitch.Class())
	switch {
	case alter == 0 || d.from.Key.Mode == theory.MinorMode && alter > 0:
		return false, false
	case move == theory.Unison, move.Steps == 0 && move.Semitones*alter < 0:
		return true, true
	case alter > 0:
		return move.Steps == 1, true
	}
	return move.Steps == -1 || move.Steps == -2 && move.Semitones == -2, true
}

// position is where a voice stands in the texture.
type position int8

const (
	inner position = iota
	topVoice
	bassVoice
)

// leads leads a leading tone.
func (d *duty) leads(a, b *tone, move theory.Interval, where position, w *Weights) (Cost, bool) {
	up := move == theory.Interval{Steps: 1, Semitones: 1}
	// In a chain of dominants it falls a semitone to become the next seventh.
	chain := move == theory.Interval{Steps: 0, Semitones: -1} && b.seventh
	switch {
	case up || chain || move == theory.Unison: // held, it is no leading tone any more
		return 0, true
	case !d.resolves && !d.deceptive:
		return 0, true
	case where == bassVoice && d.descends && move.Steps == -1:
		return w.InnerLeadingTone, true
	case where != inner:
		return 0, false
	case d.resolves && d.from.Inversion() == 0 && b.member == 2 && move.Steps == -2:
		return w.InnerLeadingTone, true
	case d.deceptive && d.from.Key.Mode == theory.MajorMode && move.Steps == -1:
		return w.InnerLeadingTone, true
	case d.from.Numeral.IsApplied():
		return 0, false
	}
	return 4 * w.InnerLeadingTone, true
}
