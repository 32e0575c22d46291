package report

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"

	"gitlab.com/gomidi/midi/mid"

	"partwright/theory"
)

// midiVelocity is how loud every note of a MIDI file is.
const midiVelocity = 80

// breath is by how much of a quarter the last note of a phrase is shorter, so that one
// hears the next phrase begin; at most half of the note.
var breath = theory.Frac(1, 4)

// MIDI returns a standard MIDI file (format 1, 960 ticks a quarter) with a track
// for each voice, for listening. The first track has the tempo, the metres and the keys.
// Voices breathe at the ends of phrases, which are given in quarters. Pitches outside the
// keys of MIDI are an error.
func MIDI(t *theory.Texture, ends []theory.Fraction) ([]byte, error) {
	if len(t.Voices) == 0 {
		return nil, fmt.Errorf("there is no voice to play")
	}
	var out bytes.Buffer
	w := mid.NewSMF(&out, uint16(len(t.Voices))) //nolint:gosec // at most theory.MaxVoices
	for v := range t.Voices {
		if err := track(w, t, v, ends); err != nil {
			return nil, fmt.Errorf("voice %s: %w", t.Voices[v].Name, err)
		}
	}
	return out.Bytes(), nil
}

// midiEvent is one message of a track at a tick.
type midiEvent struct {
	at    int64
	write func() error
}

func track(w *mid.SMFWriter, t *theory.Texture, v int, ends []theory.Fraction) error {
	if err := w.TrackSequenceName(t.Voices[v].Name); err != nil {
		return err
	}
	var events []midiEvent
	if v == 0 {
		events = append(tempos(w, t.Score), signatures(w, t.Score)...)
	}
	w.SetChannel(uint8(v % 9)) // channel 10 (index 9) is percussion
	for i := range t.Voices[v].Notes {
		n := &t.Voices[v].Notes[i]
		key := n.Pitch.MIDI()
		if key < 0 || key > 127 {
			return fmt.Errorf("%v has no MIDI key", n.Pitch)
		}
		events = append(events,
			midiEvent{ticks(n.Onset), func() error { return w.NoteOn(uint8(key), midiVelocity) }},
			midiEvent{ticks(sounding(n, ends)), func() error { return w.NoteOff(uint8(key)) }})
	}
	// Signatures come before the notes that begin with them.
	slices.SortStableFunc(events, func(a, b midiEvent) int { return cmp.Compare(a.at, b.at) })
	at := int64(0)
	for _, e := range events {
		w.SetDelta(uint32(e.at - at)) //nolint:gosec // ticks rise and are bounded by theory.MaxQuarters
		if err := e.write(); err != nil {
			return err
		}
		at = e.at
	}
	// The library reports the end of the last track as an error value.
	if err := w.EndOfTrack(); err != nil && v < len(t.Voices)-1 {
		return err
	}
	return nil
}

// sounding is where a note stops: at the end of a phrase a little early.
func sounding(n *theory.VoiceNote, ends []theory.Fraction) theory.Fraction {
	if !slices.Contains(ends, n.End()) {
		return n.End()
	}
	early := breath
	if half := n.Duration.Mul(theory.Frac(1, 2)); half.Less(early) {
		early = half
	}
	return n.End().Sub(early)
}

// usualTempo is how many quarters a minute has where the score does not say.
const usualTempo = 72

// tempos are those of the score, from the first on.
func tempos(w *mid.SMFWriter, s *theory.Score) []midiEvent {
	var out []midiEvent
	add := func(at theory.Fraction, quarters float64) {
		out = append(out, midiEvent{ticks(at), func() error { return w.TempoBPM(quarters) }})
	}
	if len(s.Tempos) == 0 || s.Tempos[0].Onset.Sign() > 0 {
		add(theory.Fraction{}, usualTempo)
	}
	for _, t := range s.Tempos {
		add(t.Onset, t.Quarters.Float())
	}
	return out
}

// signatures are the metres and keys of the first part, those that a MIDI file can say.
func signatures(w *mid.SMFWriter, s *theory.Score) []midiEvent {
	var out []midiEvent
	for _, c := range s.Times {
		if c.Part == 0 && c.Time.Beats > 0 && c.Time.Beats < 256 && c.Time.BeatType > 0 && c.Time.BeatType < 256 {
			out = append(out, midiEvent{ticks(c.Onset), func() error {
				return w.TimeSig(uint8(c.Time.Beats), uint8(c.Time.BeatType), click(c.Time), thirtySeconds) //nolint:gosec // bounded above
			}})
		}
	}
	for _, c := range s.Keys {
		fifths := int(c.Signature.Fifths)
		if c.Part != 0 || fifths < -7 || fifths > 7 {
			continue
		}
		tonic := theory.MajorKey(theory.PitchClassAtFifths(fifths))
		major := c.Signature.Mode != theory.StatedMinor
		if !major {
			tonic = tonic.Relative()
		}
		sharps := max(fifths, -fifths)
		out = append(out, midiEvent{ticks(c.Onset), func() error {
			return w.KeySig(uint8(tonic.Tonic.Chroma()), major, uint8(sharps), fifths < 0) //nolint:gosec // 0 to 11 and 0 to 7
		}})
	}
	return out
}

// thirtySeconds is how many 32nd notes a quarter has (Standard MIDI Files 1.0, time signature).
const thirtySeconds = 8

// click is how often a metronome is heard, in 24ths of a quarter: once a beat.
func click(t theory.TimeSignature) uint8 {
	clocks := t.Beat().Mul(theory.Whole(24))
	return uint8(min(max(clocks.Num()/clocks.Den(), 1), 255)) //nolint:gosec // bounded
}

// ticks rounds down to the grid of the file; the music itself stays exact.
func ticks(f theory.Fraction) int64 { return f.Num() * 960 / f.Den() }
