package partwriting

import (
	"partwright/theory"
	"partwright/theory/harmony"
)

// eachHarmony visits the harmonies whose reading is safe enough to build a
// judgement on; without an analysis there are none.
func (p *Passage) eachHarmony(visit func(i int, h *chord)) {
	if p.Harmony == nil {
		return
	}
	for i := range p.chords {
		p.Score.Work.Step(1)
		if p.near != nil && !p.near[i] {
			continue
		}
		if h := &p.chords[i]; p.trusted(h) {
			visit(i, h)
		}
	}
}

// trusted reports whether a reading is likely enough; in doubt a rule is silent.
// A confidence of exactly 0 means that nobody estimated it: a reading that was
// given. A chord in which nothing is struck cannot be judged at all, and where too
// little sounds there is none, unless somebody has named it.
func (p *Passage) trusted(h *chord) bool {
	return h.FirstMoment < h.EndMoment && (named(h) || h.sounds && (h.Confidence == 0 || h.Confidence >= p.Limits.MinConfidence))
}

// mostOnOneRoot is how many harmonies on one root are looked at together. Music has
// a few; labels may repeat one without end.
const mostOnOneRoot = 64

// following returns the next harmony in the same phrase that has another root,
// nil where there is none or its reading is not safe.
func (p *Passage) following(i int) *chord {
	all := p.chords[:min(len(p.chords), i+mostOnOneRoot)]
	for j := i + 1; j < len(all); j++ {
		if p.endsPhrase(all[j-1].FirstMoment, all[j].FirstMoment) {
			return nil
		}
		if all[j].Root() != all[i].Root() {
			if !p.trusted(&all[j]) {
				return nil
			}
			return &all[j]
		}
	}
	return nil
}

// succeeding returns the harmony after one, nil where there is none or no note
// is struck in it, as where a label stands past the last note.
func (p *Passage) succeeding(i int) *chord {
	if i+1 >= len(p.chords) || p.chords[i+1].FirstMoment >= p.chords[i+1].EndMoment {
		return nil
	}
	return &p.chords[i+1]
}

// preceding returns the harmony before in the same phrase, nil at its start.
func (p *Passage) preceding(i int) *chord {
	all := p.chords
	if i == 0 || p.endsPhrase(all[i-1].FirstMoment, all[i].FirstMoment) {
		return nil
	}
	return &all[i-1]
}

// chordTone reports whether a note belongs to its harmony.
func (p *Passage) chordTone(r NoteRef) bool {
	if p.reheard {
		if h := p.chordAt(p.momentOf(r)); h != nil && h.set.has(p.Note(r).Pitch.Class()) {
			return true
		}
	}
	switch p.Harmony.Notes[r.Voice][r.Note].Class {
	case harmony.ChordTone, harmony.Unread:
		return true
	}
	return false
}

// holding returns the notes that sound a pitch class at a moment as members of
// the harmony, from the top.
func (p *Passage) holding(m int, c theory.PitchClass) []NoteRef {
	var notes []NoteRef
	for v := range p.Voices {
		n := p.At(m, v)
		if n >= 0 && p.Voices[v].Notes[n].Pitch.Class() == c && p.chordTone(NoteRef{v, n}) {
			notes = append(notes, NoteRef{v, n})
		}
	}
	return notes
}

// plain reports whether a moment shows a harmony as it is: on a beat, with no
// note that is foreign to the chord. Doublings are judged there; what passing
// notes touch between the beats is no doubling.
func (p *Passage) plain(m int, h *chord) bool {
	return p.strength(m) > 0 && p.spellings[m]&^h.set == 0
}

// countOf returns how many voices sound a pitch class at a moment.
func (p *Passage) countOf(m int, c theory.PitchClass) int {
	count := 0
	for v := range p.Voices {
		if n := p.At(m, v); n >= 0 && p.Voices[v].Notes[n].Pitch.Class() == c {
			count++
		}
	}
	return count
}

// bassHas reports whether the lowest voice by name sounds a pitch class: where
// another voice has crossed below it, there is no inversion to judge.
func (p *Passage) bassHas(m int, c theory.PitchClass) bool {
	note := p.Sounding(m, len(p.Voices)-1)
	return note != nil && note.Pitch.Class() == c
}

// soundsIn reports whether a chord member is heard anywhere in a harmony, in any
// inflection: a raised third is a third.
func (p *Passage) soundsIn(h *chord, c theory.PitchClass) bool {
	return p.soundsBetween(h.FirstMoment, h.EndMoment, c)
}

func (p *Passage) soundsBetween(first, end int, c theory.PitchClass) bool {
	for m := first; m < end; m++ {
		p.Score.Work.Step(1)
		for v := range p.Voices {
			if note := p.Sounding(m, v); note != nil && note.Pitch.Step == c.Step {
				return true
			}
		}
		for v := len(p.Voices); v < len(p.divided.Voices); v++ {
			if note := p.divided.Sounding(m, v); note != nil && note.Pitch.Step == c.Step {
				return true
			}
		}
	}
	return false
}

// makesChord reports whether enough sounds in a harmony to speak of a chord: three
// voices at once, the second notes of divided parts among them, with two members of
// a triad, or three of anything else. Octaves, single notes and bare dyads are none.
func (p *Passage) makesChord(h *chord) bool {
	least := 3
	if isMajorOrMinor(h.quality) {
		least = 2
	}
	heard, most := pitchClasses(0), 0
	for m := h.FirstMoment; m < h.EndMoment; m++ {
		voices := 0
		for v := range p.divided.Voices {
			note := p.divided.Sounding(m, v)
			if note == nil {
				continue
			}
			voices++
			if class := note.Pitch.Class(); h.set.has(class) {
				heard = heard.with(class)
			}
		}
		most = max(most, voices)
	}
	return most >= fewestForChord && heard.size() >= least
}

// sounding returns how many voices sound at a moment.
func (p *Passage) sounding(m int) int {
	count := 0
	for v := range p.Voices {
		if p.cell(m, v).note >= 0 {
			count++
		}
	}
	return count
}

// atNotes starts a finding about notes that sound at a moment, from the top.
func (p *Passage) atNotes(m int, notes []NoteRef) Finding {
	f := p.at(m)
	f.Notes = notes
	for _, r := range notes {
		f.Voices = append(f.Voices, r.Voice)
	}
	return f
}

// allAt returns every note that sounds at a moment, from the top.
func (p *Passage) allAt(m int) []NoteRef {
	var notes []NoteRef
	for v := range p.Voices {
		if n := p.At(m, v); n >= 0 {
			notes = append(notes, NoteRef{v, n})
		}
	}
	return notes
}

// atNamed starts a finding about a whole chord that is a caution where the chord
// is only our reading.
func (p *Passage) atNamed(m int, h *chord) Finding {
	f := p.atChord(m, h)
	if !named(h) {
		f.Severity = Caution
	}
	return f
}

// atChord starts a finding about a whole chord, named by its numeral.
func (p *Passage) atChord(m int, h *chord) Finding {
	f := p.at(m)
	f.Notes = p.allAt(m)
	for _, r := range f.Notes {
		f.Voices = append(f.Voices, r.Voice)
	}
	f.Args = []Arg{{"chord", h.Numeral.Text(h.Key.Mode)}, {"key", h.Key}}
	return f
}

// soundsWhileRootLasts looks at the neighbors on the same root as well: a third
// that is suspended may come with the seventh. A neighbor that is known to have another note
// in its place, as V7/iv beside i, does not count.
func (p *Passage) soundsWhileRootLasts(i int, c theory.PitchClass) bool {
	all := p.chords
	first, last := i, i
	for first > max(0, i-mostOnOneRoot) && all[first-1].Root() == all[i].Root() {
		first--
	}
	for last+1 < min(len(all), i+mostOnOneRoot) && all[last+1].Root() == all[i].Root() {
		last++
	}
	for j := first; j <= last; j++ {
		other := j != i && named(&all[i]) && named(&all[j]) && all[i].set.has(c) && !all[j].set.has(c)
		if !other && p.soundsIn(&all[j], c) {
			return true
		}
	}
	return false
}

// sameHarmony reports whether the harmony stays from one moment to another: by
// the analysis if there is one, else if one of the two sonorities holds nothing
// that the other lacks. Two notes are too few to tell.
func (p *Passage) sameHarmony(a, b int) bool {
	if p.Harmony != nil {
		i, j := p.Harmony.IndexAt(a), p.Harmony.IndexAt(b)
		if i >= 0 && j >= 0 {
			return i == j
		}
	}
	x, y := p.spellings[a], p.spellings[b]
	if x == y {
		return true
	}
	return x.size() > 2 && y.size() > 2 && (x&^y == 0 || y&^x == 0)
}

// revoiced reports whether a harmony only changes its position between two
// moments of one phrase: it stays, or see [Revoiced].
func (p *Passage) revoiced(a, b int) bool {
	if p.sameHarmony(a, b) {
		return true
	}
	before, after := p.chordAt(a), p.chordAt(b)
	return before != nil && after != nil && Revoiced(&before.Chord, &after.Chord) && !p.endsPhrase(a, b)
}
