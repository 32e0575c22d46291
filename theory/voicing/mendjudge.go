package voicing

import (
	"maps"
	"slices"

	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
)

// tryDraft reads a changed texture from scratch and returns it as a draft, nil where
// it does not hold: a fault is still there or a new one has come.
func (m *mender) tryDraft(d *draft, changed *theory.Texture, f *partwriting.Finding) *draft {
	before, after := d.reading, m.fresh(d, changed)
	if !before.allows(after, f) || m.original.found && !foundAlike(changed) {
		return nil
	}
	return &draft{texture: changed, reading: after, given: maps.Clone(d.given), rounds: d.rounds}
}

// foundAlike reports whether somebody who finds the voices of the changed score anew
// finds these: where several stand on one staff, a note may change its voice.
func foundAlike(t *theory.Texture) bool {
	score := *t.Score
	score.Notes = slices.Clone(t.Score.Notes)
	for v := range t.Voices {
		for i := range t.Voices[v].Notes {
			n := &t.Voices[v].Notes[i]
			for _, id := range n.IDs {
				note := &score.Notes[id]
				note.Written = note.Written.Transpose(theory.Between(note.Pitch, n.Pitch))
				note.Pitch = n.Pitch
			}
		}
	}
	found := separation.FindVoices(&score)
	if len(found.Voices) != len(t.Voices) {
		return false
	}
	for v := range t.Voices {
		if !slices.EqualFunc(t.Voices[v].Notes, found.Voices[v].Notes, func(a, b theory.VoiceNote) bool {
			return a.Pitch == b.Pitch && a.Onset == b.Onset
		}) {
			return false
		}
	}
	return true
}

// wholeReading is the most moments of a score that is read as a whole after every
// change. A longer one is read with the chords it had and as a whole in the end.
const wholeReading = 600

// fresh reads a changed texture from scratch.
func (m *mender) fresh(d *draft, changed *theory.Texture) *judged {
	if len(changed.Moments) > wholeReading {
		return m.read(changed, assume(changed, d.reading.analysis))
	}
	return m.read(changed, m.again(changed))
}
