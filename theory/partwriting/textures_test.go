package partwriting_test

import (
	"slices"
	"testing"

	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/partwriting"
	"partwright/theory/texture"
	"partwright/theory/theorytest"
)

// songOf puts the highest voice on a part of its own and the others on the staves of
// a piano.
func songOf(music string) *theory.Texture {
	t := theorytest.Chords(music)
	score := *t.Score
	score.Parts = []theory.Part{{ID: "P1", Name: "Voice", Staves: 1}, {ID: "P2", Name: "Piano", Staves: 2}}
	voices := slices.Clone(t.Voices)
	for v := 1; v < len(voices); v++ {
		voices[v].Part, voices[v].Staff = 1, 1
	}
	voices[len(voices)-1].Staff = 2
	return theory.NewTexture(&score, theory.MixedLayout, "", voices)
}

// What a song with piano is held to: octaves inside the piano and a piano that plays
// along with the singer are doublings, named once; a parallel of singer and bass
// stands (common practice, no source).
func TestDoublingsInASong(t *testing.T) {
	for _, test := range []struct {
		name, music string
		doublings   int
		want        []partwriting.RuleID
	}{
		{"octaves in the piano", "C3 C4 E4 C5 | D3 D4 F4 B4 | E3 E4 G4 C5 | F3 F4 A4 C5", 1, nil},
		{"the piano plays along", "C3 G4 C5 C5 | G3 G4 D5 D5 | C3 G4 E5 E5 | F3 G4 C5 C5", 1, nil},
		{"the piano touches the tune", "C3 G4 C4 C5 | F3 F4 D4 D5 | G3 D4 F4 B4", 1, nil},
		{"octaves of singer and bass", "C3 E4 A4 C5 | D3 F4 B4 D5 | F3 F4 C5 A4", 0, []partwriting.RuleID{"parallel-octaves"}},
		{"a whole run of them is a doubling", "C3 E4 A4 C5 | D3 F4 B4 D5 | E3 G4 C5 E5 | C3 G4 A4 F5", 1, nil},
		{"fifths with a filling voice", "C3 G3 C5 E5 | D3 A3 B4 D5 | E3 B3 C5 G5", 0, nil},
	} {
		var faults []partwriting.RuleID
		doublings := 0
		for _, f := range partwriting.Check(songOf(test.music), nil, nil) {
			switch {
			case f.Rule == "octave-doubling":
				doublings++
			case f.Severity == partwriting.Fault:
				faults = append(faults, f.Rule)
			}
		}
		if doublings != test.doublings || !slices.Equal(faults, test.want) {
			t.Errorf("%s: %d doublings and the faults %v, want %d and %v", test.name, doublings, faults, test.doublings, test.want)
		}
	}
}

// A bass that goes in octaves with the singer on and off doubles the tune; three times in
// seven moves it does not yet (our own measure).
func TestDoublingOnAndOff(t *testing.T) {
	seven := "C3 E4 G4 C5 | D3 F4 A4 D5 | E3 G4 A4 C5 | F3 A4 C5 F5 | G3 B4 D5 G5 | E3 G4 A4 C5 | D3 F4 A4 D5 | C3 E4 G4 C5"
	for music, want := range map[string]int{seven: 3, seven + " | E3 E4 A4 B4 | F3 A4 C5 F5 | E3 G4 B4 E5": 0} {
		octaves := 0
		for _, f := range partwriting.Check(songOf(music), nil, nil) {
			if f.Rule == "parallel-octaves" {
				octaves++
			}
		}
		if octaves != want {
			t.Errorf("%s: %d parallel octaves, want %d", music, octaves, want)
		}
	}
}

// A teacher who takes a song for voices sees every parallel.
func TestTextureCanBeNamed(t *testing.T) {
	song := songOf("C3 C4 E4 C5 | D3 D4 F4 B4 | E3 E4 G4 C5 | F3 F4 A4 C5")
	set := &partwriting.RuleSet{Limits: partwriting.Limits{Texture: texture.Choir}}
	octaves := 0
	for _, f := range partwriting.Check(song, nil, set) {
		if f.Rule == "parallel-octaves" {
			octaves++
		}
	}
	if octaves != 3 {
		t.Errorf("%d parallel octaves of tenor and bass, want 3", octaves)
	}
}

func TestSetFor(t *testing.T) {
	for kind, want := range map[texture.Kind]string{
		texture.Choir: "strict-chorale", texture.TwoVoices: "strict-chorale", texture.KeyboardStyle: "keyboard",
		texture.Piano: "free", texture.Song: "free", texture.Ensemble: "free", texture.LeadSheet: "free",
	} {
		if got := partwriting.SetFor(kind); got != want || partwriting.RuleSetByName(got) == nil {
			t.Errorf("%s: the set %s, want %s", kind, got, want)
		}
	}
}

// A hand may resolve a leading tone where it lies, in another octave (common practice,
// no source); a singer may not.
func TestHandResolvesInItsPart(t *testing.T) {
	const music = "I C3 G3 E4 C5 | IV F3 A3 F4 C5 | V B3 G4 D5 G5 | I C3 G4 C5 E5 | V G2 G4 D5 B5 | I C3 G4 C5 E5"
	unresolved := func(texture *theory.Texture) (bass, top int) {
		for _, f := range partwriting.Check(texture, harmony.Analyze(texture), nil) {
			switch {
			case f.Rule != "leading-tone-unresolved":
			case f.Voices[0] == 0:
				top++
			default:
				bass++
			}
		}
		return bass, top
	}
	if bass, top := unresolved(theorytest.Chords(music)); bass != 1 || top != 1 {
		t.Errorf("among four voices %d in the bass and %d in the soprano, want one each", bass, top)
	}
	if bass, top := unresolved(songOf(music)); bass != 0 || top != 1 {
		t.Errorf("in a song %d in the piano's bass and %d in the voice, want the voice's", bass, top)
	}
}
