package harmony

import (
	"fmt"

	"partwright/theory"
)

// RomanText is an analysis as the RomanText format writes it: labels at measures
// and beats, without the notes.
type RomanText struct {
	// Header holds the tagged lines before the first measure, in order.
	Header []HeaderLine
	// Entries are in order of measure and beat. A pivot chord has two at one
	// place, the old key first.
	Entries []Entry
	// Problems are lines that could not be understood; the rest was read.
	Problems []Problem
}

// HeaderLine is a line such as "Composer: J. S. Bach".
type HeaderLine struct{ Tag, Value string }

// Entry is one numeral at its place.
type Entry struct {
	// Measure and Suffix are the printed number: "m12b" is 12 and "b". A pickup
	// is measure 0.
	Measure int
	Suffix  string
	// Beat counts beats of the metre from 1; Offset is the same place in quarter
	// notes from the nominal bar line.
	Beat   theory.Fraction
	Offset theory.Fraction
	Time   theory.TimeSignature
	Reading
	// Text is the numeral as written.
	Text string
	// NamesKey is set where the entry begins with a key.
	NamesKey bool
	// PhraseEnd is set where a double bar or repeat sign follows.
	PhraseEnd bool
	// Line is the line of the text, from 1.
	Line int
}

// Problem is a line that is not RomanText as we read it.
type Problem struct {
	Line    int
	Message string
}

// Error returns "line 3: …".
func (p *Problem) Error() string { return fmt.Sprintf("line %d: %s", p.Line, p.Message) }
