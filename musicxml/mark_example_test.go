package musicxml_test

import (
	"fmt"
	"strings"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/partwriting"
)

// A remark on two notes: its number stands above the first of them, the notes
// have the color of the family, the key explains it. Cleaning gives the score
// back as it came in.
func ExampleDocument_Mark() {
	const score = `<?xml version="1.0"?>
<score-partwise version="4.0">
  <part-list><score-part id="P1"><part-name>Alto</part-name></score-part></part-list>
  <part id="P1">
    <measure number="1">
      <attributes><divisions>1</divisions></attributes>
      <note><pitch><step>F</step><octave>4</octave></pitch><duration>1</duration></note>
      <note><pitch><step>G</step><alter>1</alter><octave>4</octave></pitch><duration>1</duration></note>
    </measure>
  </part>
</score-partwise>
`
	d, err := musicxml.Read("alto.musicxml", []byte(score), musicxml.Limits{})
	if err != nil {
		fmt.Println(err)
		return
	}
	marked, err := d.Mark(musicxml.Marks{Heading: "Key to the numbers", Items: []musicxml.Mark{{
		Number: 1, Family: partwriting.Line, Severity: partwriting.Caution,
		Notes: []theory.NoteID{0, 1}, Sentence: "augmented second, F4 to G♯4",
	}}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for line := range strings.Lines(string(marked)) {
		if _, text, ok := strings.Cut(line, "<words "); ok {
			_, text, _ = strings.Cut(text, ">")
			text, _, _ = strings.Cut(text, "<")
			fmt.Println(strings.TrimRight(text, "\u00a0")) // spaces that make lines equally wide
		}
	}
	fmt.Println(strings.Count(string(marked), "<note color="), "notes in", musicxml.ColorOf(partwriting.Line))

	again, err := musicxml.Read("alto.musicxml", marked, musicxml.Limits{})
	if err != nil {
		fmt.Println(err)
		return
	}
	cleaned, err := again.Clean()
	fmt.Println("clean again:", string(cleaned) == score, err)
	// Output:
	// (1~)
	// [*] Key to the numbers&#xA;(n) caution
	// (1~) augmented second, F4 to G♯4
	// n~ line
	// 2 notes in #225F48
	// clean again: true <nil>
}
