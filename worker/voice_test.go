package worker

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"gitlab.com/gomidi/midi/mid"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/separation"
	"partwright/theory/voicing"
	"partwright/worker/answer"
	"partwright/worker/request"
)

// TestVoicedSheetHasNoFaults lets the whole job judge what was written: the
// sheet is read, its voices found and checked like any other score.
func TestVoicedSheetHasNoFaults(t *testing.T) {
	for _, style := range []string{"chorale", "three-voices"} {
		result, said := voiced(t, Input{}, "progression", "C: I vi ii6 V7*2 I || a: i iv V i", "style", style, "alternatives", "3", "layout", "open")
		sheets := scoresOf(result, answer.Voiced)
		if len(sheets) != 3 {
			t.Fatalf("%s: %d sheets, want 3", style, len(sheets))
		}
		for i, data := range sheets {
			doc, err := musicxml.Read("sheet.musicxml", data, musicxml.Limits{})
			if err != nil {
				t.Fatal(err)
			}
			texture := separation.FindVoices(doc.Score)
			if got, want := len(texture.Voices), len(said.Voices); got != want {
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
	_, said := voiced(t, Input{}, "progression", "C: I V42 I")
	if said.Obstacle == "" || said.Broken != 1 || len(said.Alternatives) != 1 {
		t.Errorf("obstacle %q, %d broken", said.Obstacle, said.Broken)
	}
}

func TestVoiceRequestsAreChecked(t *testing.T) {
	for field, text := range map[string]string{"style": "opera", "bass": "loud", "layout": "round", "alternatives": "99", "density": "2"} {
		if _, err := do(Input{}, &request.Voice{}, "progression", "C: I", field, text); !refused(err, field) {
			t.Errorf("%s %s: %v, want a request error", field, text, err)
		}
	}
	var unreadable *voicing.ProgressionError
	if _, err := do(Input{}, &request.Voice{}, "progression", "C: XX"); !errors.As(err, &unreadable) {
		t.Errorf("%v, want a progression error", err)
	}
}

// TestMIDIPlaysEveryNote reads the file back with the library's own reader.
func TestMIDIPlaysEveryNote(t *testing.T) {
	result, _ := voiced(t, Input{}, "progression", "C: I IV V7 I")
	data, err := result.MIDI()
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

// The file says its metre, key and tempo, and the last note of a phrase ends early
// (Standard MIDI Files 1.0: meta events 58, 59 and 51).
func TestMIDISaysMetreAndKeyAndBreathes(t *testing.T) {
	result, _ := voiced(t, Input{}, "progression", "3/4 g: i V i || iv V i*3")
	data, err := result.MIDI()
	if err != nil {
		t.Fatal(err)
	}
	for what, event := range map[string][]byte{
		"3/4, a click a quarter":    {0xFF, 0x58, 4, 3, 2, 24, 8},
		"two flats, minor":          {0xFF, 0x59, 2, 0xFE, 1},
		"a tempo":                   {0xFF, 0x51, 3},
		"a note of 3/4 of a beat":   {0x85, 0x50}, // 720 ticks
		"a note of a beat, in full": {0x87, 0x40}, // 960 ticks
	} {
		if !bytes.Contains(data, event) {
			t.Errorf("the file lacks %s", what)
		}
	}
	result, _ = voiced(t, Input{}, "progression", "6/8 g: i*3/2 V*3/2")
	if data, err = result.MIDI(); err != nil || !bytes.Contains(data, []byte{0xFF, 0x58, 4, 6, 3, 36, 8}) {
		t.Errorf("the file lacks 6/8 with a click each dotted quarter (error %v)", err)
	}
}

// A chord whose own notes conflict is told apart from one that finds no room: the dominant
// of the Neapolitan has no note that four voices may double.
func TestObstaclesSayWhatConflicts(t *testing.T) {
	for _, tt := range []struct{ text, lang, want string }{
		{"C: I V/bII bII I", "en", "no arrangement of chord 2 is without a fault of its own, at the least: doubled altered tone"},
		{"C: I V/bII bII I", "de", "jede Aufstellung von Akkord 2 verstößt schon für sich gegen eine Regel"},
		{"C: I V[no3] I", "en", "at the least: missing third"},
		{"C: I V42 I", "en", "no arrangement of chord 3 can be reached from chord 2"},
	} {
		_, said := voiced(t, Input{}, "progression", tt.text, "language", tt.lang)
		if !strings.Contains(said.Obstacle, tt.want) || len(said.Breaks) == 0 || len(said.Alternatives) != 1 {
			t.Errorf("%s: %q, breaks %q, want %q", tt.text, said.Obstacle, said.Breaks, tt.want)
		}
	}
}
