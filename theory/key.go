package theory

import (
	"fmt"
	"strings"
)

// Mode is the mode of a key.
type Mode int8

// The two modes of tonal harmony.
const (
	MajorMode Mode = iota
	MinorMode
)

// String returns "major" or "minor".
func (m Mode) String() string {
	if m == MinorMode {
		return "minor"
	}
	return "major"
}

// Key is a tonic and a mode: G major, C# minor.
type Key struct {
	Tonic PitchClass
	Mode  Mode
}

// MajorKey returns the major key on a tonic.
func MajorKey(tonic PitchClass) Key { return Key{tonic, MajorMode} }

// MinorKey returns the minor key on a tonic.
func MinorKey(tonic PitchClass) Key { return Key{tonic, MinorMode} }

// Signature returns the number of sharps (positive) or flats of the key's
// signature.
func (k Key) Signature() int {
	if k.Mode == MinorMode {
		return k.Tonic.Fifths() - 3
	}
	return k.Tonic.Fifths()
}

// Relative returns the key with the same signature in the other mode.
func (k Key) Relative() Key {
	if k.Mode == MinorMode {
		return Key{PitchClassAtFifths(k.Tonic.Fifths() - 3), MajorMode}
	}
	return Key{PitchClassAtFifths(k.Tonic.Fifths() + 3), MinorMode}
}

// degreeFifths is how far the degrees lie above the tonic, in fifths, by mode.
var degreeFifths = [2][7]int8{MajorMode: {0, 2, 4, -1, 1, 3, 5}, MinorMode: {0, 2, -3, -1, 1, -4, -2}}

// Scale returns the seven degrees; in minor the natural scale.
func (k Key) Scale() [7]PitchClass {
	var scale [7]PitchClass
	for i := range scale {
		scale[i] = k.At(i + 1)
	}
	return scale
}

// At returns a degree of [Key.Scale], 1 to 7.
func (k Key) At(degree int) PitchClass {
	return PitchClassAtFifths(k.Tonic.Fifths() + int(degreeFifths[k.Mode][degree-1]))
}

// LeadingTone returns the note a semitone under the tonic; in minor it is raised.
func (k Key) LeadingTone() PitchClass { return PitchClassAtFifths(k.Tonic.Fifths() + 5) }

// Degree returns the scale degree of a note, 1 to 7 by letter name, and how many
// semitones it is raised or lowered against [Key.Scale]. The raised seventh
// degree of minor is (7, +1).
func (k Key) Degree(c PitchClass) (degree int, alter int) {
	i := mod(int(c.Step)-int(k.Tonic.Step), 7)
	return i + 1, int(c.Alter) - int(k.At(i+1).Alter)
}

// String returns "G major" or "C# minor".
func (k Key) String() string { return k.Tonic.String() + " " + k.Mode.String() }

// Abbreviation returns the short form of analyses: "G" for G major, "g" for
// G minor, "bb" for B-flat minor.
func (k Key) Abbreviation() string {
	s := k.Tonic.String()
	if k.Mode == MinorMode {
		return strings.ToLower(s[:1]) + s[1:]
	}
	return s
}

// ParseKey reads "G", "g", "F#", "bb", "G major" or "c# minor".
func ParseKey(s string) (Key, error) {
	fail := fmt.Errorf("%q is not a key such as G, f# or Bb major", s)
	name, mode, named := strings.Cut(strings.TrimSpace(s), " ")
	if name == "" {
		return Key{}, fail
	}
	k := Key{}
	if name[0] >= 'a' && name[0] <= 'g' {
		k.Mode = MinorMode
	}
	tonic, err := ParsePitchClass(strings.ToUpper(name[:1]) + name[1:])
	if err != nil {
		return Key{}, fail
	}
	k.Tonic = tonic
	if named {
		switch strings.TrimSpace(mode) {
		case "major":
			k.Mode = MajorMode
		case "minor":
			k.Mode = MinorMode
		default:
			return Key{}, fail
		}
	}
	return k, nil
}

// KeySignature is what is printed at the start of a staff.
type KeySignature struct {
	// Fifths counts sharps (positive) or flats (negative).
	Fifths int8
	// Mode is what the document says beside it, if anything; many programs
	// write "major" whatever the key, so it is a hint and no more.
	Mode SignatureMode
	// Other is true for a signature that is no row of fifths.
	Other bool
}

// SignatureMode is the mode a document states beside a key signature.
type SignatureMode int8

// Stated modes.
const (
	NoMode SignatureMode = iota
	StatedMajor
	StatedMinor
	StatedOther
)

// Alter returns the alteration the signature gives to a letter name.
func (s KeySignature) Alter(step Step) int8 {
	n := PitchClass{Step: step}.Fifths() // F is -1, B is 5
	switch {
	case s.Fifths > 0 && n < int(s.Fifths)-1:
		return int8(1 + (int(s.Fifths)-2-n)/7)
	case s.Fifths < 0 && n > 5+int(s.Fifths):
		return int8(-1 - (n-6-int(s.Fifths))/7)
	}
	return 0
}

// KeyChange is a key signature taking effect, brought to sounding pitch as the
// notes are: two sharps on a clarinet in B flat are none.
type KeyChange struct {
	Onset Fraction
	// Part is the index in [Score.Parts]; Staff is 0 when all its staves change.
	Part, Staff int
	Signature   KeySignature
}
