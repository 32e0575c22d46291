package harmony

import (
	"testing"

	"partwright/theory"
	"partwright/theory/harmony/beatnet"
	"partwright/theory/theorytest"
)

func TestStyleOf(t *testing.T) {
	together := theorytest.Chords("C3 G3 E4 C5 | F3 A3 F4 C5 | G3 B3 D4 G4 | C3 G3 E4 C5")
	if got := StyleOf(together); got != ChoraleStyle {
		t.Errorf("four voices that move together are read as %s", got)
	}
	song := *together
	song.Layout = theory.MixedLayout
	if got := StyleOf(&song); got != FreeStyle {
		t.Errorf("a song with accompaniment is read as %s", got)
	}
	// A broken chord over a bass that lasts.
	notes := []theory.VoiceNote{}
	for i, p := range []string{"E4", "G4", "C5", "G4", "E4", "G4", "C5", "G4"} {
		notes = append(notes, theory.VoiceNote{Pitch: theory.MustPitch(p), Onset: theory.Frac(int64(i), 2), Duration: theory.Frac(1, 2), IDs: []theory.NoteID{0}})
	}
	held := func(p string) []theory.VoiceNote {
		return []theory.VoiceNote{{Pitch: theory.MustPitch(p), Duration: theory.Whole(4), IDs: []theory.NoteID{0}}}
	}
	broken := theory.NewTexture(together.Score, theory.KeyboardScore, "", []theory.Voice{{Notes: notes}, {Notes: held("G3")}, {Notes: held("C3")}})
	if got := StyleOf(broken); got != FreeStyle {
		t.Errorf("broken chords over held notes are read as %s", got)
	}
	for style := range models {
		if style := Style(style); style != ByTexture {
			if a := AnalyzeAs(together, style); a.Style != style || len(a.Harmonies) == 0 || a.Harmonies[0].String() != "C: I" {
				t.Errorf("%s: style %s, harmonies %v", style, a.Style, a.Harmonies)
			}
		}
	}
}

func TestParseStyle(t *testing.T) {
	for _, s := range []Style{ByTexture, ChoraleStyle, FreeStyle} {
		if got, err := ParseStyle(s.String()); err != nil || got != s {
			t.Errorf("%s reads as %s, %v", s, got, err)
		}
	}
	if got, err := ParseStyle(""); err != nil || got != ByTexture {
		t.Errorf("nothing reads as %s, %v", got, err)
	}
	if _, err := ParseStyle("baroque"); err == nil {
		t.Error("an unknown style must be refused")
	}
}

func TestNetsCanBeRead(t *testing.T) {
	for name, data := range map[string]string{"net-chorale.bin": choraleNet, "net-free.bin": freeNet} {
		if _, err := beatnet.Read(data); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}
