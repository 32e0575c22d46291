package theory

import "testing"

func TestPitchHeights(t *testing.T) {
	// W3C MusicXML 4.0: octave 4 is the one started by middle C, alter counts
	// semitones. MIDI 1.0 Detailed Specification: middle C is key 60, and A 440,
	// the pitch of ISO 16, key 69 (key numbers from memory).
	tests := []struct {
		pitch                     string
		semitones, diatonic, midi int
		why                       string
	}{
		{"C4", 48, 28, 60, "middle C"},
		{"A4", 57, 33, 69, "the standard pitch"},
		{"B3", 47, 27, 59, "the octave changes between B and C"},
		{"Cb4", 47, 28, 59, "a flat does not change the octave's number"},
		{"B#3", 48, 27, 60, "nor does a sharp"},
		{"C##5", 62, 35, 74, "a double sharp"},
		{"Cx5", 62, 35, 74, "x is another spelling of a double sharp"},
		{"Ebb5", 62, 37, 74, "a double flat"},
		{"C0", 0, 0, 12, "the lowest octave of MusicXML"},
		{"A-1", -3, -2, 9, "below it"},
		{"C-1", -12, -7, 0, "the lowest key"},
		{"G9", 115, 67, 127, "the highest key"},
	}
	for _, tt := range tests {
		p := MustPitch(tt.pitch)
		if p.Semitones() != tt.semitones || p.Diatonic() != tt.diatonic || p.MIDI() != tt.midi {
			t.Errorf("%s (%s): %d semitones, %d letters, key %d; want %d, %d, %d",
				tt.pitch, tt.why, p.Semitones(), p.Diatonic(), p.MIDI(), tt.semitones, tt.diatonic, tt.midi)
		}
	}
}

func TestParsePitchRefuses(t *testing.T) {
	for text, why := range map[string]string{
		"": "nothing", "4": "no letter", "C": "no octave", "H4": "no such letter", "c4": "letters are upper case",
		"C10": "one digit", "C--1": "two signs", "C+4": "a plus", "C#b4": "sharp and flat", "Cb#4": "flat and sharp",
		"C#####4": "further than any accidental", "Cxxx4": "further than any accidental",
		" C4": "space", "C4 ": "space", "C♯4": "not one of the signs read",
	} {
		if p, err := ParsePitch(text); err == nil {
			t.Errorf("%q (%s) was read as %v", text, why, p)
		}
	}
}

func TestEnharmonicSpellings(t *testing.T) {
	// The twelve keys of an octave with their usual spellings, as drawn in
	// Schmidt-Jones, Understanding Basic Music Theory (2013), section 1.1.5.
	table := [12][]string{
		{"C", "B#", "Dbb"}, {"C#", "Db"}, {"D", "C##", "Ebb"}, {"D#", "Eb"}, {"E", "Fb", "D##"}, {"F", "E#", "Gbb"},
		{"F#", "Gb"}, {"G", "F##", "Abb"}, {"G#", "Ab"}, {"A", "G##", "Bbb"}, {"A#", "Bb"}, {"B", "Cb", "A##"},
	}
	for chroma, names := range table {
		for _, name := range names {
			c, err := ParsePitchClass(name)
			if err != nil {
				t.Fatal(err)
			}
			if c.Chroma() != chroma {
				t.Errorf("%s is key %d of the octave, want %d", name, c.Chroma(), chroma)
			}
			if c.String() != name {
				t.Errorf("%s is written %s", name, c)
			}
		}
	}
}

func TestLineOfFifths(t *testing.T) {
	// The line of fifths through the circle's fifteen major keys: Schmidt-Jones,
	// Understanding Basic Music Theory (2013), "The Circle of Fifths"; W3C
	// MusicXML 4.0, element fifths.
	line := []string{"Fb", "Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#", "G#"}
	for i, name := range line {
		fifths := i - 8
		c, err := ParsePitchClass(name)
		if err != nil {
			t.Fatal(err)
		}
		if c.Fifths() != fifths || PitchClassAtFifths(fifths) != c {
			t.Errorf("%s stands at %d and %v at %d on the line of fifths", name, c.Fifths(), PitchClassAtFifths(fifths), fifths)
		}
		if i > 0 {
			if below := PitchClassAtFifths(fifths - 1); below.Transpose(PerfectFifth) != c {
				t.Errorf("a fifth over %v is %v, want %v", below, below.Transpose(PerfectFifth), c)
			}
		}
	}
	for n := -40; n <= 40; n++ {
		if got := PitchClassAtFifths(n).Fifths(); got != n {
			t.Errorf("place %d on the line of fifths comes back as %d", n, got)
		}
	}
}

func TestTranspose(t *testing.T) {
	tests := []struct{ from, interval, to, why string }{
		{"C4", "P5", "G4", "a fifth over middle C"},
		{"B3", "m2", "C4", "over the octave's edge"},
		{"B3", "A1", "B#3", "an augmented unison keeps its letter"},
		{"F4", "A4", "B4", "the tritone of the white keys"},
		{"B4", "d5", "F5", "and its inversion"},
		{"Ab4", "d7", "Gbb5", "spelling is kept, however odd"},
		{"G#4", "M3", "B#4", "a major third, not a diminished fourth"},
		{"C4", "-M2", "Bb3", "down a step, as a clarinet in B flat sounds"},
		{"C4", "-P8", "C3", "down an octave"},
		{"C4", "P12", "G5", "a compound interval"},
		{"Cb4", "-m2", "Bb3", "below an octave's edge"},
	}
	for _, tt := range tests {
		i := mustInterval(t, tt.interval)
		if got := MustPitch(tt.from).Transpose(i); got != MustPitch(tt.to) {
			t.Errorf("%s %s is %v, want %s: %s", tt.from, tt.interval, got, tt.to, tt.why)
		}
	}
}

// everyPitch calls f with every pitch from C1 to B7 with up to two accidentals.
func everyPitch(f func(Pitch)) {
	for octave := int8(1); octave <= 7; octave++ {
		for step := C; step <= B; step++ {
			for alter := int8(-2); alter <= 2; alter++ {
				f(Pitch{step, alter, octave})
			}
		}
	}
}

func TestTransposeThereAndBack(t *testing.T) {
	everyPitch(func(p Pitch) {
		for steps := -15; steps <= 15; steps++ {
			for _, off := range []int{-1, 0, 1} {
				i := Interval{steps, floorDiv(steps*12, 7) + off}
				q := p.Transpose(i)
				if back := q.Transpose(i.Invert()); back != p {
					t.Fatalf("%v up %v is %v, and back %v", p, i, q, back)
				}
				if got := Between(p, q); got != i {
					t.Fatalf("from %v to %v is %+v, want %+v", p, q, got, i)
				}
			}
		}
	})
}

func TestTwelveFifthsSpellAComma(t *testing.T) {
	p := MustPitch("C1")
	for range 12 {
		p = p.Transpose(PerfectFifth)
	}
	for range 7 {
		p = p.Transpose(PerfectOctave.Invert())
	}
	if p != MustPitch("B#0") {
		t.Errorf("twelve fifths up and seven octaves down from C1 is %v, want B#0: the spelling remembers", p)
	}
}

func FuzzParsePitch(f *testing.F) {
	for _, seed := range []string{"C4", "F#4", "Bb3", "Cx5", "A-1", "Ebb0", "", "H", "C#b4", "C99", "Bbbbbb4"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		p, err := ParsePitch(text)
		if err != nil {
			if p != (Pitch{}) {
				t.Errorf("%q: an error and a pitch, %v", text, p)
			}
			return
		}
		again, err := ParsePitch(p.String())
		if err != nil || again != p {
			t.Errorf("%q is %v, which reads back as %v, %v", text, p, again, err)
		}
	})
}
