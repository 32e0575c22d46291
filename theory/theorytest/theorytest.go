// Package theorytest writes textures as short lines of text, so that a test
// reads like a worked example in a textbook.
package theorytest

import (
	"fmt"
	"strings"

	"partwright/theory"
)

// Chords reads sonorities from the bass up, one quarter note each, separated by
// "|" ("/" also marks a bar line, "||" a double bar that ends a phrase):
//
//	C: I C3 G3 E4 C5 | ii6 F3 A3 D4 A4 | V7 G3 B3 F4 B4
//
// A key with a colon in front and a label before the pitches are optional and
// ignored here. A note in parentheses is written like any other; one with "'"
// after it stands under a fermata. "." holds the note that the voice has, "r"
// rests. Bars hold four quarters unless "/" or "||" ends them. It panics on
// anything else: it is for tests.
func Chords(text string) *theory.Texture { return ChordsOf(theory.Whole(1), text) }

// ChordsOf is [Chords] with another length for each sonority, in quarter notes.
func ChordsOf(unit theory.Fraction, text string) *theory.Texture {
	r := &reader{unit: unit, score: &theory.Score{
		Parts:      []theory.Part{{ID: "P1", Kind: theory.PitchedPart, Staves: 1, Layers: []string{"1"}}},
		Resolution: unit.Den(),
	}}
	text = strings.NewReplacer("||", " ‖ ", "|", " | ", "/ ", " ⁄ ").Replace(text)
	chord := []string{}
	for _, word := range append(strings.Fields(text), "⁄") {
		switch word {
		case "|", "⁄", "‖":
			r.chord(chord)
			chord = chord[:0]
			if word != "|" || r.position.Sub(r.barStart) == theory.Whole(4) {
				r.closeBar(word == "‖")
			}
		default:
			chord = append(chord, word)
		}
	}
	return r.texture()
}

type reader struct {
	unit               theory.Fraction
	score              *theory.Score
	voices             []theory.Voice // from the bass up
	position, barStart theory.Fraction
}

func (r *reader) closeBar(phrase bool) {
	if r.position == r.barStart {
		if n := len(r.score.Measures); phrase && n > 0 {
			r.score.Measures[n-1].PhraseBar = true
		}
		return
	}
	r.score.Measures = append(r.score.Measures, theory.Measure{
		Index: len(r.score.Measures), Label: fmt.Sprint(len(r.score.Measures) + 1),
		Onset: r.barStart, Length: r.position.Sub(r.barStart),
		Time: theory.TimeSignature{Beats: 4, BeatType: 4}, PhraseBar: phrase,
	})
	r.barStart = r.position
}

func (r *reader) chord(words []string) {
	column := 0
	for _, word := range words {
		word = strings.Trim(word, "()")
		name, fermata := strings.CutSuffix(word, "'")
		pitch, err := theory.ParsePitch(name)
		if err != nil && word != "." && word != "r" {
			if column > 0 {
				panic(fmt.Sprintf("theorytest.Chords: %q in %q", word, words))
			}
			continue
		}
		if len(r.voices) <= column {
			r.voices = append(r.voices, theory.Voice{})
		}
		voice := &r.voices[column]
		column++
		switch word {
		case "r":
		case ".":
			last := &voice.Notes[len(voice.Notes)-1]
			last.Duration = last.Duration.Add(r.unit)
		default:
			r.note(voice, pitch, fermata)
		}
	}
	if column > 0 {
		r.position = r.position.Add(r.unit)
	}
}

func (r *reader) note(voice *theory.Voice, pitch theory.Pitch, fermata bool) {
	id, measure := theory.NoteID(len(r.score.Notes)), int32(len(r.score.Measures))
	var flags theory.NoteFlags
	if fermata {
		flags = theory.Fermata
	}
	r.score.Notes = append(r.score.Notes, theory.Note{
		Onset: r.position, Duration: r.unit, Measure: measure, Flags: flags, Pitch: pitch, Written: pitch, Staff: 1,
	})
	voice.Notes = append(voice.Notes, theory.VoiceNote{
		Pitch: pitch, Onset: r.position, Duration: r.unit, Measure: measure, Flags: flags, IDs: []theory.NoteID{id},
	})
}

func (r *reader) texture() *theory.Texture {
	names := ""
	if len(r.voices) == 4 {
		names = "SATB"
	}
	down := make([]theory.Voice, 0, len(r.voices))
	for i := len(r.voices) - 1; i >= 0; i-- {
		v := r.voices[i]
		v.Staff, v.Found = 1, "as written"
		if v.Name = fmt.Sprintf("V%d", len(down)+1); names != "" {
			v.Name = names[len(down) : len(down)+1]
		}
		down = append(down, v)
	}
	return theory.NewTexture(r.score, theory.OpenScore, "as written", down)
}
