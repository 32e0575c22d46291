package theory_test

import (
	"testing"

	"partwright/theory"
	"partwright/theory/separation"
	"partwright/theory/theorytest"
)

func TestMoments(t *testing.T) {
	texture := separation.FindVoices(theorytest.Score("I: E5*2 D5 r | C5*4", "II: r C4*1/2 D4*1/2 B3*2 | r*2 C4*2"))
	tests := []struct {
		onset, offset string
		measure       int32
		upper, lower  string // "E5" struck, "(E5)" held, "" silent
	}{
		{"0", "0", 0, "E5", ""},
		{"1", "1", 0, "(E5)", "C4"},
		{"3/2", "3/2", 0, "(E5)", "D4"},
		{"2", "2", 0, "D5", "B3"},
		{"4", "0", 1, "C5", ""},
		{"6", "2", 1, "(C5)", "C4"},
	}
	if len(texture.Moments) != len(tests) {
		t.Fatalf("%d moments, want %d", len(texture.Moments), len(tests))
	}
	shown := func(m, v int) string {
		n := texture.Sounding(m, v)
		switch {
		case n == nil:
			return ""
		case texture.IsStruck(m, v):
			return n.Pitch.String()
		}
		return "(" + n.Pitch.String() + ")"
	}
	for m, tt := range tests {
		got := texture.Moments[m]
		if got.Onset.String() != tt.onset || got.Offset.String() != tt.offset || got.Measure != tt.measure {
			t.Errorf("moment %d is at %v, %v into measure %d", m, got.Onset, got.Offset, got.Measure)
		}
		if shown(m, 0) != tt.upper || shown(m, 1) != tt.lower {
			t.Errorf("at %s sound %s and %s, want %s and %s", tt.onset, shown(m, 0), shown(m, 1), tt.upper, tt.lower)
		}
	}
}

func TestJoins(t *testing.T) {
	score := theorytest.Score("I: C5 D5*3 | E5*4 | r*4 | F5*2 G5*2", "II: E4*4 | C4*4~ | C4*4 | D4*4")
	score.Jumps = []theory.Jump{{From: 1, To: 0}, {From: 2, To: 1}, {From: 3, To: 2}}
	texture := separation.FindVoices(score)
	// Moments: 0 at C5, 1 at D5, 2 at E5, 3 at F5, 4 at G5.
	want := []theory.Join{{From: 2, To: 0}, {From: 2, To: 2}}
	got := texture.Joins()
	if len(got) != len(want) {
		t.Fatalf("joins %v, want %v: nothing is struck in the third measure, so none leads there", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("join %d is %v, want %v", i, got[i], want[i])
		}
	}
}

func TestWithoutExtra(t *testing.T) {
	texture := separation.FindVoices(theorytest.Score("S: C5*2 C5 C5", "B: C3 G2+G3 C3+C2*1/2 C3*1/2 F2"))
	if len(texture.Voices) != 3 || !texture.Voices[2].Extra {
		t.Fatalf("%d voices, want two and an extra one", len(texture.Voices))
	}
	own := texture.WithoutExtra()
	if len(own.Voices) != 2 || len(own.Moments) != len(texture.Moments) || own.WithoutExtra() != own {
		t.Fatalf("%d voices and %d moments are left", len(own.Voices), len(own.Moments))
	}
	for m := range own.Moments {
		for v := range own.Voices {
			if own.At(m, v) != texture.At(m, v) || own.IsStruck(m, v) != texture.IsStruck(m, v) {
				t.Errorf("voice %d at moment %d is not what it was", v, m)
			}
		}
		if own.Moments[m].Struck>>2 != 0 {
			t.Errorf("moment %d strikes a voice that is gone", m)
		}
	}
	if texture.Moments[1].Struck>>2 == 0 {
		t.Error("the texture itself was changed")
	}
}

func TestNewTextureRefusesTooManyVoices(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("65 voices were taken")
		}
	}()
	theory.NewTexture(&theory.Score{}, theory.OpenScore, "", make([]theory.Voice, theory.MaxVoices+1))
}

// Voices of a caller's own making need not keep to the score's resolution.
func TestNewTextureTakesFinerVoices(t *testing.T) {
	score := theorytest.Score("I: C5*4")
	note := func(onset, length theory.Fraction) theory.VoiceNote {
		return theory.VoiceNote{Pitch: theory.MustPitch("C5"), Onset: onset, Duration: length, IDs: []theory.NoteID{0}}
	}
	texture := theory.NewTexture(score, theory.OpenScore, "", []theory.Voice{
		{Name: "V1", Notes: []theory.VoiceNote{note(theory.Whole(0), theory.Frac(1, 3)), note(theory.Frac(1, 3), theory.Frac(1, 6))}},
		{Name: "V2", Notes: []theory.VoiceNote{note(theory.Whole(0), theory.Frac(1, 4)), note(theory.Frac(1, 4), theory.Whole(1))}},
	})
	var onsets []string
	for _, m := range texture.Moments {
		onsets = append(onsets, m.Onset.String())
	}
	if len(onsets) != 3 || onsets[1] != "1/4" || onsets[2] != "1/3" {
		t.Errorf("moments at %v, want 0, 1/4 and 1/3", onsets)
	}
}
