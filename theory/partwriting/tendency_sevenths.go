package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Sevenths, and where they come from and go.
var sevenths = []*Rule{
	{
		ID: "seventh-unresolved", Family: Tendency,
		Source: Source{"Open Music Theory v1", "keyboard-style voice-leading", "down by step in its own voice when the harmony changes; a caution where the chord has no dominant function and may be read otherwise, where only a passing note makes it a seventh chord, where its third is missing, on the way from a chord on the leading tone to V, where the bass takes over the note of resolution, and where the note is a member of the next chord or rises by a semitone within its letter; free where it is held over, handed to another voice, consonant by the time the harmony changes, rises by a semitone within its letter into a cadential six-four (common practice), or rises in tenths with the bass (Hutchinson, section 27.1), or is a neighbor note between two chords on one root"},
		Check:  (*Passage).unresolvedSevenths,
	},
	{
		ID: "seventh-unprepared", Family: Tendency,
		Source: Source{"Wieland, Part-writing tips (Northern State University)", "", "only a descending leap to a seventh; common tone, step and ascending leap are free"},
		Check:  (*Passage).unpreparedSevenths,
	},
}

func (p *Passage) unresolvedSevenths() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		next := p.afterSeventh(i)
		if next == nil {
			return
		}
		seventh, ok := p.seventhAt(h.EndMoment-1, h, next)
		if !ok || p.handedOn(i, next, seventh) {
			return
		}
		if seventh == h.seventh && !p.rootHeard(i, next) {
			return // a seventh above nothing
		}
		for _, t := range p.tendenciesAt(h.EndMoment-1, seventh) {
			if t.next < 0 || p.heldInto(t, next) || p.resolvesDown(t, next) || p.touched(t) || p.needsNoResolution(h, next, t) {
				continue
			}
			if r := p.leaving(h, next, t); !r.seventhUnresolved() {
				continue
			}
			mild, taken := p.mildSeventh(i, h, next, t), !named(h) && p.bassTakes(t.ref, next)
			if mild && taken {
				continue
			}
			f := p.atTendency(t)
			if mild || taken {
				f.Severity = Caution
			}
			found = append(found, f)
		}
	})
	return append(found, p.seventhsOverJumps()...)
}

// afterSeventh returns the chord in which the seventh of a harmony is due to resolve, nil
// where there is none: the next one on another root, or one that sheds the seventh, if
// neither is in doubt.
func (p *Passage) afterSeventh(i int) *chord {
	h := &p.chords[i]
	if i+1 < len(p.chords) && !p.endsPhrase(h.FirstMoment, p.chords[i+1].FirstMoment) {
		if next := &p.chords[i+1]; sheds(&h.Chord, &next.Chord) && secure(h) && secure(next) {
			return next
		}
	}
	if !p.isLastOfRoot(i) {
		return nil
	}
	return p.following(i)
}

// rootHeard reports whether the root of a seventh chord is heard while it lasts; what
// sheds its seventh is another chord.
func (p *Passage) rootHeard(i int, next *chord) bool {
	root := p.chords[i].Root()
	if next.Root() != root {
		return p.soundsWhileRootLasts(i, root)
	}
	for j := i; j >= max(0, i-mostOnOneRoot) && p.chords[j].Root() == root; j-- {
		if p.soundsIn(&p.chords[j], root) {
			return true
		}
	}
	return false
}

// bassTakes reports whether the bass takes over the note to which a seventh would
// fall, as where V43 goes to I6.
func (p *Passage) bassTakes(r NoteRef, next *chord) bool {
	bass := p.Sounding(next.FirstMoment, len(p.Voices)-1)
	if bass == nil || r.Voice == len(p.Voices)-1 {
		return false
	}
	return bass.Pitch.Step == (p.Note(r).Pitch.Step+6)%7 && next.set.has(bass.Pitch.Class())
}

// mildSeventh reports whether a seventh that does not fall is in doubt, or has an
// excuse in a chord that nobody has named: the chord may be no seventh chord at all, or not that one; the function
// stays; the note is consonant in the next chord, and as good as held; or it
// slides up, which turns it into another chord's leading tone.
func (p *Passage) mildSeventh(i int, h, next *chord, t tendencyNote) bool {
	seventh := p.Note(t.ref).Pitch.Class()
	switch {
	case named(h):
		return false
	case !h.Numeral.IsDominant() && !secure(h):
		return true
	case (!h.hasSeventh || h.seventh != seventh) && p.onlyEmbellishes(h.EndMoment-1, theory.PitchClassAtFifths(seventh.Fifths()+2)):
		return true
	case !p.soundsWhileRootLasts(i, h.Member(1)):
		return true
	case h.Numeral.Degree == 7 && next.Numeral.Degree == 5 && h.Key == next.Key && h.Numeral.IsApplied() == next.Numeral.IsApplied():
		return true
	case next.set.has(seventh):
		return true
	}
	return t.move.Steps == 0 && t.move.Semitones == 1
}

// onlyEmbellishes reports whether a pitch class is heard at a moment only as a passing or
// neighbor note. A seventh of a diminished chord that falls to the root of V7
// early is neither: it turns one chord into the other.
func (p *Passage) onlyEmbellishes(m int, c theory.PitchClass) bool {
	for v := range p.Voices {
		n := p.At(m, v)
		if n < 0 || p.Voices[v].Notes[n].Pitch.Class() != c {
			continue
		}
		if class := p.Harmony.Notes[v][n].Class; class != harmony.Passing && class != harmony.Neighbor {
			return false
		}
	}
	return true
}

// resolvesDown reports whether a voice steps down from its note, at once or
// after an ornament.
func (p *Passage) resolvesDown(t tendencyNote, next *chord) bool {
	if t.move.Steps == 0 && t.move.Semitones == -1 {
		return true // a semitone down within the letter
	}
	return p.soon(t, next, func(i theory.Interval, _ theory.PitchClass) bool { return i.Steps == -1 })
}

// heldInto reports whether a note goes on sounding as a member of the next
// harmony: a seventh is then consonant, and free.
func (p *Passage) heldInto(t tendencyNote, next *chord) bool {
	note := p.Note(t.ref)
	return p.At(next.FirstMoment, t.ref.Voice) == t.ref.Note && next.set.has(note.Pitch.Class())
}

// seventhAt returns the seventh that is due to resolve at the end of a harmony:
// that of a complete dominant seventh chord, if that is what sounds in the end
// and its root goes up a fourth, else that of the harmony.
func (p *Passage) seventhAt(m int, h, next *chord) (theory.PitchClass, bool) {
	if set := p.spellings[m]; set.shape() == dominantSeventh {
		seventh := set.flattest()
		if next.Root().Fifths() == seventh.Fifths()+1 {
			return seventh, true
		}
	}
	return h.Seventh()
}

// handedOn reports whether some voice that sounds the seventh at any time while
// the root lasts steps down from it: the dissonance is then resolved, wherever
// else it was heard.
func (p *Passage) handedOn(i int, next *chord, seventh theory.PitchClass) bool {
	all := p.chords
	first := i
	for first > 0 && all[first-1].Root() == all[i].Root() {
		first--
	}
	for m := all[first].FirstMoment; m < all[i].EndMoment; m++ {
		for _, r := range p.holding(m, seventh) {
			t := p.tendencyOf(r)
			if t.next < 0 {
				continue
			}
			to := NoteRef{r.Voice, t.next}
			if p.momentOf(to) >= all[i].EndMoment && p.resolvesDown(t, next) {
				return true
			}
			if class := p.Note(to).Pitch.Class(); t.move.Steps == -1 && !all[i].set.has(class) && next.set.has(class) {
				return true // the resolution has come while the rest of the chord stays
			}
		}
	}
	return false
}

// touched reports whether a note is only passed through: struck between the
// beats, reached and left by step.
func (p *Passage) touched(t tendencyNote) bool {
	if p.strength(p.momentOf(t.ref)) > 0 || t.ref.Note == 0 || !t.move.IsStep() {
		return false
	}
	notes := p.Voices[t.ref.Voice].Notes
	return theory.Between(notes[t.ref.Note-1].Pitch, notes[t.ref.Note].Pitch).IsStep()
}

func (p *Passage) unpreparedSevenths() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		seventh, ok := h.Seventh()
		if !ok {
			return
		}
		for m := h.FirstMoment; m < h.EndMoment; m++ {
			for _, r := range p.holding(m, seventh) {
				if p.momentOf(r) != m || r.Note == 0 || m == 0 || p.endsPhrase(m-1, m) || p.sameHarmony(m-1, m) {
					continue
				}
				from := NoteRef{r.Voice, r.Note - 1}
				move := theory.Between(p.Note(from).Pitch, p.Note(r).Pitch)
				if !unpreparedSeventh(move) {
					continue
				}
				f := p.at(m, r.Voice)
				f.Notes = []NoteRef{from, r}
				f.Args = []Arg{{"from", p.Note(from).Pitch}, {"to", p.Note(r).Pitch}}
				found = append(found, f)
			}
		}
	})
	return found
}

// needsNoResolution reports whether a seventh that does not fall is none to speak of, in
// a chord that nobody has named: it is consonant with all that sounds when the
// harmony changes, since the note that made it a seventh has passed on; it was held
// into a chord shorter than a beat, or passes upward through one no longer than a
// beat; or it stays in another octave as a member of the next chord; it is a neighbor
// note in a chord between two on one root; or it rises by a semitone within its letter
// from a chord that is no dominant seventh, which makes a leading tone of it however it is
// spelled.
func (p *Passage) needsNoResolution(h, next *chord, t tendencyNote) bool {
	if named(h) {
		return false
	}
	if p.meetsInNext(next, t) || (t.move.IsPerfectOctave() && next.set.has(p.Note(t.ref).Pitch.Class())) {
		return true
	}
	if p.neighborsOneRoot(h, next, t) || h.quality != harmony.DominantSeventh && t.move.Steps == 0 && t.move.Semitones == 1 {
		return true
	}
	if h.Numeral.IsDominant() {
		return false
	}
	if next.set.has(p.Note(t.ref).Pitch.Class()) && !secure(h) {
		return true // consonant in the next chord, it is no more than an added note
	}
	held := p.momentOf(t.ref) < h.FirstMoment && p.shorterThanBeat(h) && p.strength(h.FirstMoment) == 0
	return held || p.passesUpward(h, t) || p.isConsonant(h.EndMoment-1, t.ref.Voice)
}

// neighborsOneRoot reports whether a note only leaves another by step and returns to it
// while the chord stands between two on the same root: it is an ornament of theirs.
func (p *Passage) neighborsOneRoot(h, next *chord, t tendencyNote) bool {
	i := p.Harmony.IndexAt(h.FirstMoment)
	before := p.preceding(i)
	if before == nil || before.Root() != next.Root() || t.ref.Note == 0 || t.next < 0 || t.move.Steps != 1 {
		return false
	}
	notes := p.Voices[t.ref.Voice].Notes
	return notes[t.ref.Note-1].Pitch == notes[t.next].Pitch
}

// passesUpward reports whether a note is struck in a chord no longer than a beat,
// reached by step from below and left by step upward: a passing tone.
func (p *Passage) passesUpward(h *chord, t tendencyNote) bool {
	if t.ref.Note == 0 || t.move.Steps != 1 || p.momentOf(t.ref) < h.FirstMoment {
		return false
	}
	beat := p.Score.Measures[h.Measure].Time.Beat()
	before := theory.Between(p.Voices[t.ref.Voice].Notes[t.ref.Note-1].Pitch, p.Note(t.ref).Pitch)
	return before.Steps == 1 && !beat.Less(h.End.Sub(h.Onset))
}

// isConsonant reports whether a voice sounds no second, seventh or tritone with any
// other at a moment.
func (p *Passage) isConsonant(m, voice int) bool {
	for v := range p.Voices {
		i, both := p.dyad(m, min(v, voice), max(v, voice))
		if v == voice || !both {
			continue
		}
		switch abs(i.Semitones) % 12 {
		case 1, 2, 6, 10, 11:
			return false
		}
	}
	return true
}

// meetsInNext reports whether another voice takes the note over as a dissonance of
// the next harmony and steps down from it there.
func (p *Passage) meetsInNext(next *chord, t tendencyNote) bool {
	class := p.Note(t.ref).Pitch.Class()
	m := next.FirstMoment
	for v := range p.Voices {
		n := p.At(m, v)
		if v == t.ref.Voice || n < 0 || p.Voices[v].Notes[n].Pitch.Class() != class || next.set.has(class) {
			continue
		}
		after := p.tendencyOf(NoteRef{v, n})
		if after.next >= 0 && after.move.Steps == -1 {
			return true
		}
	}
	return false
}
