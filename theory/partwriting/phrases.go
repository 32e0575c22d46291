package partwriting

import "partwright/theory"

// PhraseEnd reports whether a phrase ends between moment m and the next: under a
// fermata, after a breath mark, or at a double bar, a repeat or the end. Lines,
// overlap and resolutions are not tested across such a join, and parallels are
// reported for information only (common practice; Feezell's and other course notes
// allow cross relations and large leaps there).
func (p *Passage) PhraseEnd(m int) bool { return p.phraseEnds[m] }

// Phrase returns the number of the phrase that a moment belongs to, from 0.
func (p *Passage) Phrase(m int) int { return int(p.phrases[m]) }

// endsPhrase reports whether a phrase ends anywhere between two moments.
func (p *Passage) endsPhrase(from, to int) bool {
	for m := from; m < to; m++ {
		if p.phraseEnds[m] {
			return true
		}
	}
	return false
}

func (p *Passage) findPhrases() {
	p.phraseEnds = make([]bool, len(p.Moments))
	p.phrases = make([]int32, len(p.Moments))
	phrase := int32(0)
	for m := range p.Moments {
		p.phrases[m] = phrase
		p.phraseEnds[m] = m+1 == len(p.Moments) || p.fermataAt(m) || p.barBetween(m) || p.cutAfter(m)
		// A fermata that is held while other voices move on ends one phrase only.
		if p.phraseEnds[m] && !(m+1 < len(p.Moments) && p.fermataHeld(m)) {
			phrase++
		}
	}
}

// cutAfter reports whether the next moment on the page never follows a moment in
// performance, as behind a first ending. What stands on either side is not compared.
func (p *Passage) cutAfter(m int) bool {
	cuts := p.Score.Cuts
	if m+1 >= len(p.Moments) {
		return false
	}
	for i := int(p.Moments[m].Measure); i < int(p.Moments[m+1].Measure) && i < len(cuts); i++ {
		if cuts[i] {
			return true
		}
	}
	return false
}

// cutBetween reports whether there is such a place between two moments.
func (p *Passage) cutBetween(from, to int) bool {
	if len(p.Score.Cuts) == 0 {
		return false
	}
	for m := from; m < to; m++ {
		if p.cutAfter(m) {
			return true
		}
	}
	return false
}

func (p *Passage) fermataAt(m int) bool {
	for v := range p.Voices {
		note := p.Sounding(m, v)
		if note == nil {
			continue
		}
		if note.Flags.Has(theory.Fermata) {
			return true
		}
		if note.Flags.Has(theory.Breath) && m+1 < len(p.Moments) && !p.Moments[m+1].Onset.Less(note.End()) {
			return true
		}
	}
	return false
}

// fermataHeld reports whether a note under a fermata goes on past the next moment.
func (p *Passage) fermataHeld(m int) bool {
	for v := range p.Voices {
		note := p.Sounding(m, v)
		if note != nil && note.Flags.Has(theory.Fermata) && p.At(m, v) == p.At(m+1, v) {
			return true
		}
	}
	return false
}

// isCadence reports whether a moment is the final sonority of a phrase that the
// document marks: under a fermata, or before a double or final bar.
func (p *Passage) isCadence(m int) bool {
	last := m+1 == len(p.Moments)
	if p.fermataAt(m) || (!last && p.barBetween(m)) {
		return true
	}
	return last && p.Score.Measures[p.Moments[m].Measure].PhraseBar
}

func (p *Passage) barBetween(m int) bool {
	for i := p.Moments[m].Measure; i < p.Moments[m+1].Measure; i++ {
		if p.Score.Measures[i].PhraseBar {
			return true
		}
	}
	return false
}
