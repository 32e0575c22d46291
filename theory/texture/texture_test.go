package texture

import (
	"slices"
	"testing"

	"partwright/theory"
	"partwright/theory/theorytest"
)

// written puts the voices of a texture on parts and staves: a word for each voice
// from the top, such as "1.2" for the second staff of the first part; "+" after it
// makes the voice an extra one.
func written(t *theory.Texture, layout theory.Layout, parts []theory.Part, places ...string) *theory.Texture {
	score := *t.Score
	score.Parts = parts
	voices := slices.Clone(t.Voices)
	for v, place := range places {
		voices[v].Part, voices[v].Staff = int(place[0]-'1'), int(place[2]-'0')
		voices[v].Extra = len(place) > 3
	}
	return theory.NewTexture(&score, layout, "", voices)
}

func parts(names ...string) []theory.Part {
	out := make([]theory.Part, len(names))
	for i, name := range names {
		out[i] = theory.Part{ID: name, Name: name, Staves: 1}
		if name == "Piano" {
			out[i].Staves = 2
		}
	}
	return out
}

const (
	// Close position in one hand over the bass (Open Music Theory v1, keyboard style).
	closely = "C3 E4 G4 C5 | F3 F4 A4 C5 | G3 D4 G4 B4 | C3 E4 G4 C5"
	// Open position: soprano and tenor more than an octave apart.
	open = "C3 G3 E4 C5 | F3 A3 F4 C5 | G3 B3 D4 G4 | C3 G3 E4 C5"
	// A broken chord over held notes.
	broken = "C3 G3 E4 C5 | . . . G4 | . . . E4 | . . . C5 | . . . G4 | . . . E4 | . . . C5 | . . . G4"
	two    = "C3 C5 | D3 B4 | E3 G4 | C3 C5"
	one    = "C5 | D5 | B4 | C5"
)

// What each kind looks like is common practice, no source; that keyboard style keeps
// the upper voices within an octave is Open Music Theory v1.
func TestOf(t *testing.T) {
	satb := []string{"1.1", "2.1", "3.1", "4.1"}
	pair := []string{"1.1", "1.1", "2.1", "2.1"}
	hands := []string{"1.1", "1.1", "1.2", "1.2"}
	three := []string{"1.1", "1.1", "1.1", "1.2"}
	cases := []struct {
		name   string
		music  string
		layout theory.Layout
		parts  []theory.Part
		places []string
		want   Kind
	}{
		{"four singers", open, theory.OpenScore, parts("Soprano", "Alto", "Tenor", "Bass"), satb, Choir},
		{"four parts without names", broken, theory.OpenScore, parts("", "", "", ""), satb, Choir},
		{"closed score", open, theory.ClosedScore, parts("", ""), pair, Choir},
		{"a hymn on the staves of a piano", open, theory.ClosedScore, parts("Piano"), hands, Choir},
		{"open position with three in one hand", open, theory.KeyboardScore, parts("Piano"), three, Choir},
		{"close position with three in one hand", closely, theory.KeyboardScore, parts("Piano"), three, KeyboardStyle},
		{"close position in two hands", closely, theory.KeyboardScore, parts("Piano"), hands, Choir},
		{"close position as block chords", closely, theory.BlockChords, parts(""), []string{"1.1", "1.1", "1.1", "1.1"}, Choir},
		{"broken chords", broken, theory.KeyboardScore, parts("Piano"), hands, Piano},
		{"a prelude in layers", broken, theory.ClosedScore, parts("Piano"), hands, Piano},
		{"chords of changing size", closely, theory.KeyboardScore, parts("Piano"), []string{"1.1", "1.1", "1.2", "1.2+"}, Piano},
		{"a voice over a piano", open, theory.MixedLayout, parts("Voice", "Piano"), []string{"1.1", "2.1", "2.2", "2.2"}, Song},
		{"two voices over a guitar", open, theory.MixedLayout, parts("Voice", "Voice", "Guitar"), []string{"1.1", "2.1", "3.1", "3.1"}, Song},
		{"three lines over a piano", open, theory.MixedLayout, parts("Flute", "Oboe", "Viola", "Piano"), []string{"1.1", "2.1", "3.1", "4.1"}, Ensemble},
		{"a guitar", closely, theory.BlockChords, parts("Gitarre"), []string{"1.1", "1.1", "1.1", "1.1"}, Guitar},
		{"a quartet of strings", broken, theory.OpenScore, parts("Violin I", "Violin II", "Viola", "Violoncello"), satb, Ensemble},
		{"a chorale for strings", open, theory.OpenScore, parts("Violin I", "Violin II", "Viola", "Violoncello"), satb, Choir},
		{"one line", one, theory.OpenScore, parts("Coro"), []string{"1.1"}, Melody},
		{"two lines", two, theory.OpenScore, parts("", ""), []string{"1.1", "2.1"}, TwoVoices},
		{"nothing", "", theory.NoVoices, parts(""), nil, Silent},
	}
	for _, c := range cases {
		tx := written(theorytest.Chords(c.music), c.layout, c.parts, c.places...)
		if got := Of(tx).Kind; got != c.want {
			t.Errorf("%s is read as %s, want %s", c.name, got, c.want)
		}
	}
}

func TestLeadSheet(t *testing.T) {
	tx := written(theorytest.Chords(one), theory.OpenScore, parts(""), "1.1")
	tx.Score.Chords = []theory.GivenChord{{}}
	if got := Of(tx).Kind; got != LeadSheet {
		t.Errorf("a melody with a chord symbol is read as %s", got)
	}
}

// Five parts of which one goes along with another an octave lower are an ensemble;
// five that go their own ways are a choir.
func TestDoublingMakesAnEnsemble(t *testing.T) {
	own := "C3 E4 G4 C5 E5 | D3 D4 G4 B4 F5 | E3 C4 G4 C5 G5 | F3 C4 A4 C5 A5 | G3 D4 B4 D5 G5 | A3 E4 A4 C5 E5 | B3 D4 G4 B4 D5 | C3 E4 G4 C5 C5 | G3 D4 B4 G4 D5 | C3 E4 G4 C5 E5"
	doubled := "C3 E4 G4 E4 E5 | D3 D4 G4 F4 F5 | E3 C4 G4 G4 G5 | F3 C4 A4 A4 A5 | G3 D4 B4 G4 G5 | A3 E4 A4 E4 E5 | B3 D4 G4 D4 D5 | C3 E4 G4 C4 C5 | G3 D4 B4 D4 D5 | C3 E4 G4 E4 E5"
	places := []string{"1.1", "2.1", "3.1", "4.1", "5.1"}
	for music, want := range map[string]Kind{own: Choir, doubled: Ensemble} {
		tx := written(theorytest.Chords(music), theory.OpenScore, parts("", "", "", "", ""), places...)
		if got := Of(tx).Kind; got != want {
			t.Errorf("%s: read as %s, want %s", music, got, want)
		}
	}
}

// The notes between the highest and the lowest of a keyboard are filling, those of a
// choir are lines.
func TestIsLine(t *testing.T) {
	song := written(theorytest.Chords(open), theory.MixedLayout, parts("Voice", "Piano"), "1.1", "2.1", "2.2", "2.2")
	for kind, want := range map[Kind][]bool{ByItself: {true, true, false, true}, Choir: {true, true, true, true}} {
		r := As(song, kind)
		for v := range song.Voices {
			if r.IsLine(v) != want[v] {
				t.Errorf("read as %s, voice %d: line %v", r.Kind, v, r.IsLine(v))
			}
		}
		if r.Named != (kind != ByItself) {
			t.Errorf("%s: named %v", r.Kind, r.Named)
		}
	}
}

func TestParseKind(t *testing.T) {
	for _, name := range Names() {
		if k, err := ParseKind(name); err != nil || k.String() != name {
			t.Errorf("%s reads as %s, %v", name, k, err)
		}
	}
	for _, name := range []string{"silent", "by-itself", "chor"} {
		if _, err := ParseKind(name); err == nil {
			t.Errorf("%q must be refused", name)
		}
	}
}

// An inner line that moves in octaves with another for less than most of the time
// is no doubling.
func TestDoubles(t *testing.T) {
	half := theorytest.Chords("C4 C5 | D4 D5 | E4 E5 | F4 F5 | G4 E5 | A4 F5 | B4 G5 | C5 A5 | D5 B5")
	if doubles(half, 0, 1) {
		t.Error("octaves for three of eight moves are taken for a doubling")
	}
	if whole := theorytest.Chords("C4 C5 | D4 D5 | E4 E5 | F4 F5 | G4 G5 | A4 A5 | B4 B5 | C5 C6 | D5 B5"); !doubles(whole, 0, 1) {
		t.Error("octaves for seven of eight moves are no doubling")
	}
}
