package texture

import (
	"fmt"
	"slices"
	"strings"
)

// Kind is a kind of texture.
type Kind int8

// Kinds of texture. The zero Kind stands for one that nobody has named, see [ParseKind].
const (
	// ByItself: the kind is to be read from the score.
	ByItself Kind = iota
	// Silent: nothing in the score is a voice.
	Silent
	// Choir has singable voices, each a line: chorales, hymns, four-part exercises.
	Choir
	// KeyboardStyle has three upper voices in the right hand within an octave and
	// the bass alone in the left (Open Music Theory v1).
	KeyboardStyle
	// Piano is music for a keyboard, with figures and chords of changing size.
	Piano
	// Song has one or two lines over a keyboard or a guitar.
	Song
	// Guitar is a guitar or another plucked instrument alone.
	Guitar
	// Ensemble is instruments or many parts that may double one another.
	Ensemble
	// Melody is one line alone.
	Melody
	// TwoVoices has two lines, such as species counterpoint.
	TwoVoices
	// LeadSheet is a melody with chord symbols, numerals or figures.
	LeadSheet
)

var names = [...]string{
	"by-itself", "silent", "choir", "keyboard-style", "piano", "song", "guitar", "ensemble", "melody", "two-voices", "lead-sheet",
}

// String returns the kind's name in kebab case, such as "keyboard-style".
func (k Kind) String() string { return names[k] }

// Names lists the kinds that a teacher can name: all but the first two.
func Names() []string { return slices.Clone(names[Choir:]) }

// ParseKind reads the name of a kind; "" is [ByItself].
func ParseKind(name string) (Kind, error) {
	if name == "" {
		return ByItself, nil
	}
	if i := slices.Index(names[:], name); i >= int(Choir) {
		return Kind(i), nil
	}
	return ByItself, fmt.Errorf("%q is no kind of texture: say %s", name, strings.Join(Names(), ", "))
}

// Doubles reports whether parts may double one another and a hand may play in
// octaves without a fault.
func (k Kind) Doubles() bool {
	switch k {
	case Piano, Song, Guitar, Ensemble:
		return true
	}
	return false
}
