package voicing

import (
	"partwright/theory"
	"partwright/theory/partwriting"
)

// What a change of notes is worth, in semitones: how far it goes, and what it does to
// the line. The order of a teacher's remedies (keep the common tone, go against the
// bass, resolve what must resolve) is that of Open Music Theory v1, keyboard-style
// voice-leading; the numbers are common practice, no source.
const (
	awkwardInLine   = 5
	resolvesInLine  = -4
	againstTheBass  = -1
	otherBassMember = 6
)

// effort is what changes in a window ask of the singers and of the reader: the
// semitones that the notes are moved, and how much rougher the lines become, which is
// less than nothing where they become smoother.
func (m *mender) effort(changed *theory.Texture, w *window, changes []change) int {
	sum := 0
	for _, c := range changes {
		written := m.original.Voices[c.ref.Voice].Notes[c.ref.Note+w.first[c.ref.Voice]].Pitch
		sum += abs(c.to.Semitones() - written.Semitones())
		sum += w.line(changed, c.ref) - w.line(w.texture, c.ref)
		if c.ref.Voice == len(w.texture.Voices)-1 && c.to.Class() != w.texture.Voices[c.ref.Voice].Notes[c.ref.Note].Pitch.Class() {
			sum += otherBassMember
		}
	}
	return sum
}

// line is how rough a line is on both sides of one of its notes.
func (w *window) line(t *theory.Texture, ref partwriting.NoteRef) int {
	notes := t.Voices[ref.Voice].Notes
	sum := 0
	if n := ref.Note; n > 0 {
		sum += w.step(t, ref.Voice, n-1)
	}
	if ref.Note+1 < len(notes) {
		sum += w.step(t, ref.Voice, ref.Note)
	}
	return sum
}

// step is how rough a voice goes from one note to the next: a common tone costs
// nothing, a step little, a leap its semitones. What a seventh or a leading tone asks
// for counts in its favor.
func (w *window) step(t *theory.Texture, voice, n int) int {
	notes := t.Voices[voice].Notes
	from, to := &notes[n], &notes[n+1]
	move := theory.Between(from.Pitch, to.Pitch)
	cost := abs(move.Semitones)
	if move.IsStep() {
		cost = 1
	}
	if q := move.Quality(); q >= theory.Augmented || q <= theory.Diminished && move.Steps != 0 || abs(move.Steps) >= 6 && !move.IsPerfectOctave() {
		cost += awkwardInLine
	}
	bass := len(t.Voices) - 1
	if voice == bass {
		return cost
	}
	if b := w.bassMove(t, to.Onset); b*move.Semitones < 0 {
		cost += againstTheBass
	}
	h, next := w.harmonyAt(from.Onset), w.harmonyAt(to.Onset)
	if h == nil || next == nil || h.Root() == next.Root() {
		return cost
	}
	if seventh, ok := h.Seventh(); ok && from.Pitch.Class() == seventh && move.Steps == -1 {
		cost += resolvesInLine
	}
	if lead, ok := h.LeadingTone(); ok && from.Pitch.Class() == lead && move.Steps == 1 {
		cost += resolvesInLine
	}
	return cost
}

// bassMove is how many semitones the lowest voice moves into an onset.
func (w *window) bassMove(t *theory.Texture, onset theory.Fraction) int {
	notes := t.Voices[len(t.Voices)-1].Notes
	for i := 1; i < len(notes); i++ {
		if notes[i].Onset == onset {
			return notes[i].Pitch.Semitones() - notes[i-1].Pitch.Semitones()
		}
	}
	return 0
}
