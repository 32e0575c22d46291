package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// heldBasses reports basses that are struck on a weak beat and again on the
// downbeat, while the chord above them changes; where it does not, that is told as
// a harmony held into the downbeat.
func (p *Passage) heldBasses() []Finding {
	if p.Harmony == nil {
		return nil
	}
	var found []Finding
	bass := len(p.Voices) - 1
	for i := range p.lines[bass] {
		move := &p.lines[bass][i]
		m := move.Moment
		if move.PhraseEnd || move.Interval != theory.Unison || p.strength(m) < 3 {
			continue
		}
		first := p.MomentOf(NoteRef{bass, move.From})
		before, h := p.chordAt(m-1), p.chordAt(m)
		if p.strength(first) >= 2 || before == nil || h == nil || !p.trusted(before) || !p.trusted(h) {
			continue
		}
		if before.Reading == h.Reading || p.opensPhrase(first) || p.bassIsHeldFor(m, h) {
			continue
		}
		f := p.atMove(move)
		f.Args = []Arg{{"pitch", p.Note(f.Notes[1]).Pitch}}
		found = append(found, f)
	}
	return found
}

// opensPhrase reports whether a moment lies in the upbeat of its phrase: before the
// first downbeat in it.
func (p *Passage) opensPhrase(m int) bool {
	for ; p.strength(m) < 3; m-- {
		if m == 0 || p.phraseEnds[m-1] {
			return true
		}
	}
	return false
}

// bassIsHeldFor reports whether a chord asks for the bass that was there: a
// six-four, a chord on its seventh, a suspension or a pedal.
func (p *Passage) bassIsHeldFor(m int, h *chord) bool {
	if h.Numeral.Cadential || h.Inversion() >= 2 {
		return true
	}
	for v := range p.Voices {
		n := p.At(m, v)
		if n < 0 {
			continue
		}
		switch p.Harmony.Notes[v][n].Class {
		case harmony.Suspension, harmony.Retardation, harmony.PedalTone, harmony.Appoggiatura:
			return true
		}
	}
	return false
}
