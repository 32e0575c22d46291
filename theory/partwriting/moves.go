package partwriting

import "partwright/theory"

// melodicMove is the step, leap or repetition from one note of a voice to the
// next. Notes with a beat or more of silence between them make none.
type melodicMove struct {
	// Voice, and the indexes From and To of its notes.
	Voice, From, To int
	// Moment is where the second note is struck.
	Moment   int
	Interval theory.Interval
	// PhraseEnd is set where a phrase ends between the two notes.
	PhraseEnd bool
}

// isLeap reports whether the move is larger than a second.
func (m *melodicMove) isLeap() bool { return m.Interval.Number() > 2 }

func (p *Passage) findLines() {
	total := 0
	for v := range p.spans {
		total += len(p.spans[v])
	}
	all := make([]melodicMove, 0, total)
	p.lines = make([][]melodicMove, len(p.Voices))
	for v := range p.Voices {
		start, notes, spans := len(all), p.Voices[v].Notes, p.spans[v]
		for i := 0; i+1 < len(notes); i++ {
			to := int(spans[i+1].moment)
			if p.silent(spans[i+1].onset-spans[i].end, to) || p.cutBetween(int(spans[i].moment), to) {
				continue
			}
			all = append(all, melodicMove{
				Voice: v, From: i, To: i + 1, Moment: to,
				Interval:  theory.Between(notes[i].Pitch, notes[i+1].Pitch),
				PhraseEnd: notes[i].Flags.Has(theory.Fermata) || p.phraseEnds[to-1],
			})
		}
		p.lines[v] = all[start:len(all):len(all)]
	}
}

// pairMove is how two voices that both move go from one sonority to the next.
// The pair is named by its parts: Upper stands above Lower in the score,
// whichever sounds higher.
type pairMove struct {
	Upper, Lower int
	// From and To are moments at which both voices sound.
	From, To int
	// UpperNotes and LowerNotes index the notes of the two sonorities.
	UpperNotes, LowerNotes [2]int32
	// Before and After lead from the lower voice up to the upper one.
	Before, After        theory.Interval
	UpperMove, LowerMove theory.Interval
	Motion               theory.Motion
	// PhraseEnd is set where a phrase ends between the two sonorities.
	PhraseEnd bool
	// doubles is set where one of the voices only doubles the other.
	doubles bool
	// stretch is what the rules about two voices ask of it.
	stretch PairMove
}

// maxComparisons is the most pairs of voices at moments that are compared: about
// thirty voices over an hour's score. Beyond it the texture is an orchestra, in
// which doubled lines are no fault, and the memory it would take has no bound.
const maxComparisons = 1 << 20

// Compared reports whether the voices of a texture are compared in pairs. Where
// they are not, the rules about two voices are silent, and an answer should say
// so.
func Compared(t *theory.Texture) bool {
	n := len(t.Voices)
	return n*(n-1)/2*len(t.Moments) <= maxComparisons
}

func (p *Passage) findPairs() {
	n := len(p.Voices)
	if !Compared(p.Texture) {
		return
	}
	p.pairs = make([]pairMove, 0, n*(n-1)/2*len(p.Moments)/2)
	for upper := 0; upper < n; upper++ {
		for lower := upper + 1; lower < n; lower++ {
			p.findPair(upper, lower)
		}
	}
}

func (p *Passage) findPair(upper, lower int) {
	from := -1
	p.Score.Work.Step(len(p.Moments) / 16)
	for to := range p.Moments {
		u1, l1 := p.cell(to, upper), p.cell(to, lower)
		if u1.note < 0 || l1.note < 0 {
			continue
		}
		if from >= 0 && !p.cutBetween(from, to) {
			u0, l0 := p.cell(from, upper), p.cell(from, lower)
			if p.struckTogether(to, upper, lower) && bothMove(u0, u1, l0, l1) && p.successive(upper, u0, u1, to) && p.successive(lower, l0, l1, to) {
				p.pairs = append(p.pairs, p.pairMove(from, to, upper, lower))
			}
		}
		from = to
	}
}

// pairMove reads the move of two voices that sound at both moments.
func (p *Passage) pairMove(from, to, upper, lower int) pairMove {
	u0, l0, u1, l1 := p.cell(from, upper), p.cell(from, lower), p.cell(to, upper), p.cell(to, lower)
	up, low := between(u0, u1), between(l0, l1)
	m := pairMove{
		Upper: upper, Lower: lower, From: from, To: to,
		UpperNotes: [2]int32{u0.note, u1.note}, LowerNotes: [2]int32{l0.note, l1.note},
		Before: between(l0, u0), After: between(l1, u1),
		UpperMove: up, LowerMove: low, Motion: theory.MotionOf(up, low),
		PhraseEnd: p.endsPhrase(from, to),
	}
	p.setStretch(&m)
	return m
}

// setStretch works out what the rules about two voices ask; what costs a look at the
// harmony only where a rule could.
func (p *Passage) setStretch(m *pairMove) {
	bass := len(p.Voices) - 1
	s := &m.stretch
	*s = PairMove{
		Before: DistanceOf(m.Before), After: DistanceOf(m.After), Motion: m.Motion,
		UpperLeaps: m.UpperMove.Number() > 2, LowerLeaps: m.LowerMove.Number() > 2,
		Outer: m.Upper == 0 && m.Lower == bass, Bass: m.Lower == bass, Joins: m.PhraseEnd,
	}
	uncrossed := m.Before.Semitones >= 0 && m.After.Semitones >= 0 // or else reported as a crossing
	s.Overlaps = m.Lower == m.Upper+1 && uncrossed && Overlap(m.Before, m.UpperMove, m.LowerMove)
	if s.After.isPerfect() || s.Overlaps {
		s.Revoiced = p.revoiced(m.From, m.To)
		s.Kept = p.onlyChangesRegister(m)
	}
	if s.Before == DiminishedFifthApart && s.After == PerfectFifthApart {
		s.FifthExcused = p.inTenths(m.Upper, bass, m) || p.isDiminishedSeventh(m.From)
	}
}

// bothMove goes by the ear: an enharmonic change of spelling is no move.
func bothMove(u0, u1, l0, l1 cell) bool {
	return u0.semitones != u1.semitones && l0.semitones != l1.semitones
}

// successive reports whether one note of a voice follows another with less than
// a beat of silence between.
func (p *Passage) successive(voice int, from, to cell, at int) bool {
	spans := p.spans[voice]
	return to.note == from.note+1 && !p.silent(spans[to.note].onset-spans[from.note].end, at)
}

// wider compares by letter names first, so that an augmented octave is wider
// than an octave.
func wider(i, limit theory.Interval) bool {
	i = i.Abs()
	return i.Steps > limit.Steps || (i.Steps == limit.Steps && i.Semitones > limit.Semitones)
}

func (p *Passage) struckTogether(m, a, b int) bool { return p.IsStruck(m, a) && p.IsStruck(m, b) }

// bassMove returns how the bass moves into a moment within a phrase, nil where
// that is not reported.
func (p *Passage) bassMove(m int) *theory.Interval {
	bass := len(p.Voices) - 1
	if m == 0 || m >= len(p.Moments) || p.phraseEnds[m-1] {
		return nil
	}
	a, b := p.cell(m-1, bass), p.cell(m, bass)
	if a.note < 0 || b.note < 0 {
		return nil
	}
	move := between(a, b)
	return &move
}
