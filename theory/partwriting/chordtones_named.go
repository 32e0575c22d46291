package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// Notes that disagree with a chord that somebody has named: in an analysis of
// their own, or by a label in the document. Where nobody has, all of these rules
// are silent.
var namedChordTones = []*Rule{
	{
		ID: "note-outside-chord", Family: ChordTones,
		Source: Source{"General formula for grading part-writing (Florida State University)", "", "a note foreign to the chord as it was named that no figure explains; a caution where a passing, neighbor or repeated note takes the chord tone's place for the whole chord; suspensions, anticipations and pedals in the bass are free"},
		Check:  (*Passage).notesOutside,
	},
	{
		ID: "inflection-not-as-named", Family: ChordTones,
		Source: Source{"General formula for grading part-writing (Florida State University)", "", "a member of the chord as it was named, without the accidental that the label asks for, while the right note sounds nowhere in the chord; chromatic passing notes between the beats are free"},
		Check:  (*Passage).otherInflections,
	},
	{
		ID: "inversion-not-as-named", Family: ChordTones,
		Source: Source{"General formula for grading part-writing (Florida State University)", "", "the bass has another member of the chord than the figures say, for as long as the chord lasts"},
		Check:  (*Passage).otherInversions,
	},
	{
		ID: "label-disagrees", Family: ChordTones,
		Source: Source{"common practice, no source", "", "the chord, the bass or the key that is labeled is not the one that the analysis hears in the notes alone; a remark where the labeled root does sound, since readings differ; silent where fewer than three voices sound, as under the melody of a lead sheet or over an unrealized bass"},
		Check:  (*Passage).labelsThatDisagree,
	},
}

func (p *Passage) otherInflections() []Finding {
	var found []Finding
	p.eachForeign(func(n *namedChord, m, v int) {
		ref := NoteRef{v, p.At(m, v)}
		member, ok := p.wrongInflection(n, m, v)
		if !ok {
			return
		}
		f := p.at(m, v)
		f.Notes = []NoteRef{ref}
		f.Args = []Arg{{"pitch", p.Note(ref).Pitch}, {"member", member}, {"chord", n.text}}
		found = append(found, f)
	})
	return found
}

// wrongInflection returns the member whose letter a foreign note has, if the member
// itself is heard nowhere in the chord and the note is more than a chromatic ornament.
func (p *Passage) wrongInflection(n *namedChord, m, v int) (theory.PitchClass, bool) {
	note := p.Sounding(m, v).Pitch.Class()
	if n.heard(p) < 2 {
		return theory.PitchClass{}, false // another chord altogether
	}
	for _, member := range n.members {
		if member.Step != note.Step || member == note {
			continue
		}
		if p.strength(m) == 0 && !p.fills(n, v) {
			return theory.PitchClass{}, false
		}
		for at := n.first; at < n.end; at++ {
			if p.countOf(at, member) > 0 {
				return theory.PitchClass{}, false
			}
		}
		return member, true
	}
	return theory.PitchClass{}, false
}

// heard counts the members of a chord that sound while it lasts.
func (n *namedChord) heard(p *Passage) int {
	heard := 0
	for _, member := range n.members {
		for m := n.first; m < n.end; m++ {
			if p.spellings[m].has(member) {
				heard++
				break
			}
		}
	}
	return heard
}

func (p *Passage) notesOutside() []Finding {
	var found []Finding
	p.eachForeign(func(n *namedChord, m, v int) {
		ref := NoteRef{v, p.At(m, v)}
		pitch := p.Note(ref).Pitch
		if _, misspelled := n.soundsLike(pitch.Class()); misspelled {
			return // reported as such
		}
		if _, other := p.wrongInflection(n, m, v); other {
			return // so is this
		}
		severity := Off
		switch class := p.Harmony.Notes[v][ref.Note].Class; class {
		case harmony.Suspension, harmony.Retardation, harmony.Anticipation:
			return
		case harmony.OtherNonchord:
			if p.decorated(ref) {
				return
			}
		default:
			if !p.fills(n, v) || (class == harmony.PedalTone && v == len(p.Voices)-1) {
				return
			}
			if class != harmony.ChordTone && class != harmony.Unread {
				severity = Caution
			}
		}
		f := p.at(m, v)
		f.Severity = severity
		f.Notes = []NoteRef{ref}
		f.Args = []Arg{{"pitch", pitch}, {"chord", n.text}}
		found = append(found, f)
	})
	return found
}

// decorated reports whether a note is struck again from before and goes down by
// step after one more note: a suspension with an ornament.
func (p *Passage) decorated(r NoteRef) bool {
	notes := p.Voices[r.Voice].Notes
	if r.Note == 0 || r.Note+2 >= len(notes) || notes[r.Note-1].Pitch != notes[r.Note].Pitch {
		return false
	}
	return theory.Between(notes[r.Note].Pitch, notes[r.Note+2].Pitch).Steps == -1
}

// fills reports whether a voice has nothing but one note for the whole of a chord
// that lasts a beat or more: that note stands for a chord tone.
func (p *Passage) fills(n *namedChord, v int) bool {
	for m := n.first; m < n.end; m++ {
		if p.At(m, v) != p.At(n.first, v) {
			return false
		}
	}
	end := p.Score.End()
	if n.end < len(p.Moments) {
		end = p.Moments[n.end].Onset
	}
	beat := p.Score.Measures[p.Moments[n.first].Measure].Time.Beat()
	return !end.Sub(p.Moments[n.first].Onset).Less(beat)
}

func (p *Passage) otherInversions() []Finding {
	var found []Finding
	chords := p.namedChords()
	for i := range chords {
		n := &chords[i]
		if f, other := p.otherInversion(n); n.hasBass && other {
			found = append(found, f)
		}
	}
	return found
}

// otherInversion looks at the bass and at whatever sounds lowest, where another
// voice has crossed below it.
func (p *Passage) otherInversion(n *namedChord) (Finding, bool) {
	bass := len(p.Voices) - 1
	at := -1
	for m := n.first; m < n.end; m++ {
		if p.sounding(m) < 3 {
			return Finding{}, false // too thin to have an inversion
		}
		for _, v := range [2]int{bass, p.lowestAt(m)} {
			note := p.Sounding(m, v)
			if note == nil {
				continue
			}
			switch c := note.Pitch.Class(); {
			case c == n.bass:
				return Finding{}, false
			case at < 0 && v == bass && n.set.has(c):
				at = m
			}
		}
	}
	if at < 0 {
		return Finding{}, false // foreign to the chord, and reported as such
	}
	f := p.at(at, bass)
	f.Notes = []NoteRef{{bass, p.At(at, bass)}}
	f.Args = []Arg{{"chord", n.text}, {"pitch", p.Note(f.Notes[0]).Pitch}, {"bass", n.bass}}
	return f, true
}

// lowestAt returns the voice that sounds lowest at a moment.
func (p *Passage) lowestAt(m int) int {
	lowest := len(p.Voices) - 1
	for v := range p.Voices {
		c := p.cell(m, v)
		if low := p.cell(m, lowest); c.note >= 0 && (low.note < 0 || c.semitones < low.semitones) {
			lowest = v
		}
	}
	return lowest
}

func (p *Passage) labelsThatDisagree() []Finding {
	if p.Harmony == nil {
		return nil
	}
	var found []Finding
	for i := range p.Harmony.Contested {
		c := &p.Harmony.Contested[i]
		if c.Heard == nil || p.sounding(c.Moment) < fewestForChord {
			continue
		}
		f := p.at(c.Moment)
		for v := range p.Voices {
			if n := p.At(c.Moment, v); n >= 0 {
				f.Voices = append(f.Voices, v)
				f.Notes = append(f.Notes, NoteRef{v, n})
			}
		}
		if c.RootSounds {
			f.Severity = Remark
		}
		f.Args = []Arg{{"label", c.Annotation.String()}, {"heard", c.Heard.String() + " (" + c.Heard.Symbol() + ")"}}
		found = append(found, f)
	}
	return found
}
