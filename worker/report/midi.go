package report

import (
	"bytes"
	"fmt"

	"gitlab.com/gomidi/midi/mid"

	"partwright/theory"
)

// midiVelocity is how loud every note of a MIDI file is.
const midiVelocity = 80

// MIDI returns a standard MIDI file (format 1, 960 ticks a quarter) with a track
// for each voice, for listening. Pitches outside the keys of MIDI are an error.
func MIDI(t *theory.Texture) ([]byte, error) {
	if len(t.Voices) == 0 {
		return nil, fmt.Errorf("there is no voice to play")
	}
	var out bytes.Buffer
	w := mid.NewSMF(&out, uint16(len(t.Voices))) //nolint:gosec // at most theory.MaxVoices
	for v := range t.Voices {
		if err := track(w, t, v); err != nil {
			return nil, fmt.Errorf("voice %s: %w", t.Voices[v].Name, err)
		}
	}
	return out.Bytes(), nil
}

func track(w *mid.SMFWriter, t *theory.Texture, v int) error {
	if err := w.TrackSequenceName(t.Voices[v].Name); err != nil {
		return err
	}
	if v == 0 {
		if err := w.TempoBPM(72); err != nil {
			return err
		}
	}
	w.SetChannel(uint8(v % 9)) // channel 10 (index 9) is percussion
	at := int64(0)
	for i := range t.Voices[v].Notes {
		n := &t.Voices[v].Notes[i]
		key := n.Pitch.MIDI()
		if key < 0 || key > 127 {
			return fmt.Errorf("%v has no MIDI key", n.Pitch)
		}
		on, off := ticks(n.Onset), ticks(n.End())
		w.SetDelta(uint32(on - at)) //nolint:gosec // onsets rise and are bounded by theory.MaxQuarters
		if err := w.NoteOn(uint8(key), midiVelocity); err != nil {
			return err
		}
		w.SetDelta(uint32(off - on)) //nolint:gosec // durations are positive and bounded
		if err := w.NoteOff(uint8(key)); err != nil {
			return err
		}
		at = off
	}
	// The library reports the end of the last track as an error value.
	if err := w.EndOfTrack(); err != nil && v < len(t.Voices)-1 {
		return err
	}
	return nil
}

// ticks rounds down to the grid of the file; the music itself stays exact.
func ticks(f theory.Fraction) int64 { return f.Num() * 960 / f.Den() }
