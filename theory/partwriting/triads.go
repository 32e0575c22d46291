package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Doubling in triads, by inversion and quality.

func isMajorOrMinor(q harmony.Quality) bool {
	return q == harmony.MajorTriad || q == harmony.MinorTriad
}

func (p *Passage) doubledThirds() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		m := h.FirstMoment
		third := h.Member(1)
		if !isMajorOrMinor(h.Quality()) || h.Inversion() != 0 || p.sounding(m) < 4 || !p.plain(m, h) || p.countOf(m, third) < 2 {
			return
		}
		if lead, ok := h.LeadingTone(); (ok && lead == third) || altered(h.Key, third) {
			return // told as such
		}
		if before := p.preceding(i); before != nil && before.Numeral.IsDominant() {
			return // the leading tone and its neighbors lead there
		}
		switch degree, _ := h.Key.Degree(third); degree {
		case 1, 4, 5:
			return
		}
		if notes := p.holding(m, third); len(notes) > 1 {
			f := p.atNotes(m, notes)
			f.Args = []Arg{{"note", third}, {"chord", h.Numeral.Text(h.Key.Mode)}}
			found = append(found, f)
		}
	})
	return found
}

func (p *Passage) doubledBasses() []Finding {
	var found []Finding
	p.eachHarmony(func(i int, h *chord) {
		m := h.FirstMoment
		bass := h.Member(1)
		if !isMajorOrMinor(h.Quality()) || h.Inversion() != 1 || p.sounding(m) < 4 || !p.plain(m, h) || p.countOf(m, bass) < 2 {
			return
		}
		if lead, ok := h.LeadingTone(); (ok && lead == bass) || altered(h.Key, bass) {
			return
		}
		switch degree, _ := h.Key.Degree(bass); degree {
		case 1, 2, 4, 5:
			return
		}
		if p.besideSix(i) || p.againstBass(m, bass) || (m > 0 && p.revoiced(m-1, m)) {
			return
		}
		if notes := p.holding(m, bass); len(notes) > 1 {
			f := p.atNotes(m, notes)
			f.Args = []Arg{{"note", bass}, {"chord", h.Numeral.Text(h.Key.Mode)}}
			found = append(found, f)
		}
	})
	return found
}

// besideSix reports whether a neighboring harmony is a six-three as well: in
// chains the doubling alternates.
func (p *Passage) besideSix(i int) bool {
	all := p.chords
	six := func(j int) bool { return j >= 0 && j < len(all) && all[j].Inversion() == 1 && all[j].Size() == 3 }
	return six(i-1) || six(i+1)
}

// againstBass reports whether a voice other than the bass reaches a pitch class
// at a moment while the bass moves the other way.
func (p *Passage) againstBass(m int, c theory.PitchClass) bool {
	if m == 0 {
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
		if !isMajorOrMinor(h.Quality()) || h.Inversion() != 2 || p.sounding(m) != 4 || p.countOf(m, h.Member(2)) > 1 {
			return
		}
		if !p.plain(m, h) || !p.bassHas(m, h.Bass()) || p.spelling(m).size() != 3 {
			return
		}
		kind := p.sixFourAt(i)
		if kind == passingSixFour || p.endsPhrase(max(m-1, 0), m) {
			return
		}
		f := p.atChord(m, h)
		if kind != cadentialSixFour || p.betweenDominants(i) {
			f.Severity = Caution
		}
		found = append(found, f)
	})
	return found
}

func (p *Passage) diminishedDoublings() []Finding {
	var found []Finding
	p.eachHarmony(func(_ int, h *chord) {
		m := h.FirstMoment
		if h.Quality() != harmony.DiminishedTriad || p.sounding(m) < 4 || !p.plain(m, h) || p.countOf(m, h.Member(1)) > 1 {
			return
		}
		lead, dominant := h.LeadingTone()
		for _, c := range []theory.PitchClass{h.Member(0), h.Member(2)} {
			if p.countOf(m, c) < 2 || (dominant && c == lead) {
				continue
			}
			notes := p.holding(m, c)
			if len(notes) < 2 || (c == h.Member(2) && p.oneRises(notes)) {
				continue
			}
			f := p.atNotes(m, notes)
			f.Args = []Arg{{"note", c}, {"chord", h.Numeral.Text(h.Key.Mode)}}
			found = append(found, f)
		}
	})
	return found
}

// oneRises reports whether one of the notes goes up by step.
func (p *Passage) oneRises(notes []NoteRef) bool {
	for _, r := range notes {
		if line := p.Voices[r.Voice].Notes; r.Note+1 < len(line) {
			i := theory.Between(line[r.Note].Pitch, line[r.Note+1].Pitch)
			if i.Steps == 1 {
				return true
			}
		}
	}
	return false
}
