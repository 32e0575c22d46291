package separation_test

import (
	"testing"

	"partwright/theory"
)

// checkLaws asserts what holds for every texture that FindVoices returns.
func checkLaws(t testing.TB, texture *theory.Texture) {
	t.Helper()
	s := texture.Score
	times := make([]int, len(s.Notes))
	for v := range texture.Voices {
		voice := &texture.Voices[v]
		if voice.Name == "" || voice.Found == "" || len(voice.Notes) == 0 {
			t.Errorf("voice %d is incomplete: %q found by %q with %d notes", v, voice.Name, voice.Found, len(voice.Notes))
		}
		for i := range voice.Notes {
			n := &voice.Notes[i]
			if i > 0 && n.Onset.Less(voice.Notes[i-1].End()) {
				t.Errorf("voice %s has two notes at %v", voice.Name, n.Onset)
			}
			length := theory.Whole(0)
			for _, id := range n.IDs {
				times[id]++
				length = length.Add(s.Notes[id].Duration)
			}
			if length != n.Duration || s.Notes[n.IDs[0]].Onset != n.Onset || s.Notes[n.IDs[0]].Pitch != n.Pitch {
				t.Errorf("voice %s at %v is not what is written", voice.Name, n.Onset)
			}
		}
	}
	checkMoments(t, texture)
	asideParts, asideNotes := map[int32]bool{}, map[theory.NoteID]bool{}
	for _, a := range texture.SetAside {
		if a.Notes == nil {
			asideParts[int32(a.Part)] = true
		}
		for _, id := range a.Notes {
			asideNotes[id] = true
		}
	}
	for i := range s.Notes {
		n := &s.Notes[i]
		aside := asideParts[n.Part] || asideNotes[theory.NoteID(i)]
		switch {
		case n.Flags.Has(theory.Rest):
			if times[i] != 0 {
				t.Errorf("rest %d is in a voice", i)
			}
		case aside && times[i] != 0:
			t.Errorf("note %d is both set aside and in a voice", i)
		case !aside && (times[i] < 1 || times[i] > 2):
			t.Errorf("note %d (%v at %v) is in %d voices", i, n.Pitch, n.Onset, times[i])
		}
	}
}

// checkMoments asserts that the moments say what the voices say.
func checkMoments(t testing.TB, texture *theory.Texture) {
	t.Helper()
	onsets := map[theory.Fraction]bool{}
	for v := range texture.Voices {
		for i := range texture.Voices[v].Notes {
			onsets[texture.Voices[v].Notes[i].Onset] = true
		}
	}
	if len(onsets) != len(texture.Moments) {
		t.Errorf("%d moments for %d onsets", len(texture.Moments), len(onsets))
	}
	for m := range texture.Moments {
		at := texture.Moments[m].Onset
		if m > 0 && !texture.Moments[m-1].Onset.Less(at) {
			t.Errorf("moment %d is not after the one before", m)
		}
		for v := range texture.Voices {
			n := texture.Sounding(m, v)
			if n != nil && (at.Less(n.Onset) || !at.Less(n.End())) {
				t.Errorf("voice %d does not sound %v at %v", v, n.Pitch, at)
			}
			if texture.IsStruck(m, v) != (n != nil && n.Onset == at) {
				t.Errorf("voice %d is struck at %v: %v", v, at, texture.IsStruck(m, v))
			}
		}
	}
}
