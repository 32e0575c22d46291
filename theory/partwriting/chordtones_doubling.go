package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Chord members that are doubled and should not be, or the other way round.
var doublings = []*Rule{
	{
		ID: "leading-tone-doubled", Family: ChordTones,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", "in a chord of dominant function, its own or applied; not the fifth of iii nor the root of VII, nor the third of a triad that has just come as the tonic of the key being left; a caution where the chord leads neither to its tonic nor to a chord that holds it, as where 7 falls within a line (unit 11b)"},
		Check:  (*Passage).doubledLeadingTones,
	},
	{
		ID: "seventh-doubled", Family: ChordTones,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", "both would have to fall; a caution where the chord has no dominant function and may be read otherwise"},
		Check:  (*Passage).doubledSevenths,
	},
	{
		ID: "altered-tone-doubled", Family: ChordTones,
		Source: Source{"Open Music Theory v1", "keyboard-style voice-leading", "a member raised or lowered against the key; minor keeps its raised sixth and seventh, the root of a borrowed triad is a root like any other (common practice); both notes of an augmented sixth"},
		Check:  (*Passage).doubledAlteredTones,
	},
	{
		ID: "chromatic-doubling", Family: ChordTones,
		Source: Source{"Open Music Theory v1", "altered subdominant chords", "an Italian sixth doubles the first degree, a Neapolitan sixth its bass"},
		Check:  (*Passage).chromaticDoublings,
	},
	{
		ID: "third-doubled", Family: ChordTones,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", "major or minor triad in root position; free after V or a chord on the leading tone, and where the third is a first, fourth or fifth degree (Aarden & von Hippel, Music Theory Online 10.2)"},
		Check:  (*Passage).doubledThirds,
	},
	{
		ID: "bass-doubled-in-six", Family: ChordTones,
		Source: Source{"Open Music Theory v1", "keyboard-style voice-leading", "the bass of a major or minor six-three only where it is a first, second, fourth or fifth degree; free between other six-three chords, where the doubling voice moves against the bass (Hutchinson, section 26.8), and where the bass only changes its place in a chord that goes on (common practice)"},
		Check:  (*Passage).doubledBasses,
	},
	{
		ID: "six-four-doubling", Family: ChordTones,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.11", "the bass is doubled in a six-four: a fault in a cadential one, a caution in others, free in a passing one"},
		Check:  (*Passage).sixFourDoublings,
	},
	{
		ID: "diminished-triad-doubling", Family: ChordTones,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.10", "the third is doubled; the fifth may be where it rises"},
		Check:  (*Passage).diminishedDoublings,
	},
}

// doubled reports the first moment of a harmony at which a rule finds the notes of a
// member doubled.
func (p *Passage) doubled(i, member int, breaks func(*Sonority) (Severity, bool)) (Finding, bool) {
	h := &p.chords[i]
	for m := h.FirstMoment; m < h.EndMoment; m++ {
		if p.countOf(m, h.Member(member)) < 2 || !p.plain(m, h) {
			continue
		}
		s := p.voiced(i, m)
		most, broken := breaks(&s)
		if f, held := p.doubledAt(m, h, member); broken && held {
			f.Severity = most
			return f, true
		}
	}
	return Finding{}, false
}

// doubledAt starts a finding about a member that more than one voice sounds at a moment.
func (p *Passage) doubledAt(m int, h *chord, member int) (Finding, bool) {
	notes := p.holding(m, h.Member(member))
	if len(notes) < 2 {
		return Finding{}, false
	}
	f := p.atNotes(m, notes)
	f.Args = []Arg{{"note", h.Member(member)}, {"chord", h.Numeral.Text(h.Key.Mode)}}
	return f, true
}

func (p *Passage) doubledLeadingTones() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		if !h.hasLead {
			return
		}
		f, ok := p.doubled(i, h.memberOf(h.lead), func(s *Sonority) (Severity, bool) {
			s.Before, s.After = p.precedingRoot(i), nil
			if next := p.following(i); next != nil {
				s.After = &next.Chord
			}
			return s.doublesLead()
		})
		if ok {
			found = append(found, f)
		}
	})
	return found
}

// precedingRoot returns the harmony before the root of one began, nil at the start of
// its phrase.
func (p *Passage) precedingRoot(i int) *Chord {
	all := p.chords
	for i > 0 && all[i-1].Root() == all[i].Root() && !p.endsPhrase(all[i-1].FirstMoment, all[i].FirstMoment) {
		i--
	}
	if before := p.preceding(i); before != nil {
		return &before.Chord
	}
	return nil
}

func (p *Passage) doubledSevenths() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		if !h.hasSeventh {
			return
		}
		f, ok := p.doubled(i, 3, func(*Sonority) (Severity, bool) { return Off, true })
		if !ok || !p.rootSounds(f, h) {
			return
		}
		if !h.dominant && !secure(h) {
			f.Severity = Caution
		}
		found = append(found, f)
	})
	return found
}

// rootSounds reports whether the root is heard where a finding stands: without
// it, the note may be no seventh at all.
func (p *Passage) rootSounds(f Finding, h *chord) bool {
	return p.countOf(p.latestOf(f.Notes), h.Root()) > 0
}

// latestOf returns the moment at which the last of some notes is struck.
func (p *Passage) latestOf(notes []NoteRef) int {
	latest := 0
	for _, r := range notes {
		latest = max(latest, p.momentOf(r))
	}
	return latest
}

func (p *Passage) doubledAlteredTones() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		for member := range h.Size() {
			if !h.single(member) {
				continue
			}
			if f, ok := p.doubled(i, member, func(*Sonority) (Severity, bool) { return Off, true }); ok {
				found = append(found, f)
			}
		}
	})
	return found
}

func (p *Passage) chromaticDoublings() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		m := h.FirstMoment
		right, ok := h.custom()
		if !ok || !p.plain(m, h) || p.turns(i, h) {
			return
		}
		s := p.voiced(i, m)
		if _, broken := s.doublesOtherThanCustom(); broken {
			f := p.atChord(m, h)
			f.Args = append(f.Args, Arg{"note", right})
			found = append(found, f)
		}
	})
	return found
}

// turns reports whether a chord that nobody has named belongs to two keys, the one
// before it and its own: as which of the two it is voiced is open.
func (p *Passage) turns(i int, h *chord) bool {
	return !named(h) && (h.Pivot != nil || i > 0 && p.chords[i-1].Key != h.Key)
}

func (p *Passage) doubledThirds() []Finding {
	return p.doubledAtOnce(func(s *Sonority, _ int) bool { return s.doublesThird() })
}

func (p *Passage) doubledBasses() []Finding {
	return p.doubledAtOnce(func(s *Sonority, m int) bool {
		return s.doublesBassOfSix() && !p.againstBass(m, s.Chord.Bass()) && !(m > 0 && p.revoiced(m-1, m))
	})
}

// doubledAtOnce reports the doubled third of triads where a rule finds it when they
// begin.
func (p *Passage) doubledAtOnce(breaks func(s *Sonority, m int) bool) []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		m := h.FirstMoment
		if !isMajorOrMinor(h.quality) || p.countOf(m, h.Member(1)) < 2 || !p.plain(m, h) {
			return
		}
		if s := p.voiced(i, m); !breaks(&s, m) {
			return
		}
		if f, ok := p.doubledAt(m, h, 1); ok {
			found = append(found, f)
		}
	})
	return found
}

// againstBass reports whether a voice other than the bass reaches a pitch class
// at a moment while the bass moves the other way. At the start of a phrase none has reached
// it from anywhere.
func (p *Passage) againstBass(m int, c theory.PitchClass) bool {
	if m == 0 || p.phraseEnds[m-1] {
		return false
	}
	bass := len(p.Voices) - 1
	for v := 0; v < bass; v++ {
		note := p.Sounding(m, v)
		if note == nil || note.Pitch.Class() != c {
			continue
		}
		u0, u1, l0, l1 := p.cell(m-1, v), p.cell(m, v), p.cell(m-1, bass), p.cell(m, bass)
		if u0.note >= 0 && l0.note >= 0 && int(u1.semitones-u0.semitones)*int(l1.semitones-l0.semitones) < 0 {
			return true
		}
	}
	return false
}

func (p *Passage) sixFourDoublings() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		m := h.FirstMoment
		if h.inversion != 2 || !isMajorOrMinor(h.quality) || !p.plain(m, h) || !p.bassHas(m, h.Bass()) || p.endsPhrase(max(m-1, 0), m) {
			return
		}
		s := p.voiced(i, m)
		if most, broken := s.leavesBassOfSixFour(); broken {
			f := p.atChord(m, h)
			f.Severity = most
			found = append(found, f)
		}
	})
	return found
}

func (p *Passage) diminishedDoublings() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		m := h.FirstMoment
		if h.quality != harmony.DiminishedTriad || !p.plain(m, h) {
			return
		}
		s := p.voiced(i, m)
		for _, member := range []int{0, 2} {
			s.FifthRises = member == 2 && p.oneRises(p.holding(m, h.Member(2)))
			if !s.doublesInDiminished(member) {
				continue
			}
			if f, ok := p.doubledAt(m, h, member); ok {
				found = append(found, f)
			}
		}
	})
	return found
}

// oneRises reports whether one of the notes goes up by step within its phrase.
func (p *Passage) oneRises(notes []NoteRef) bool {
	for _, r := range notes {
		line := p.Voices[r.Voice].Notes
		if r.Note+1 == len(line) || theory.Between(line[r.Note].Pitch, line[r.Note+1].Pitch).Steps != 1 {
			continue
		}
		if next := (NoteRef{r.Voice, r.Note + 1}); !p.endsPhrase(p.momentOf(r), p.momentOf(next)) {
			return true
		}
	}
	return false
}
