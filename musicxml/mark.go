package musicxml

import (
	"partwright/theory"
	"partwright/theory/partwriting"
)

// Marks is what is written into a score.
type Marks struct {
	// Heading introduces the key to the numbers, such as "Remarks".
	Heading string
	// Items in order of their numbers.
	Items []Mark
}

// Mark is one numbered remark.
type Mark struct {
	// Number counts from 1.
	Number   int
	Family   partwriting.Family
	Severity partwriting.Severity
	// Notes are colored by the family; the number stands above the first.
	Notes []theory.NoteID
	// Sentence stands beside the number in the key at the end of the score.
	Sentence string
}
