package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Where voices stand to one another: crossing, overlap, unison.
var placements = []*Rule{
	{
		ID: "voice-crossing", Family: Placement,
		Source: Source{"Butterfield, Integrated Music Theory", "unit 10a", "a fault with soprano or bass; a caution between inner voices, and where only a nonchord tone makes it, for a beat at most (common practice); a unison is no crossing"},
		Check:  (*Passage).crossings,
	},
	{
		ID: "voice-overlap", Family: Placement,
		Source: Source{"Open Music Theory v1", "species counterpoint", "not where the harmony is only re-voiced, nor between phrases; moving onto the note just left is no overlap"},
		Check:  inTwoVoices("voice-overlap", (*Passage).nameOverlap),
	},
	{
		ID: "unison", Family: Placement,
		Source: Source{"Huron, Tone and Voice, Music Perception 19 (2001)", "", "two neighboring voices on one pitch for more than a beat, or more than twice in a phrase; free between the lowest two and at a cadence"},
		Check:  (*Passage).unisonsOfNeighbors,
	},
}

func (p *Passage) crossings() []Finding {
	var found []Finding
	for m := range p.Moments {
		upper := -1
		for lower := range p.Voices {
			if p.cell(m, lower).note < 0 {
				continue
			}
			if upper >= 0 && p.crossed(m, upper, lower) && !p.goesOn(m, upper, lower, p.crossed) {
				found = append(found, p.crossing(m, upper, lower))
			}
			upper = lower
		}
	}
	return found
}

// crossing reports a crossing of neighbors, with the voices further up that the
// lower one has passed as well.
func (p *Passage) crossing(m, upper, lower int) Finding {
	f := p.atDyad(m, upper, lower)
	outer := upper == 0 || lower == len(p.Voices)-1
	for v := 0; v < upper; v++ {
		if p.cell(m, v).note >= 0 && p.crossed(m, v, lower) {
			f.Related = append(f.Related, NoteRef{v, p.At(m, v)})
			outer = outer || v == 0
		}
	}
	if !outer || p.fleeting(m, upper, lower, p.crossed) {
		f.Severity = Caution
	}
	return f
}

// fleeting reports whether a relation of two voices is there for no longer than a
// beat and only while one of them has a nonchord tone, or for less than half a
// beat between the beats: no chord is voiced so, one voice only brushes past.
// Without a reading of the harmony nothing is.
func (p *Passage) fleeting(m, upper, lower int, relation func(m, upper, lower int) bool) bool {
	if p.Harmony == nil {
		return false
	}
	voiced := false
	end := m
	for ; end < len(p.Moments) && relation(end, upper, lower); end++ {
		voiced = voiced || !(p.embellishes(end, upper) || p.embellishes(end, lower))
	}
	if !voiced {
		return !p.longerThanBeat(m, end)
	}
	half := p.Score.Measures[p.Moments[m].Measure].Time.Beat().Div(theory.Whole(2))
	return p.strength(m) == 0 && end < len(p.Moments) && p.Moments[end].Onset.Sub(p.Moments[m].Onset).Less(half)
}

// embellishes reports whether what a voice sounds at a moment is foreign to the
// harmony and has the name of a figure: what no figure explains is a wrong note.
func (p *Passage) embellishes(m, v int) bool {
	h, n := p.chordAt(m), p.At(m, v)
	if h == nil || n < 0 || h.set.has(p.Voices[v].Notes[n].Pitch.Class()) {
		return false
	}
	class := p.Harmony.Notes[v][n].Class
	return class != harmony.ChordTone && class != harmony.OtherNonchord && class != harmony.Unread
}

func (p *Passage) crossed(m, upper, lower int) bool {
	i, both := p.dyad(m, upper, lower)
	return both && i.Semitones < 0
}

// goesOn reports whether a relation of two voices at moment m only continues
// what was there a moment before: at least one of them holds or repeats its
// note.
func (p *Passage) goesOn(m, upper, lower int, relation func(m, upper, lower int) bool) bool {
	if m == 0 || !relation(m-1, upper, lower) {
		return false
	}
	u0, u1 := p.cell(m-1, upper), p.cell(m, upper)
	l0, l1 := p.cell(m-1, lower), p.cell(m, lower)
	return u0.note == u1.note || l0.note == l1.note || (u0.steps == u1.steps && u0.semitones == u1.semitones && l0.steps == l1.steps && l0.semitones == l1.semitones)
}

// nameOverlap says which voice passes which; between phrases none does.
func (p *Passage) nameOverlap(m *pairMove, f *Finding) bool {
	mover, passed, left, to := m.Lower, m.Upper, f.Notes[0], f.Notes[3]
	if -m.UpperMove.Semitones > m.Before.Semitones {
		mover, passed, left, to = m.Upper, m.Lower, f.Notes[1], f.Notes[2]
	}
	f.Args = []Arg{
		{"voice", VoiceName(p.Voices[mover].Name)}, {"to", p.Note(to).Pitch},
		{"neighbor", VoiceName(p.Voices[passed].Name)}, {"left", p.Note(left).Pitch},
	}
	return !m.PhraseEnd
}

func (p *Passage) unisonsOfNeighbors() []Finding {
	var found []Finding
	for upper := 0; upper+2 < len(p.Voices); upper++ {
		count, phrase := 0, -1
		for m := range p.Moments {
			if now := p.Phrase(m); now != phrase {
				count, phrase = 0, now
			}
			if !p.inUnison(m, upper) || (m > 0 && p.inUnison(m-1, upper)) {
				continue
			}
			count++
			if end := p.unisonEnd(m, upper); (count == 3 || p.longerThanBeat(m, end)) && !p.isCadence(m) {
				found = append(found, p.atDyad(m, upper, upper+1))
			}
		}
	}
	return found
}

func (p *Passage) inUnison(m, upper int) bool {
	i, both := p.dyad(m, upper, upper+1)
	return both && i == theory.Unison
}

// unisonEnd returns the first moment after m at which the unison is over.
func (p *Passage) unisonEnd(m, upper int) int {
	for m < len(p.Moments) && p.inUnison(m, upper) {
		m++
	}
	return m
}
