package harmony

import (
	"math"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/theorytest"
)

// The usual figures of Open Music Theory v1, "Thoroughbass figures", and
// Hutchinson, ch. 8: what stands for which inversion of a triad and a seventh.
func TestFigures(t *testing.T) {
	for _, c := range []struct {
		quality   Quality
		inversion int
		want      string
	}{
		{MajorTriad, 0, ""}, {MajorTriad, 1, "6"}, {DiminishedTriad, 1, "6"}, {MinorTriad, 2, "64"},
		{DominantSeventh, 0, "7"}, {MinorSeventh, 1, "65"}, {HalfDiminishedSeventh, 2, "43"}, {DiminishedSeventh, 3, "42"},
		{ItalianSixth, 1, "6"}, {FrenchSixth, 2, "43"}, {GermanSixth, 1, "65"},
	} {
		if got := c.quality.Figures(c.inversion); got != c.want {
			t.Errorf("%s, inversion %d: %q, want %q", c.quality, c.inversion, got, c.want)
		}
	}
}

// The augmented sixths as Hutchinson, sec. 29.4, spells them in A minor, from
// the bass up.
func TestAugmentedSixthsAreSpelled(t *testing.T) {
	a := theory.MinorKey(theory.PitchClass{Step: theory.A})
	for text, want := range map[string][]string{
		"It6": {"F", "A", "D#"}, "Fr43": {"F", "A", "B", "D#"}, "Ger65": {"F", "A", "C", "D#"},
	} {
		n, err := ParseNumeral(text, theory.MinorMode)
		if err != nil {
			t.Fatal(err)
		}
		r := Reading{a, n}
		for _, name := range want {
			c, err := theory.ParsePitchClass(name)
			if err != nil {
				t.Fatal(err)
			}
			if r.MemberOf(c) < 0 {
				t.Errorf("%s in A minor has no %s", text, name)
			}
		}
		if r.Size() != len(want) || r.Bass().String() != "F" {
			t.Errorf("%s in A minor has %d members over %s", text, r.Size(), r.Bass())
		}
	}
}

// profiles are those of Albrecht and Shanahan, "The Use of Large Corpora to
// Train a New Type of Key-Finding Algorithm", Music Perception 31 (2013), major
// and minor, from the tonic up.
var profiles = [2][12]float64{
	{.238, .006, .111, .006, .137, .094, .016, .214, .009, .080, .008, .081},
	{.220, .006, .104, .123, .019, .103, .012, .214, .062, .022, .061, .052},
}

// profileKey finds a key as chroma and mode by the nearest profile, the method
// of that paper.
func profileKey(t *theory.Texture) (tonic int, mode theory.Mode) {
	var heard [12]float64
	total := 0.0
	for v := range t.Voices {
		for _, n := range t.Voices[v].Notes {
			heard[n.Pitch.Class().Chroma()] += n.Duration.Float()
			total += n.Duration.Float()
		}
	}
	nearest := math.Inf(1)
	for m := range profiles {
		for k := range 12 {
			distance := 0.0
			for i := range 12 {
				d := heard[(k+i)%12]/total - profiles[m][i]
				distance += d * d
			}
			if distance < nearest {
				nearest, tonic, mode = distance, k, theory.Mode(m)
			}
		}
	}
	return tonic, mode
}

// Progressions in one key that the profile method places like their books must
// be placed so by the analysis, and the profiles must agree with most books.
func TestKeysAgreeWithProfiles(t *testing.T) {
	agreed := 0
	for _, p := range progressions {
		texture := theorytest.Chords(p.music)
		name, _, _ := strings.Cut(p.want, ":")
		printed, err := theory.ParseKey(name)
		if err != nil {
			t.Fatal(err)
		}
		tonic, mode := profileKey(texture)
		if tonic != printed.Tonic.Chroma() || mode != printed.Mode {
			continue
		}
		agreed++
		if got := Analyze(texture).Keys; len(got) != 1 || got[0].Key != printed {
			t.Errorf("%s: book and profile say %s, the analysis %v", p.source, printed, got)
		}
	}
	if agreed*4 < len(progressions)*3 {
		t.Errorf("the profiles agree with %d of %d books only: are they transcribed right?", agreed, len(progressions))
	}
}
