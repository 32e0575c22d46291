package report

import (
	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory"
)

// VoiceNotes are the notes of one voice.
type VoiceNotes struct {
	Voice string      `json:"voice"`
	Notes []VoiceNote `json:"notes"`
}

// VoiceNote is one note that a voice sings or plays, tied notes together.
type VoiceNote struct {
	// MeasureIndex counts from 0: the measure in which the note begins.
	MeasureIndex int `json:"measure_index"`
	// Onset (from the score's start, repeats not unfolded) and Duration are exact
	// quarter notes.
	Onset    string `json:"onset"`
	Duration string `json:"duration"`
	// Pitch sounds; MIDI is the same as a key number, C4 = 60.
	Pitch string `json:"pitch"`
	MIDI  int    `json:"midi"`
	// IDs are those of the written notes, the first of a tie first; empty where they
	// were not asked for.
	IDs []string `json:"ids,omitempty"`
}

// NewVoiceNotes lists the notes of every voice of a score that was read, from the top.
// Without ids the notes have none.
func NewVoiceNotes(t *theory.Texture, ids *musicxml.IDs) []VoiceNotes {
	return voiceNotes(t, func(voice, note int) (all []string) {
		if ids != nil {
			for _, id := range t.Voices[voice].Notes[note].IDs {
				all = append(all, ids.Note(id))
			}
		}
		return all
	})
}

// NewSheetNotes lists the notes of every voice of a sheet that was written. Without ids
// the notes have none.
func NewSheetNotes(t *theory.Texture, ids *sheet.IDs) []VoiceNotes {
	return voiceNotes(t, func(voice, note int) []string {
		if ids == nil {
			return nil
		}
		return ids.Note(voice, note)
	})
}

func voiceNotes(t *theory.Texture, ids func(voice, note int) []string) []VoiceNotes {
	out := make([]VoiceNotes, 0, len(t.Voices))
	for v := range t.Voices {
		voice := &t.Voices[v]
		of := VoiceNotes{Voice: voice.Name, Notes: make([]VoiceNote, 0, len(voice.Notes))}
		for i := range voice.Notes {
			n := &voice.Notes[i]
			of.Notes = append(of.Notes, VoiceNote{
				MeasureIndex: int(n.Measure), Onset: n.Onset.String(), Duration: n.Duration.String(),
				Pitch: n.Pitch.String(), MIDI: n.Pitch.MIDI(), IDs: ids(v, i),
			})
		}
		out = append(out, of)
	}
	return out
}
