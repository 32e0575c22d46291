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
	// descends is set where the bass came from the tonic, so that a leading tone
	// in it may go on down.
	descends bool
}

func dutyBetween(from, to harmony.Reading) duty {
	d := duty{from: from, to: to, same: sameHarmony(from, to)}
	local := from.Numeral.In(from.Key)
	d.target = local.Tonic
	if from.Numeral.IsDominant() && !d.same {
		d.resolves = to.Root() == d.target
		d.deceptive = to.Member(1) == d.target && !to.Quality().IsAugmentedSixth()
	}
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

// position is where a voice stands in the texture.
type position int8

const (
	inner position = iota
	topVoice
	bassVoice
)

// leads is what it costs that a leading tone does not rise where it has to resolve: a
// fall that completes the tonic, or to the sixth degree in major, is cheap.
func (d *duty) leads(a, b *tone, move theory.Interval, where position, w *Weights) Cost {
	up := move == theory.Interval{Steps: 1, Semitones: 1}
	// In a chain of dominants it falls a semitone to become the next seventh.
	chain := move == theory.Interval{Steps: 0, Semitones: -1} && b.seventh
	switch {
	case up || chain || move == theory.Unison: // held, it is no leading tone any more
		return 0
	case !d.resolves && !d.deceptive:
		return 0
	case where == bassVoice && d.descends && move.Steps == -1:
		return w.InnerLeadingTone
	case where == inner && d.resolves && d.from.Inversion() == 0 && b.member == 2 && move.Steps == -2:
		return w.InnerLeadingTone
	case where == inner && d.deceptive && d.from.Key.Mode == theory.MajorMode && move.Steps == -1:
		return w.InnerLeadingTone
	}
	return 2 * w.InnerLeadingTone
}
