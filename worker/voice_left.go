package worker

import (
	"partwright/theory"
	"partwright/theory/partwriting"
)

// leftOut says what of a task is not in its sheets: repeats, whose measures are voiced once
// in the order of the page, and notes that have no time of their own.
func leftOut(score *theory.Score, catalog *partwriting.Catalog) []string {
	var out []string
	if len(score.Jumps) > 0 {
		out = append(out, catalog.Phrase(partwriting.RepeatsLeft))
	}
	small := 0
	for i := range score.Notes {
		if score.Notes[i].Flags.Any(theory.Grace | theory.Cue) {
			small++
		}
	}
	if small > 0 {
		out = append(out, catalog.Phrase(partwriting.SmallNotesLeft, "number", small))
	}
	return out
}
