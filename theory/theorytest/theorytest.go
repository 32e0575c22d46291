// Package theorytest writes textures as short lines of text, so that a test
// reads like a worked example in a textbook.
package theorytest

import (
	"fmt"
	"strings"

	"partwright/theory"
)

// Chords reads sonorities from the bass up, one quarter note each, separated by
// "|" ("/" also marks a bar line, "||" and a final bar line are passed over):
//
//	C: I C3 G3 E4 C5 | ii6 F3 A3 D4 A4 | V7 G3 B3 F4 B4
//
// A key with a colon in front and a label before the pitches are optional and
// ignored here. A note in parentheses is written like any other. "." holds the
// note of the voice below the dot's column, "r" rests. Bars hold four quarters
// unless "/" ends them. It panics on anything else: it is for tests.
func Chords(text string) *theory.Texture {
	score := &theory.Score{Parts: []theory.Part{{ID: "P1", Kind: theory.PitchedPart, Staves: 1, Layers: []string{"1"}}}, Resolution: 1}
	text = strings.ReplaceAll(text, "||", "|")
	text = strings.ReplaceAll(text, "/ ", " / ")
	var voices []theory.Voice // from the bass up while reading
	position, barStart := int64(0), int64(0)
	common := theory.TimeSignature{Beats: 4, BeatType: 4}
	closeBar := func() {
		if position == barStart {
			return
		}
		score.Measures = append(score.Measures, theory.Measure{
			Index: len(score.Measures), Label: fmt.Sprint(len(score.Measures) + 1),
			Onset: theory.Whole(barStart), Length: theory.Whole(position - barStart), Time: common,
		})
		barStart = position
	}
	for _, bar := range strings.Split(text, " / ") {
		for _, chord := range strings.Split(bar, "|") {
			column, any := 0, false
			for _, word := range strings.Fields(chord) {
				word = strings.Trim(word, "()")
				pitch, err := theory.ParsePitch(word)
				if err != nil && word != "." && word != "r" {
					if column > 0 {
						panic(fmt.Sprintf("theorytest.Chords: %q in %q", word, chord))
					}
					continue
				}
				for len(voices) <= column {
					voices = append(voices, theory.Voice{})
				}
				voice := &voices[column]
				column, any = column+1, true
				if word == "r" {
					continue
				}
				if word == "." {
					last := &voice.Notes[len(voice.Notes)-1]
					last.Duration = last.Duration.Add(theory.Whole(1))
					continue
				}
				id := theory.NoteID(len(score.Notes))
				measure := int32(len(score.Measures))
				score.Notes = append(score.Notes, theory.Note{
					Onset: theory.Whole(position), Duration: theory.Whole(1), Measure: measure,
					Pitch: pitch, Written: pitch, Staff: 1,
				})
				voice.Notes = append(voice.Notes, theory.VoiceNote{
					Pitch: pitch, Onset: theory.Whole(position), Duration: theory.Whole(1), Measure: measure, IDs: []theory.NoteID{id},
				})
			}
			if any {
				position++
			}
			if position-barStart == 4 {
				closeBar()
			}
		}
		closeBar()
	}
	names := map[int]string{4: "SATB"}[len(voices)]
	down := make([]theory.Voice, 0, len(voices))
	for i := len(voices) - 1; i >= 0; i-- {
		v := voices[i]
		v.Staff, v.Found = 1, "as written"
		if v.Name = fmt.Sprintf("V%d", len(down)+1); names != "" {
			v.Name = names[len(down) : len(down)+1]
		}
		down = append(down, v)
	}
	return theory.NewTexture(score, theory.OpenScore, "as written", down)
}
