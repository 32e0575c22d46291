package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Praise names something that is well done. It is given only where a rubric asks
// for it, and catalogs put it into words.
type Praise string

// What is praised. Each holds for the whole piece or is not said: half praise
// teaches nothing.
const (
	// OuterVoicesContrary: soprano and bass move against each other into every
	// cadence (Butterfield, Integrated Music Theory, unit 10c: outer voices first).
	OuterVoicesContrary Praise = "outer-voices-contrary"
	// SeventhsHandled: every seventh is reached by common tone or step and falls
	// by step (Open Music Theory v1, keyboard-style voice-leading).
	SeventhsHandled Praise = "sevenths-handled"
	// CompleteChords: no member is missing anywhere (College Board, AP Music
	// Theory scoring guidelines 2015, question 6).
	CompleteChords Praise = "complete-chords"
	// SingleClimax: the soprano has one highest note, inside the line (Open Music
	// Theory v1, composing a melody).
	SingleClimax Praise = "single-climax"
)

// Praises lists everything that can be praised, in the order it is given.
var Praises = []Praise{OuterVoicesContrary, SeventhsHandled, CompleteChords, SingleClimax}

// Too little music proves nothing: so many sevenths, chords and notes of the
// soprano there must be (our own measure).
const (
	minSevenths = 2
	minChords   = 4
	minNotes    = 8
)

// Praise returns what is well done in a passage with these findings.
func (p *Passage) Praise(findings []Finding) []Praise {
	var out []Praise
	for _, praise := range Praises {
		if p.deserves(praise, findings) {
			out = append(out, praise)
		}
	}
	return out
}

func (p *Passage) deserves(praise Praise, findings []Finding) bool {
	if len(p.Voices) == 0 || len(p.Moments) == 0 {
		return false
	}
	switch praise {
	case OuterVoicesContrary:
		return p.cadencesContrary()
	case SeventhsHandled:
		return p.seventhsPrepared() && !anyOf(findings, "seventh-unresolved", "seventh-unprepared", "seventh-doubled", "seventh-missing")
	case CompleteChords:
		return p.allComplete() && !anyOf(findings, "root-missing", "third-missing", "fifth-missing", "seventh-missing")
	case SingleClimax:
		return p.hasClimax()
	}
	return false
}

func anyOf(findings []Finding, rules ...RuleID) bool {
	for i := range findings {
		for _, r := range rules {
			if findings[i].Rule == r {
				return true
			}
		}
	}
	return false
}

// cadencesContrary asks for a cadence at all, and for contrary motion into the
// last chord of each.
func (p *Passage) cadencesContrary() bool {
	if p.Harmony == nil || len(p.Voices) < 2 {
		return false
	}
	cadences := 0
	for i := range p.Harmony.Cadences {
		c := &p.Harmony.Cadences[i]
		if c.Kind == harmony.NoCadence || !p.trusted(&p.chords[c.Final]) {
			continue
		}
		m := p.chords[c.Final].FirstMoment
		if m == 0 {
			return false
		}
		bass := len(p.Voices) - 1
		for _, v := range [2]int{0, bass} {
			if p.cell(m-1, v).note < 0 || p.cell(m, v).note < 0 {
				return false
			}
		}
		up, low := between(p.cell(m-1, 0), p.cell(m, 0)), between(p.cell(m-1, bass), p.cell(m, bass))
		if theory.MotionOf(up, low) != theory.Contrary {
			return false
		}
		cadences++
	}
	return cadences > 0
}

func (p *Passage) seventhsPrepared() bool {
	count, prepared := 0, true
	p.eachHarmony(func(_ int, h *chord) {
		for m := h.FirstMoment; h.hasSeventh && m < h.EndMoment; m++ {
			for _, r := range p.holding(m, h.seventh) {
				if p.momentOf(r) != m && m != h.FirstMoment {
					continue // it has been looked at
				}
				count++
				if p.momentOf(r) == m && !p.reachedByStep(r) {
					prepared = false
				}
			}
		}
	})
	return prepared && count >= minSevenths
}

// reachedByStep reports whether a note comes from its own pitch or from the next
// letter within the phrase.
func (p *Passage) reachedByStep(r NoteRef) bool {
	if r.Note == 0 || p.endsPhrase(p.momentOf(NoteRef{r.Voice, r.Note - 1}), p.momentOf(r)) {
		return false
	}
	notes := p.Voices[r.Voice].Notes
	return abs(theory.Between(notes[r.Note-1].Pitch, notes[r.Note].Pitch).Steps) <= 1
}

func (p *Passage) allComplete() bool {
	count, complete := 0, true
	p.eachHarmony(func(i int, h *chord) {
		if p.sounding(h.FirstMoment) < 4 || p.shorterThanBeat(h) {
			return
		}
		count++
		for member := range h.size {
			complete = complete && p.soundsWhileRootLasts(i, h.Member(member))
		}
	})
	return complete && count >= minChords
}

func (p *Passage) hasClimax() bool {
	notes := p.Voices[0].Notes
	if len(notes) < minNotes {
		return false
	}
	top, times := 0, 0
	for n := range notes {
		switch {
		case n == 0 || notes[n].Pitch.Above(notes[top].Pitch):
			top, times = n, 1
		case notes[n].Pitch == notes[top].Pitch && notes[n-1].Pitch != notes[n].Pitch:
			times++ // repeated at once it is the same summit
		}
	}
	return times == 1 && top > 0 && notes[top].Pitch != notes[len(notes)-1].Pitch
}
