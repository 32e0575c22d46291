package musicxml

import (
	"strconv"
	"strings"

	"partwright/theory"
	"partwright/theory/partwriting"
)

// Marks is what is written into a score.
type Marks struct {
	// Heading introduces the key to the numbers, such as "Remarks".
	Heading string
	// Items in order of their numbers.
	Items []Mark
	// Legend names families and severities in the language of the sentences;
	// its zero value is English.
	Legend Legend
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

// Legend holds the words of the key. What is missing is in English.
type Legend struct {
	Families   map[partwriting.Family]string
	Severities map[partwriting.Severity]string
}

func (l *Legend) family(f partwriting.Family) string {
	if word, ok := l.Families[f]; ok {
		return word
	}
	return strings.ReplaceAll(f.String(), "-", " ")
}

func (l *Legend) severity(s partwriting.Severity) string {
	if word, ok := l.Severities[s]; ok {
		return word
	}
	return s.String()
}

func (m *Mark) number() string { return strconv.Itoa(m.Number) }
