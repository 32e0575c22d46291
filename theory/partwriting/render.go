package partwriting

import (
	"fmt"
	"strconv"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
)

// render puts a message's argument into the words of the language.
func (c *Catalog) render(value any) string {
	switch v := value.(type) {
	case theory.Pitch:
		return c.Pitch(v)
	case theory.PitchClass:
		return c.pitchClass(v)
	case theory.Interval:
		return c.Interval(v)
	case theory.Key:
		return c.key(v)
	case Dyad:
		return c.Pitch(v.Low) + "–" + c.Pitch(v.High)
	case VoiceName:
		return c.voice(string(v))
	case Said:
		return c.Phrase(v.Phrase, v.Pairs...)
	case Word:
		return c.Words[v]
	case int:
		return strconv.Itoa(v)
	case string:
		return v
	}
	return fmt.Sprint(value)
}

// reading names a chord in its key, such as "V65/V in G major".
func (c *Catalog) reading(r harmony.Reading) string {
	return strings.NewReplacer("{chord}", r.Numeral.Text(r.Key.Mode), "{key}", c.key(r.Key)).Replace(c.ReadingForm)
}

func (c *Catalog) voice(name string) string {
	if word, ok := c.Voices[name]; ok && name != "V" {
		return word
	}
	if number, ok := strings.CutPrefix(name, "V"); ok {
		return c.Voices["V"] + " " + number
	}
	return name
}

func (c *Catalog) list(names []string) string {
	switch len(names) {
	case 0:
		return ""
	case 1:
		return names[0]
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " " + c.And + " " + names[last]
}

// Interval returns a name such as "augmented second", without direction.
func (c *Catalog) Interval(i theory.Interval) string {
	number, ok := c.Numbers[i.Number()]
	if !ok {
		number = strings.ReplaceAll(c.Numbers[0], "{number}", strconv.Itoa(i.Number()))
	}
	return strings.TrimSpace(c.Qualities[i.Quality().String()] + " " + number)
}

// Pitch returns a pitch as the language writes it: E♭5 or es”.
func (c *Catalog) Pitch(p theory.Pitch) string {
	if c.PitchNames == "german" {
		return germanPitch(p)
	}
	return c.pitchClass(p.Class()) + strconv.Itoa(int(p.Octave))
}

func (c *Catalog) pitchClass(p theory.PitchClass) string {
	if c.PitchNames == "german" {
		return capitalized(germanName(p))
	}
	sign := "♯"
	if p.Alter < 0 {
		sign = "♭"
	}
	return p.Step.String() + strings.Repeat(sign, abs(int(p.Alter)))
}

func (c *Catalog) key(k theory.Key) string {
	if c.PitchNames == "german" && k.Mode == theory.MinorMode {
		return germanName(k.Tonic) + "-" + c.Words[Word(k.Mode.String())]
	}
	if c.PitchNames == "german" {
		return c.pitchClass(k.Tonic) + "-" + c.Words[Word(k.Mode.String())]
	}
	return c.pitchClass(k.Tonic) + " " + c.Words[Word(k.Mode.String())]
}

// germanPitch writes octaves as Helmholtz did: C2 is C, C3 c, C4 c', C5 c”.
func germanPitch(p theory.Pitch) string {
	name := germanName(p.Class())
	if p.Octave >= 3 {
		return name + strings.Repeat("'", int(p.Octave)-3)
	}
	return capitalized(name) + strings.Repeat(",", 2-int(p.Octave))
}

// germanName spells h for B natural and b for B flat.
func germanName(p theory.PitchClass) string {
	letter := strings.ToLower(p.Step.String())
	if p.Step == theory.B {
		letter = "h"
	}
	switch {
	case p.Alter >= 0:
		return letter + strings.Repeat("is", int(p.Alter))
	case p.Step == theory.B && p.Alter == -1:
		return "b"
	case p.Step == theory.E || p.Step == theory.A:
		return letter + "s" + strings.Repeat("es", -int(p.Alter)-1)
	}
	return letter + strings.Repeat("es", -int(p.Alter))
}

func capitalized(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func abs(n int) int { return max(n, -n) }
