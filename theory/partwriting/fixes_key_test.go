package partwriting

import (
	"testing"

	"partwright/theory"
)

// Voices beyond the sixty-fourth are told apart and changed as all others are.
func TestManyVoicesAreToldApart(t *testing.T) {
	keys := map[findingKey]bool{}
	for v := range 200 {
		keys[keyOf(&Finding{Rule: "voice-crossing", Voices: []int{v, v + 1}})] = true
	}
	if len(keys) != 200 {
		t.Errorf("%d of 200 findings are told apart", len(keys))
	}
	texture := &theory.Texture{Voices: make([]theory.Voice, 70)}
	for v := range texture.Voices {
		texture.Voices[v].Notes = make([]theory.VoiceNote, 2)
	}
	to := theory.Pitch{Step: theory.G, Octave: 4}
	fix := Fix{Edits: []Edit{{NoteRef{69, 0}, to}, {NoteRef{69, 1}, to}, {NoteRef{5, 1}, to}}}
	changed := Apply(texture, fix)
	for _, e := range fix.Edits {
		if got := changed.Voices[e.Note.Voice].Notes[e.Note.Note].Pitch; got != to {
			t.Errorf("%v is %v after the change", e.Note, got)
		}
		if got := texture.Voices[e.Note.Voice].Notes[e.Note.Note].Pitch; got == to {
			t.Errorf("the change of %v reached the original", e.Note)
		}
	}
}
