package partwriting

import "partwright/theory"

// Notes that sound right and are written as another letter.
var misspellings = []*Rule{
	{
		ID: "leading-tone-misspelled", Family: Spelling, Severity: Fault,
		Source: Source{"Listening Arts, Voice-leading key for 4-part harmony", "", "a semitone below the tonic it rises to, over the fifth degree, written as the lowered tonic; where the chords were named it is told as a misspelled member"},
		Check:  (*Passage).misspelledLeads,
	},
}

func (p *Passage) misspelledLeads() []Finding {
	if p.Harmony == nil {
		return nil
	}
	var found []Finding
	for v := range p.lines {
		for i := range p.lines[v] {
			move := &p.lines[v][i]
			if move.PhraseEnd || move.Interval.Steps != 0 || move.Interval.Semitones != 1 {
				continue
			}
			h, before := p.chordAt(move.Moment), p.chordAt(move.Moment-1)
			to := p.Voices[v].Notes[move.To].Pitch.Class()
			if h == nil || !p.trusted(h) || !h.Numeral.IsTonic() || h.Key.Tonic != to || (before != nil && named(before)) {
				continue
			}
			if p.countOf(move.Moment-1, h.Key.Tonic.Transpose(theory.PerfectFifth)) == 0 {
				continue
			}
			f := p.atMove(move)
			f.Args = []Arg{{"note", p.Note(f.Notes[0]).Pitch}, {"right", h.Key.LeadingTone()}, {"key", h.Key}}
			found = append(found, f)
		}
	}
	return found
}
