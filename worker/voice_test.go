package worker

import (
	"bytes"
	"context"
	"errors"
	"testing"

	"gitlab.com/gomidi/midi/mid"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
	"partwright/theory/voicing"
	"partwright/worker/report"
)

// TestVoicedSheetHasNoFaults lets the whole job judge what was written: the
// sheet is read, its voices found and checked like any other score.
func TestVoicedSheetHasNoFaults(t *testing.T) {
	engine := &Engine{}
	for _, style := range []string{"chorale", "three-voices"} {
		result, err := engine.Voice(context.Background(), VoiceRequest{
			Progression: "C: I vi ii6 V7*2 I || a: i iv V i", Style: style, Alternatives: 3, Layout: "open",
		})
		if err != nil {
			t.Fatal(err)
		}
		if len(result.Sheets) != 3 {
			t.Fatalf("%s: %d sheets, want 3", style, len(result.Sheets))
		}
		for i, data := range result.Sheets {
			doc, err := musicxml.Read("sheet.musicxml", data, musicxml.Limits{})
			if err != nil {
				t.Fatal(err)
			}
			texture := separation.FindVoices(doc.Score)
			if got, want := len(texture.Voices), len(result.Report.Voices); got != want {
				t.Fatalf("%s: %d voices read, %d written", style, got, want)
			}
			for _, f := range partwriting.Check(texture, nil, nil) {
				// A phrase join is no fault of leading, and a sheet has no fermata
				// to say so.
				if f.Severity == partwriting.Fault && f.Onset != theory.Whole(6) {
					t.Errorf("%s, alternative %d: %s at %v", style, i+1, f.Rule, f.Onset)
				}
			}
		}
	}
}

func TestImpossibleProgressionIsSaidSo(t *testing.T) {
	// The seventh lies in the bass and must step down, but the next bass note is
	// its root position: no voicing can resolve it.
	result, err := (&Engine{}).Voice(context.Background(), VoiceRequest{Progression: "C: I V42 I"})
	if err != nil {
		t.Fatal(err)
	}
	if result.Report.Obstacle == "" || result.Report.Broken != 1 || len(result.Report.Alternatives) != 1 {
		t.Errorf("obstacle %q, %d broken", result.Report.Obstacle, result.Report.Broken)
	}
}

func TestVoiceRequestsAreChecked(t *testing.T) {
	for _, r := range []VoiceRequest{
		{Progression: "C: I", Style: "opera"}, {Progression: "C: I", Bass: "loud"},
		{Progression: "C: I", Layout: "round"}, {Progression: "C: I", Alternatives: 99}, {Progression: "C: I", Density: 2},
	} {
		var wrong *RequestError
		if _, err := (&Engine{}).Voice(context.Background(), r); !errors.As(err, &wrong) {
			t.Errorf("%+v: %v, want a request error", r, err)
		}
	}
	var unreadable *voicing.ProgressionError
	if _, err := (&Engine{}).Voice(context.Background(), VoiceRequest{Progression: "C: XX"}); !errors.As(err, &unreadable) {
		t.Errorf("%v, want a progression error", err)
	}
}

// TestMIDIPlaysEveryNote reads the file back with the library's own reader.
func TestMIDIPlaysEveryNote(t *testing.T) {
	result, err := (&Engine{}).Voice(context.Background(), VoiceRequest{Progression: "C: I IV V7 I"})
	if err != nil {
		t.Fatal(err)
	}
	data, err := report.MIDI(result.Textures[0])
	if err != nil {
		t.Fatal(err)
	}
	notes := map[int16]int{}
	r := mid.NewReader(mid.NoLogger())
	r.Msg.Channel.NoteOn = func(p *mid.Position, _, _, _ uint8) { notes[p.Track]++ }
	if err := r.ReadAllSMF(bytes.NewReader(data)); err != nil {
		t.Fatal(err)
	}
	if len(notes) != 4 {
		t.Fatalf("%d tracks have notes, want 4", len(notes))
	}
	for track, n := range notes {
		if n != 4 {
			t.Errorf("track %d has %d notes, want 4", track, n)
		}
	}
}
