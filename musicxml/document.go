// Package musicxml reads MusicXML scores into [theory.Score] and carries marks
// and new pitches back into the same document.
//
// Begin with [Read]. A [Document] keeps the bytes that came in; what it writes
// differs from them only where something was spliced in.
package musicxml

import "partwright/theory"

// Location is where a note stands in a document.
type Location struct {
	// Part is the part's id in the document, Staff counts from 1, Layer is the
	// document's own voice label ("1" where it gives none).
	Part  string
	Staff int
	Layer string
	// Line and Column count from 1 in the score's text.
	Line, Column int
}

// Notice is something odd that reading met and could pass over: the rest of the
// score is still read.
type Notice struct {
	// Code is a permanent word in kebab case, such as "measure-overfull".
	Code string
	// Part is the part's id, Measure the index of the measure, Label what is
	// printed on it; "" and -1 where the notice has none.
	Part    string
	Measure int
	Label   string
	Line    int
	// Message is one sentence of fact, with what was done about it.
	Message string
}

// Counts are figures of a document as written: every part, whether it holds
// voices or not.
type Counts struct {
	// Parts counts <part> elements, Measures those of the first part.
	Parts, Measures int
	// Notes counts note elements that are no rest, grace or cue: chord members,
	// both halves of a tie and unpitched notes each count. Grace counts grace
	// notes.
	Notes, Grace int
	// Layers counts distinct (part, voice) pairs with a note other than a rest.
	Layers int
	// Quarters is the written length of the first part, repeats not unfolded:
	// for each measure the furthest point reached.
	Quarters theory.Fraction
	// High and Low are sounding MIDI numbers (C4 = 60) of Notes, microtones as
	// decimals. Pitched is false where no note has a pitch.
	High, Low float64
	Pitched   bool
}
