package theory

import (
	"strings"
	"testing"
)

// circle is the circle of fifths with its signatures: Schmidt-Jones,
// Understanding Basic Music Theory (2013), section 4.7; W3C MusicXML 4.0,
// element fifths, counts sharps up and flats down.
var circle = []struct {
	fifths       int
	major, minor string
	scale        string
}{
	{-7, "Cb", "ab", "Cb Db Eb Fb Gb Ab Bb"},
	{-6, "Gb", "eb", "Gb Ab Bb Cb Db Eb F"},
	{-5, "Db", "bb", "Db Eb F Gb Ab Bb C"},
	{-4, "Ab", "f", "Ab Bb C Db Eb F G"},
	{-3, "Eb", "c", "Eb F G Ab Bb C D"},
	{-2, "Bb", "g", "Bb C D Eb F G A"},
	{-1, "F", "d", "F G A Bb C D E"},
	{0, "C", "a", "C D E F G A B"},
	{1, "G", "e", "G A B C D E F#"},
	{2, "D", "b", "D E F# G A B C#"},
	{3, "A", "f#", "A B C# D E F# G#"},
	{4, "E", "c#", "E F# G# A B C# D#"},
	{5, "B", "g#", "B C# D# E F# G# A#"},
	{6, "F#", "d#", "F# G# A# B C# D# E#"},
	{7, "C#", "a#", "C# D# E# F# G# A# B#"},
}

func mustKey(t testing.TB, text string) Key {
	t.Helper()
	k, err := ParseKey(text)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestCircleOfFifths(t *testing.T) {
	for _, row := range circle {
		major, minor := mustKey(t, row.major), mustKey(t, row.minor)
		if major.Signature() != row.fifths || minor.Signature() != row.fifths {
			t.Errorf("%v has signature %d, %v %d, want %d", major, major.Signature(), minor, minor.Signature(), row.fifths)
		}
		if major.Relative() != minor || minor.Relative() != major {
			t.Errorf("the relatives of %v and %v are %v and %v", major, minor, major.Relative(), minor.Relative())
		}
		if major.Abbreviation() != row.major || minor.Abbreviation() != row.minor {
			t.Errorf("%v and %v are abbreviated %s and %s", major, minor, major.Abbreviation(), minor.Abbreviation())
		}
		var scale []string
		for _, c := range major.Scale() {
			scale = append(scale, c.String())
			if got := (KeySignature{Fifths: int8(row.fifths)}).Alter(c.Step); got != c.Alter {
				t.Errorf("the signature of %v alters %v by %d, want %d", major, c.Step, got, c.Alter)
			}
		}
		if got := strings.Join(scale, " "); got != row.scale {
			t.Errorf("the scale of %v is %s, want %s", major, got, row.scale)
		}
		// The natural minor scale is the relative major's from its sixth degree.
		m, n := major.Scale(), minor.Scale()
		for i := range n {
			if n[i] != m[(i+5)%7] {
				t.Errorf("degree %d of %v is %v, want %v", i+1, minor, n[i], m[(i+5)%7])
			}
		}
	}
}

func TestSignaturesBeyondSeven(t *testing.T) {
	// W3C MusicXML 4.0 does not bound fifths: eight sharps double the first.
	tests := []struct {
		fifths int8
		step   Step
		want   int8
	}{
		{8, F, 2}, {8, C, 1}, {9, C, 2}, {14, B, 2}, {15, F, 3},
		{-8, B, -2}, {-8, E, -1}, {-9, E, -2}, {-14, F, -2}, {-15, B, -3}, {0, F, 0},
	}
	for _, tt := range tests {
		if got := (KeySignature{Fifths: tt.fifths}).Alter(tt.step); got != tt.want {
			t.Errorf("%d fifths alter %v by %d, want %d", tt.fifths, tt.step, got, tt.want)
		}
	}
}

func TestLeadingTone(t *testing.T) {
	// A half step under the tonic, raised in minor: Open Music Theory v1.
	for key, want := range map[string]string{
		"C": "B", "G": "F#", "F": "E", "a": "G#", "d": "C#", "g": "F#", "f#": "E#", "g#": "F##", "Gb": "F", "eb": "D",
	} {
		k := mustKey(t, key)
		if got := k.LeadingTone().String(); got != want {
			t.Errorf("the leading tone of %v is %s, want %s", k, got, want)
		}
		if up := k.LeadingTone().Transpose(MinorSecond); up != k.Tonic {
			t.Errorf("a half step over the leading tone of %v is %v", k, up)
		}
		degree, alter := k.Degree(k.LeadingTone())
		if degree != 7 || (alter == 1) != (k.Mode == MinorMode) {
			t.Errorf("the leading tone of %v is degree %d, altered by %d", k, degree, alter)
		}
	}
}

func TestDegree(t *testing.T) {
	tests := []struct {
		key, note     string
		degree, alter int
	}{
		{"C", "C", 1, 0}, {"C", "F#", 4, 1}, {"C", "Bb", 7, -1}, {"G", "F", 7, -1}, {"G", "F#", 7, 0},
		{"a", "F", 6, 0}, {"a", "F#", 6, 1}, {"a", "Bb", 2, -1}, {"Eb", "Cb", 6, -1}, {"c#", "B#", 7, 1},
	}
	for _, tt := range tests {
		c, err := ParsePitchClass(tt.note)
		if err != nil {
			t.Fatal(err)
		}
		if d, a := mustKey(t, tt.key).Degree(c); d != tt.degree || a != tt.alter {
			t.Errorf("%s in %s is degree %d altered by %d, want %d, %d", tt.note, tt.key, d, a, tt.degree, tt.alter)
		}
	}
}

func TestParseKey(t *testing.T) {
	for text, want := range map[string]string{
		"G": "G major", "g": "G minor", "F#": "F# major", "bb": "Bb minor", "b": "B minor", "B": "B major",
		"Bb major": "Bb major", "c# minor": "C# minor", "C minor": "C minor", " d ": "D minor", "a  minor": "A minor",
	} {
		if k, err := ParseKey(text); err != nil || k.String() != want {
			t.Errorf("%q is %v, %v; want %s", text, k, err, want)
		}
	}
	for _, text := range []string{"", " ", "H", "h", "Cm", "C dorian", "C major minor", "#", "é", "C########"} {
		if k, err := ParseKey(text); err == nil {
			t.Errorf("%q was read as %v", text, k)
		}
	}
}

func FuzzParseKey(f *testing.F) {
	for _, seed := range []string{"G", "g", "bb", "Bb major", "c# minor", "", "H", "Cm", "\xff", "C  minor"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		k, err := ParseKey(text)
		if err != nil {
			if k != (Key{}) {
				t.Errorf("%q: an error and a key, %v", text, k)
			}
			return
		}
		for _, written := range []string{k.String(), k.Abbreviation()} {
			if again, err := ParseKey(written); err != nil || again != k {
				t.Errorf("%q is %v, written %q, which reads back as %v, %v", text, k, written, again, err)
			}
		}
		if k.Relative().Relative() != k || k.Relative().Signature() != k.Signature() {
			t.Errorf("%v and its relative %v do not share a signature", k, k.Relative())
		}
	})
}
