package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Chord members that are missing, and triads that want an inversion.
var omissions = []*Rule{
	{
		ID: "third-missing", Family: ChordTones,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", "nowhere while the harmony lasts; free where a suspension stands for it, wherever that resolves; a caution in what may be read otherwise: every seventh chord but that of V, diminished triads; silent in a six-four that nobody has named, and in three voices where nobody has named the chord"},
		Check:  (*Passage).missingThirds,
	},
	{
		ID: "root-missing", Family: ChordTones,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", "a chord on the leading tone is no rootless dominant"},
		Check: func(p *Passage) []Finding {
			return p.lacking(0, func(h *chord) bool { return true })
		},
	},
	{
		ID: "fifth-missing", Family: ChordTones,
		Source: Source{"College Board, AP Music Theory scoring guidelines 2015, question 6", "", "the fifth may go from root-position triads and sevenths; every inverted chord is complete, but for ii65 before V7 in the keyboard set (Open Music Theory)"},
		Check: func(p *Passage) []Finding {
			return p.lacking(2, func(h *chord) bool { return true })
		},
	},
	{
		ID: "seventh-missing", Family: ChordTones,
		Source: Source{"General formula for grading part-writing (Florida State University)", "", "only where the chord was given as a seventh chord"},
		Check: func(p *Passage) []Finding {
			return append(p.lacking(3, named), p.lackingByLabel()...)
		},
	},
	{
		ID: "diminished-triad-root-position", Family: ChordTones,
		Source: Source{"General formula for grading part-writing (Florida State University)", "", "free on the way to V6/5, in a sequence, and after its own first inversion"},
		Check:  (*Passage).rootPositionDiminished,
	},
}

// lacking reports harmonies in which a member is not heard at any time, once for
// as long as the root lasts.
func (p *Passage) lacking(member int, applies func(h *chord) bool) []Finding {
	var found []Finding
	reported := -1 // the last harmony of the root that was reported
	p.eachHarmony(func(i int, h *chord) {
		if i <= reported {
			return
		}
		s := p.voiced(i, h.FirstMoment)
		if s.Voices < len(p.Voices) && s.Voices < 4 {
			return // a voice rests
		}
		if !s.lacks(member) || p.soundsWhileRootLasts(i, h.Member(member)) || !applies(h) {
			return
		}
		if h.augmentedSixth && !named(h) || p.shorterThanBeat(h) {
			return // what is left of an augmented sixth may be another one
		}
		f := p.atChord(h.FirstMoment, h)
		f.Args = append(f.Args, Arg{"note", h.Member(member)})
		found = append(found, f)
		reported = p.Harmony.IndexAt(p.lastMoment(i))
	})
	return found
}

// lackingByLabel reports the sevenths that labels ask for and that sound nowhere in
// their chords, where the analysis by the notes has not followed the label.
func (p *Passage) lackingByLabel() []Finding {
	if p.Harmony == nil || len(p.Harmony.Given) == 0 {
		return nil
	}
	var found []Finding
	chords := p.givenChords()
	for i := range chords {
		n := &chords[i]
		h := p.chordAt(n.first)
		if len(n.members) < 4 || p.sounding(n.first) < 4 || h != nil && named(h) && h.size == 4 {
			continue
		}
		if p.soundsBetween(n.first, n.end, n.members[3]) {
			continue
		}
		f := p.at(n.first)
		f.Notes = p.allAt(n.first)
		for _, r := range f.Notes {
			f.Voices = append(f.Voices, r.Voice)
		}
		f.Args = []Arg{{"chord", n.text}, {"note", n.members[3]}}
		found = append(found, f)
	}
	return found
}

func (p *Passage) missingThirds() []Finding {
	found := p.lacking(1, func(h *chord) bool {
		if !named(h) && h.inversion == 2 && isMajorOrMinor(h.quality) {
			return false // a fourth and an octave are no six-four
		}
		return !p.thirdSuspended(h)
	})
	for i := range found {
		h := p.chordAt(p.latestOf(found[i].Notes))
		if doubtfulWithoutThird(h) {
			found[i].Severity = Caution
		}
	}
	return found
}

// doubtfulWithoutThird reports whether what is left of a chord without its third
// fits other chords as well: the fourth and octave of a six-four, the fifth and
// seventh of a chord that is neither V7 nor on a leading tone. A chord that
// somebody has named is what it is.
func doubtfulWithoutThird(h *chord) bool {
	if named(h) {
		return false
	}
	switch h.Quality() {
	case harmony.MajorTriad, harmony.MinorTriad:
		return h.Inversion() == 2
	case harmony.DominantSeventh:
		return false
	}
	return true
}

// thirdSuspended reports whether a voice keeps the note above a chord's third
// from the sonority before and steps down from it sooner or later, though the
// chord may have changed by then.
func (p *Passage) thirdSuspended(h *chord) bool {
	m := h.FirstMoment
	if m == 0 || p.phraseEnds[m-1] {
		return false
	}
	above := (h.Member(1).Step + 1) % 7
	for v := range p.Voices {
		a, b := p.cell(m-1, v), p.cell(m, v)
		if a.note < 0 || b.note < 0 || a.semitones != b.semitones {
			continue
		}
		notes := p.Voices[v].Notes
		held := notes[b.note].Pitch
		if held.Step != above || h.set.has(held.Class()) {
			continue
		}
		for n := int(b.note) + 1; n < len(notes); n++ {
			if n+1 < len(notes) && theory.Between(held, notes[n].Pitch).Steps == 1 && notes[n+1].Pitch == held {
				continue // an ornament, after which the suspension goes on
			}
			if notes[n].Pitch != held {
				return theory.Between(held, notes[n].Pitch).Steps == -1
			}
		}
	}
	return false
}

func (p *Passage) rootPositionDiminished() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		if h.Quality() != harmony.DiminishedTriad || h.Inversion() != 0 || p.shorterThanBeat(h) {
			return
		}
		next, before := p.following(i), p.preceding(i)
		if next != nil && next.Numeral.IsDominant() && h.Numeral.IsDominant() {
			return
		}
		if before != nil && (before.Root() == h.Root() || isFifthBelow(h.Root(), before.Root())) {
			return
		}
		found = append(found, p.atChord(h.FirstMoment, h))
	})
	return found
}

// isFifthBelow reports whether a root lies a fifth below another by letter.
func isFifthBelow(low, high theory.PitchClass) bool {
	return (int(high.Step)-int(low.Step)+7)%7 == 4
}
