package theory

import "testing"

func mustInterval(t testing.TB, text string) Interval {
	t.Helper()
	i, err := ParseInterval(text)
	if err != nil {
		t.Fatal(err)
	}
	return i
}

func TestIntervalSizes(t *testing.T) {
	// Sizes in half steps: Schmidt-Jones, Understanding Basic Music Theory (2013),
	// section 4.5.3, perfect, major and minor intervals; augmented and diminished
	// ones are a half step larger and smaller than those.
	tests := []struct {
		name             string
		steps, semitones int
		from, to         string
	}{
		{"P1", 0, 0, "D4", "D4"}, {"m2", 1, 1, "E4", "F4"}, {"M2", 1, 2, "C4", "D4"}, {"m3", 2, 3, "A4", "C5"},
		{"M3", 2, 4, "Ab3", "C4"}, {"P4", 3, 5, "G3", "C4"}, {"P5", 4, 7, "B3", "F#4"}, {"m6", 5, 8, "E4", "C5"},
		{"M6", 5, 9, "Bb3", "G4"}, {"m7", 6, 10, "F#3", "E4"}, {"M7", 6, 11, "C4", "B4"}, {"P8", 7, 12, "Eb4", "Eb5"},
		{"A1", 0, 1, "F4", "F#4"}, {"A2", 1, 3, "F4", "G#4"}, {"A4", 3, 6, "F4", "B4"}, {"d5", 4, 6, "B3", "F4"},
		{"A5", 4, 8, "C4", "G#4"}, {"A6", 5, 10, "Ab3", "F#4"}, {"d7", 6, 9, "G#3", "F4"}, {"d3", 2, 2, "F#4", "Ab4"},
		{"d4", 3, 4, "G#3", "C4"}, {"d8", 7, 11, "C#4", "C5"}, {"A8", 7, 13, "C4", "C#5"}, {"d2", 1, 0, "G#4", "Ab4"},
		{"m9", 8, 13, "E4", "F5"}, {"M10", 9, 16, "C4", "E5"}, {"P11", 10, 17, "C4", "F5"}, {"P12", 11, 19, "C4", "G5"},
		{"P15", 14, 24, "C4", "C6"}, {"d12", 11, 18, "B3", "F5"}, {"d15", 14, 23, "C#4", "C6"},
		{"dd5", 4, 5, "B3", "Fb4"}, {"AA4", 3, 7, "Fb4", "B4"}, {"dd7", 6, 8, "G#3", "Fb4"},
	}
	seen := map[Interval]bool{}
	for _, tt := range tests {
		i := mustInterval(t, tt.name)
		if i != (Interval{tt.steps, tt.semitones}) {
			t.Errorf("%s is %+v, want %d letters and %d semitones", tt.name, i, tt.steps, tt.semitones)
		}
		if got := Between(MustPitch(tt.from), MustPitch(tt.to)); got != i {
			t.Errorf("%s to %s is %v, want %s", tt.from, tt.to, got, tt.name)
		}
		if i.String() != tt.name || i.Number() != tt.steps+1 {
			t.Errorf("%s is written %v, number %d", tt.name, i, i.Number())
		}
		if seen[i] {
			t.Errorf("%s stands twice in the table", tt.name)
		}
		seen[i] = true
	}
}

func TestInversionsAddUpToAnOctave(t *testing.T) {
	// Schmidt-Jones, Understanding Basic Music Theory (2013), section 4.5.5:
	// numbers add up to nine; major turns to minor, augmented to diminished, and
	// perfect stays.
	turned := map[Quality]Quality{
		Perfect: Perfect, Major: Minor, Minor: Major, Augmented: Diminished, Diminished: Augmented,
		DoublyAugmented: DoublyDiminished, DoublyDiminished: DoublyAugmented,
	}
	for steps := 0; steps <= 7; steps++ {
		for off := -3; off <= 3; off++ {
			i := Interval{steps, semitonesAbove[steps%7] + 12*(steps/7) + off}
			inversion := Interval{7 - i.Steps, 12 - i.Semitones}
			if i.Quality() == OtherQuality || i.Descends() || inversion.Descends() || (steps == 7 && off > 0) {
				continue
			}
			if i.Number()+inversion.Number() != 9 || inversion.Quality() != turned[i.Quality()] {
				t.Errorf("the inversion of %v is %v", i, inversion)
			}
		}
	}
}

func TestCompoundKeepsQuality(t *testing.T) {
	for _, name := range []string{"P1", "m2", "M3", "P4", "A4", "d5", "P5", "m6", "M7", "d8", "A8"} {
		i := mustInterval(t, name)
		wide := Interval{i.Steps + 7, i.Semitones + 12}
		if wide.Quality() != i.Quality() {
			t.Errorf("%s and an octave is %v", name, wide)
		}
		if wide.Simple() != i.Simple() {
			t.Errorf("%s and an octave reduces to %+v, %s to %+v", name, wide.Simple(), name, i.Simple())
		}
		if s := wide.Simple().Steps; s < 0 || s > 6 {
			t.Errorf("%s and an octave reduces to %d letters", name, s)
		}
	}
}

func TestDirection(t *testing.T) {
	tests := []struct {
		text     string
		descends bool
		abs      string
	}{
		{"P5", false, "P5"}, {"-P5", true, "P5"}, {"-A1", true, "A1"}, {"A1", false, "A1"}, {"P1", false, "P1"}, {"-d8", true, "d8"},
	}
	for _, tt := range tests {
		i := mustInterval(t, tt.text)
		if i.Descends() != tt.descends || i.Abs().String() != tt.abs || i.Invert().Invert() != i || i.String() != tt.text {
			t.Errorf("%s: descends %v, upwards %v, written %v", tt.text, i.Descends(), i.Abs(), i)
		}
	}
	if !mustInterval(t, "P12").IsPerfectFifth() || mustInterval(t, "d5").IsPerfectFifth() || mustInterval(t, "P4").IsPerfectFifth() {
		t.Error("a twelfth is a perfect fifth, a diminished fifth and a fourth are not")
	}
	if !mustInterval(t, "P15").IsPerfectOctave() || !Unison.IsPerfectOctave() || mustInterval(t, "d8").IsPerfectOctave() {
		t.Error("a fifteenth and a unison are octaves, a diminished octave is not")
	}
	if !mustInterval(t, "-m2").IsStep() || mustInterval(t, "A1").IsStep() || mustInterval(t, "M9").IsStep() {
		t.Error("a second is a step, an augmented unison and a ninth are not")
	}
}

func TestParseIntervalRefuses(t *testing.T) {
	for text, why := range map[string]string{
		"": "nothing", "P": "no number", "5": "no quality", "P0": "intervals count from 1", "P05": "a leading zero",
		"P3": "thirds are not perfect", "M5": "fifths are not major", "m4": "nor minor", "d1": "a unison cannot shrink",
		"P5x": "something after it", "xP5": "something before it", "--P5": "two signs", "P99": "too wide",
		"P99999999999999999999": "not a number that fits", "ddd5": "further than doubly", "?5": "the sign for what has no name",
	} {
		if i, err := ParseInterval(text); err == nil {
			t.Errorf("%q (%s) was read as %v", text, why, i)
		}
	}
}

func FuzzParseInterval(f *testing.F) {
	for _, seed := range []string{"P5", "-m3", "A11", "d8", "dd7", "P1", "-A1", "", "5P", "P5foo", "d1", "M64"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		i, err := ParseInterval(text)
		if err != nil {
			if i != (Interval{}) {
				t.Errorf("%q: an error and an interval, %+v", text, i)
			}
			return
		}
		again, err := ParseInterval(i.String())
		if err != nil || again != i {
			t.Errorf("%q is %+v, which reads back as %+v, %v", text, i, again, err)
		}
	})
}

func TestMotionOf(t *testing.T) {
	// The four motions: Open Music Theory v1, "Introduction to species
	// counterpoint"; Hutchinson, Music Theory for the 21st-Century Classroom, 26.
	tests := []struct {
		a, b string
		want Motion
		why  string
	}{
		{"P1", "P1", NoMotion, "notes struck again do not move"},
		{"P1", "M2", Oblique, "one voice stays"},
		{"M2", "-M2", Contrary, "opposite directions"},
		{"M2", "P4", Similar, "one direction, different sizes"},
		{"M2", "m2", Parallel, "one direction, the same number of letters"},
		{"-P5", "-P5", Parallel, "downwards too"},
		{"A1", "M2", Similar, "a chromatic step and a whole one"},
		{"A1", "A1", Parallel, "two chromatic steps"},
		{"d2", "M2", Parallel, "an enharmonic change is read by its letter"},
	}
	for _, tt := range tests {
		a, b := mustInterval(t, tt.a), mustInterval(t, tt.b)
		if got := MotionOf(a, b); got != tt.want || MotionOf(b, a) != got {
			t.Errorf("%s against %s is %v, want %v: %s", tt.a, tt.b, got, tt.want, tt.why)
		}
	}
}
