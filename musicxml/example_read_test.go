package musicxml_test

import (
	"errors"
	"fmt"

	"partwright/musicxml"
	"partwright/theory"
)

const twoVoices = `<score-partwise version="4.0">
  <part-list><score-part id="P1"><part-name>Choir</part-name></score-part></part-list>
  <part id="P1">
    <measure number="1">
      <attributes><divisions>2</divisions><key><fifths>1</fifths></key><time><beats>2</beats><beat-type>4</beat-type></time></attributes>
      <note><pitch><step>B</step><octave>4</octave></pitch><duration>3</duration><voice>1</voice></note>
      <note><pitch><step>A</step><octave>4</octave></pitch><duration>1</duration><voice>1</voice></note>
      <backup><duration>4</duration></backup>
      <note><pitch><step>F</step><alter>1</alter><octave>4</octave></pitch><duration>4</duration><voice>2</voice></note>
    </measure>
  </part>
</score-partwise>`

func ExampleRead() {
	d, err := musicxml.Read("evening.musicxml", []byte(twoVoices), musicxml.Limits{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for i := range d.Score.Notes {
		n, at := &d.Score.Notes[i], d.Locate(theory.NoteID(i))
		fmt.Printf("%s at %s for %s quarters, voice %s, line %d\n", n.Pitch, n.Onset, n.Duration, at.Layer, at.Line)
	}
	// Output:
	// B4 at 0 for 3/2 quarters, voice 1, line 6
	// A4 at 3/2 for 1/2 quarters, voice 1, line 7
	// F#4 at 0 for 2 quarters, voice 2, line 9
}

func ExampleInputError() {
	_, err := musicxml.Read("evening.musicxml", []byte("<score/>"), musicxml.Limits{})
	var input *musicxml.InputError
	fmt.Println(errors.As(err, &input), input.Code)
	fmt.Println(err)
	// Output:
	// true wrong-root
	// evening.musicxml, line 1: The root element is <score>, which is not a score in MusicXML. Send a document whose root is <score-partwise> or <score-timewise>.
}
