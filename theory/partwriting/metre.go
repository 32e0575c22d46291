package partwriting

// strength returns how strong a moment is in its measure, 3 for the downbeat.
func (p *Passage) strength(m int) int {
	measure := &p.Score.Measures[p.Moments[m].Measure]
	return measure.Time.Strength(p.Moments[m].Offset.Add(measure.Into))
}

// findBeats lists the moments that fall on a beat of the metre.
func (p *Passage) findBeats() {
	for m := range p.Moments {
		measure := &p.Score.Measures[p.Moments[m].Measure]
		if p.Moments[m].Offset.Add(measure.Into).Div(measure.Time.Beat()).Den() == 1 {
			p.beats = append(p.beats, int32(m))
		}
	}
}

// nextBeat reports whether two moments on beats are one beat apart.
func (p *Passage) nextBeat(from, to int) bool {
	beat := p.Score.Measures[p.Moments[from].Measure].Time.Beat()
	return p.Moments[from].Onset.Add(beat) == p.Moments[to].Onset
}

func (p *Passage) shorterThanBeat(h *chord) bool {
	return h.End.Sub(h.Onset).Less(p.Score.Measures[h.Measure].Time.Beat())
}

func (p *Passage) longerThanBeat(from, to int) bool {
	end := p.Score.End()
	if to < len(p.Moments) {
		end = p.Moments[to].Onset
	}
	beat := p.Score.Measures[p.Moments[from].Measure].Time.Beat()
	return beat.Less(end.Sub(p.Moments[from].Onset))
}
