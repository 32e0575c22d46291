package partwriting

import "partwright/theory"

// The melody of one voice: its intervals, and what follows a leap.
var lines = []*Rule{
	{
		ID: "augmented-second", Family: Line,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "fig. 26.7.4", "not inside one diminished seventh chord"},
		Check:  inOneVoice("augmented-second"),
	},
	{
		ID: "augmented-interval", Family: Line,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.7", "augmented fourths, fifths, sixths; not while the root stays, nor in the bass of a sequence by fifths"},
		Check:  inOneVoice("augmented-interval"),
	},
	{
		ID: "diminished-interval", Family: Line,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.7", "diminished fourth, fifth or seventh, unless a step back inside it follows; not into the last chord of a phrase, after which nothing can follow; where all other voices hold that chord already, it is left hanging"},
		Check:  inOneVoice("diminished-interval"),
	},
	{
		ID: "leap-of-seventh", Family: Line,
		Source: Source{"Kelley, Grading notations for part-writing assignments", "line", "a seventh; a minor one is free inside one harmony, V and V7 included"},
		Check:  inOneVoice("leap-of-seventh"),
	},
	{
		ID: "leap-over-octave", Family: Line,
		Source: Source{"Collaros, Partwriting conventions and definitions", "", "an octave itself is fine"},
		Check:  inOneVoice("leap-over-octave"),
	},
	{
		ID: "unrecovered-leap", Family: Line,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.7", "a leap larger than a fourth that does not turn back; not into a cadence, inside one harmony, or by fifth and octave in the bass"},
		Check:  (*Passage).unrecoveredLeaps,
	},
	{
		ID: "successive-leaps", Family: Line,
		Source: Source{"Hutchinson, Music Theory for the 21st-Century Classroom", "section 26.7", "two leaps the same way, unless the notes spell a triad or seventh chord (Wieland)"},
		Check:  (*Passage).successiveLeaps,
	},
	{
		ID: "leap-after-leap", Family: Line,
		Source: Source{"Wieland, Part-writing tips (Northern State University)", "", "three leaps of a fourth or more in a row in a voice above the bass, unless the notes spell a triad or seventh chord; two the same way are reported as such"},
		Check:  (*Passage).leapsInARow,
	},
	{
		ID: "climax-repeated", Family: Line,
		Source: Source{"Open Music Theory v1", "composing a cantus firmus", "the highest note of a line comes once"},
		Check:  (*Passage).repeatedClimaxes,
	},
}

func augmented(i theory.Interval) bool {
	q := i.Quality()
	return q == theory.Augmented || q == theory.DoublyAugmented
}

// insideDiminishedSeventh reports whether all that sounds around a move belongs
// to one diminished seventh chord, whose arpeggio contains the interval.
func (p *Passage) insideDiminishedSeventh(m *melodicMove) bool {
	return insideDiminished(p.spelling(m.Moment-1) | p.spelling(m.Moment))
}

// inBassSequence reports whether a move of the bass stands between a fourth or
// fifth on either side, all in alternating directions: roots that fall by fifths.
func (p *Passage) inBassSequence(m *melodicMove) bool {
	if m.Voice != len(p.Voices)-1 || m.Interval.Number() != 4 {
		return false
	}
	notes := p.Voices[m.Voice].Notes
	if m.From == 0 || m.To+1 >= len(notes) {
		return false
	}
	before := theory.Between(notes[m.From-1].Pitch, notes[m.From].Pitch)
	after := theory.Between(notes[m.To].Pitch, notes[m.To+1].Pitch)
	return isRootLeap(before) && isRootLeap(after) && turnsBack(before, m.Interval) && turnsBack(m.Interval, after)
}

func isRootLeap(i theory.Interval) bool { return i.Number() == 4 || i.Number() == 5 }

// next returns the move that follows in the same phrase once repeated notes are
// skipped, nil where there is none.
func (p *Passage) next(voice, i int) *melodicMove {
	line := p.lines[voice]
	for j := i + 1; j < len(line) && line[j].From == line[j-1].To && !line[j].PhraseEnd; j++ {
		if line[j].Interval != theory.Unison {
			return &line[j]
		}
	}
	return nil
}

func turnsBack(a, b theory.Interval) bool { return a.Descends() != b.Descends() }

func (p *Passage) unrecoveredLeaps() []Finding {
	bass := len(p.Voices) - 1
	limit := p.Limits.LeapRecovery
	return p.leapsBefore(func(m, next *melodicMove) bool {
		if next == nil || m.Interval.Number() <= limit.Number() || wider(m.Interval, theory.PerfectOctave) {
			return false
		}
		if turnsBack(m.Interval, next.Interval) || p.isCadence(m.Moment) {
			return false
		}
		if m.Voice == bass && (m.Interval.IsPerfectFifth() || m.Interval.IsPerfectOctave()) {
			return false // roots of harmonies
		}
		return true
	})
}

// leapsBefore reports leaps within a phrase, where the harmony changes, that
// match together with the move that follows, nil at the end of a phrase.
func (p *Passage) leapsBefore(match func(m, next *melodicMove) bool) []Finding {
	var found []Finding
	for v := range p.lines {
		for i := range p.lines[v] {
			m := &p.lines[v][i]
			if m.PhraseEnd || !m.isLeap() {
				continue
			}
			if !match(m, p.next(v, i)) || p.revoiced(m.Moment-1, m.Moment) {
				continue
			}
			found = append(found, p.atMove(m))
		}
	}
	return found
}

func (p *Passage) successiveLeaps() []Finding {
	bass := len(p.Voices) - 1
	var found []Finding
	for v := range p.lines {
		if v == bass {
			continue // arpeggios are the bass's own
		}
		line := p.lines[v]
		for i := 0; i+1 < len(line); i++ {
			a, b := &line[i], &line[i+1]
			if a.PhraseEnd || b.PhraseEnd || b.From != a.To || !a.isLeap() || !b.isLeap() || turnsBack(a.Interval, b.Interval) {
				continue
			}
			if p.spellChord(v, a.From, b.To) {
				continue
			}
			f := p.atMove(b)
			f.Notes = []NoteRef{{v, a.From}, {v, a.To}, {v, b.To}}
			f.Args = []Arg{{"first", p.Note(f.Notes[0]).Pitch}, {"second", p.Note(f.Notes[1]).Pitch}, {"third", p.Note(f.Notes[2]).Pitch}}
			found = append(found, f)
		}
	}
	return found
}

func (m *melodicMove) isWideLeap() bool { return m.Interval.Number() > 3 }

func (p *Passage) leapsInARow() []Finding {
	var found []Finding
	for v := 0; v < len(p.Voices)-1; v++ {
		line := p.lines[v]
		for i := 0; i+2 < len(line); i++ {
			a, b, c := &line[i], &line[i+1], &line[i+2]
			if a.PhraseEnd || b.PhraseEnd || c.PhraseEnd || b.From != a.To || c.From != b.To || !a.isWideLeap() || !b.isWideLeap() || !c.isWideLeap() {
				continue
			}
			if !turnsBack(a.Interval, b.Interval) || !turnsBack(b.Interval, c.Interval) || p.spellChord(v, a.From, c.To) {
				continue
			}
			f := p.atMove(c)
			f.Notes = []NoteRef{{v, a.From}, {v, a.To}, {v, b.To}, {v, c.To}}
			f.Args = []Arg{{"from", p.Note(f.Notes[0]).Pitch}, {"to", p.Note(f.Notes[3]).Pitch}}
			found = append(found, f)
			i += 2
		}
	}
	return found
}

// spellChord reports whether the notes of a voice from one to another belong to
// one triad or seventh chord.
func (p *Passage) spellChord(voice, from, to int) bool {
	var set pitchClasses
	for i := from; i <= to; i++ {
		set = set.with(p.Voices[voice].Notes[i].Pitch.Class())
	}
	return set.isPartOfChord()
}

func (p *Passage) repeatedClimaxes() []Finding {
	var found []Finding
	for v := range p.Voices {
		notes := p.Voices[v].Notes
		top := -1
		var again []NoteRef
		for n := range notes {
			switch {
			case top < 0 || notes[n].Pitch.Above(notes[top].Pitch):
				top, again = n, nil
			case notes[n].Pitch == notes[top].Pitch && n > 0 && notes[n-1].Pitch != notes[n].Pitch:
				again = append(again, NoteRef{v, n})
			}
		}
		if len(again) == 0 {
			continue
		}
		f := p.at(p.momentOf(again[0]), v)
		f.Notes = append([]NoteRef{{v, top}}, again...)
		f.Args = []Arg{{"pitch", notes[top].Pitch}}
		found = append(found, f)
	}
	return found
}
