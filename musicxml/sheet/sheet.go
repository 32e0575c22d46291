// Package sheet writes new scores: what a voicing, an exercise or a model answer
// looks like as MusicXML 4.0. It sets notes, ties, accidentals, clefs, keys,
// metres and labels and leaves layout to the program that opens the file.
//
// It does not change scores that were read; that is the business of package
// musicxml.
package sheet

import (
	"fmt"
	"slices"
	"strings"

	"partwright/theory"
	"partwright/theory/harmony"
)

// Sheet is what is to be written.
type Sheet struct {
	// Work is the budget that writing draws on, nil for none.
	Work *theory.Work
	// Title is left out where there is a Subtitle, which says both.
	Title, Subtitle string
	Texture         *theory.Texture
	// Staves are from the top down. See [Open], [Closed] and [Keyboard].
	Staves []Staff
	// Below stands under the lowest staff, Above over the top one: reasons and
	// what signs mean. In order of onset.
	Below, Above []Label
	// Figures stand under the notes of the lowest staff, in order of onset.
	Figures []Figures
	// Sung is what the voices sing, in order of onset.
	Sung []Sung
	// IDs gets the ids of the notes and gives every note and measure one in the document;
	// nil for none.
	IDs *IDs
}

// IDs are the ids of a sheet's notes. They name part, measure and note by count from 1,
// as those that package musicxml gives to documents without any do.
type IDs struct{ notes map[source][]string }

// Note returns the ids of the written notes of a note of the sheet's texture, the first
// of a tie first; none for a note that the sheet does not show.
func (i *IDs) Note(voice, note int) []string { return i.notes[source{voice, note}] }

func (i *IDs) add(of source, id string) {
	if i.notes == nil {
		i.notes = map[source][]string{}
	}
	i.notes[of] = append(i.notes[of], id)
}

// source is a note of a texture.
type source struct{ voice, note int }

// Figures are thoroughbass figures from a moment on, from the top; none means that
// those before are over.
type Figures struct {
	Onset theory.Fraction
	Stack []theory.Figure
}

// Staff is one staff, written as a part of its own.
type Staff struct {
	Name string
	Clef Clef
	// Voices index the texture's voices, from the top of the staff.
	Voices []int
	// AsChords sets voices that move together as chords on one stem.
	AsChords bool
	// Blank leaves the staff empty, for an exercise.
	Blank bool
	// Texture is the music of the staff where it is not that of the sheet: other
	// music over the same measures, as where versions stand one above the other.
	Texture *theory.Texture
	// Numerals name chords under the staff, Symbols over it, in order of onset.
	Numerals, Symbols []harmony.Harmony
	// Below stands under the staff, Above over it, in order of onset.
	Below, Above []Label
}

// texture is the music of a staff.
func (s *Sheet) texture(staff *Staff) *theory.Texture {
	if staff.Texture != nil {
		return staff.Texture
	}
	return s.Texture
}

// Beneath sets versions of the same music one above the other: their staves in
// turn, the first of each named as the version is.
func Beneath(names []string, textures []*theory.Texture, layout func(*theory.Texture) []Staff) []Staff {
	var out []Staff
	for i, t := range textures {
		for k, staff := range layout(t) {
			staff.Name, staff.Texture = "", t
			if k == 0 {
				staff.Name = names[i]
			}
			out = append(out, staff)
		}
	}
	return out
}

// Exercise shows the given voices of a layout and leaves empty what is to be
// found.
func Exercise(staves []Staff, given []int) []Staff {
	out := slices.Clone(staves)
	for i := range out {
		shown := slices.DeleteFunc(slices.Clone(out[i].Voices), func(v int) bool { return !slices.Contains(given, v) })
		if len(shown) == 0 {
			out[i].Blank = true
		} else {
			out[i].Voices = shown
		}
	}
	return out
}

// Clef is a clef.
type Clef int8

// Clefs.
const (
	Treble Clef = iota
	TenorTreble
	Bass
)

// Label is a text at a moment.
type Label struct {
	Onset theory.Fraction
	Text  string
}

// Open gives every voice a staff.
func Open(t *theory.Texture) []Staff {
	var staves []Staff
	for v := range t.Voices {
		staves = append(staves, Staff{Name: longName(t.Voices[v].Name), Clef: clefFor(&t.Voices[v]), Voices: []int{v}})
	}
	return staves
}

// Closed sets the voices on two staves, the upper half on the treble staff.
func Closed(t *theory.Texture) []Staff {
	upper, lower := halves(t, (len(t.Voices)+1)/2)
	return []Staff{{Name: names(t, upper), Clef: Treble, Voices: upper}, {Name: names(t, lower), Clef: Bass, Voices: lower}}
}

// Keyboard sets all voices but the lowest as chords for the right hand.
func Keyboard(t *theory.Texture) []Staff {
	upper, lower := halves(t, max(len(t.Voices)-1, 1))
	return []Staff{{Name: "Right hand", Clef: Treble, Voices: upper, AsChords: true}, {Name: "Left hand", Clef: Bass, Voices: lower}}
}

func halves(t *theory.Texture, n int) (upper, lower []int) {
	for v := range t.Voices {
		if v < n {
			upper = append(upper, v)
		} else {
			lower = append(lower, v)
		}
	}
	return upper, lower
}

func names(t *theory.Texture, voices []int) string {
	s := ""
	for i, v := range voices {
		if i > 0 {
			s += ", "
		}
		s += longName(t.Voices[v].Name)
	}
	return s
}

func longName(name string) string {
	voice := strings.TrimRight(name, "0123456789")
	long, ok := map[string]string{"S": "Soprano", "A": "Alto", "T": "Tenor", "B": "Bass"}[voice]
	switch {
	case !ok:
		return name
	case voice == name:
		return long
	}
	return long + " " + strings.TrimPrefix(name, voice)
}

// clefFor chooses by the middle of the voice's compass.
func clefFor(v *theory.Voice) Clef {
	if v.Name == "T" {
		return TenorTreble
	}
	sum := 0
	for i := range v.Notes {
		sum += v.Notes[i].Pitch.Diatonic()
	}
	if len(v.Notes) > 0 && sum < 28*len(v.Notes) { // below middle C on average
		return Bass
	}
	return Treble
}

func (s *Sheet) validate() error {
	if s.Texture == nil || len(s.Texture.Score.Measures) == 0 {
		return fmt.Errorf("there is no measure to write")
	}
	if len(s.Staves) == 0 {
		return fmt.Errorf("a sheet needs at least one staff")
	}
	for i := range s.Staves {
		if len(s.Staves[i].Voices) == 0 {
			return fmt.Errorf("staff %d has no voice", i+1)
		}
		for _, v := range s.Staves[i].Voices {
			if n := len(s.texture(&s.Staves[i]).Voices); v < 0 || v >= n {
				return fmt.Errorf("staff %d names voice %d, the texture has %d", i+1, v+1, n)
			}
		}
	}
	return nil
}
