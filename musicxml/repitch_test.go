package musicxml

import (
	"bytes"
	"testing"

	"partwright/theory"
)

func TestRepitch(t *testing.T) {
	document := `<?xml version="1.0"?>
<score-partwise version="4.0">
  <part-list><score-part id="P1"><part-name>Soprano</part-name></score-part></part-list>
  <part id="P1">
    <measure number="1">
      <attributes><divisions>1</divisions><key><fifths>1</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time></attributes>
      <note>
        <pitch>
          <step>G</step>
          <octave>4</octave>
        </pitch>
        <duration>1</duration>
        <type>quarter</type>
      </note>
      <note><pitch><step>F</step><alter>1</alter><octave>4</octave></pitch><duration>1</duration><type>quarter</type></note>
      <note><pitch><step>C</step><alter>1</alter><octave>5</octave></pitch><duration>1</duration><type>quarter</type><accidental>sharp</accidental></note>
      <note><rest/><duration>1</duration><type>quarter</type></note>
    </measure>
  </part>
</score-partwise>
`
	doc, err := Read("exercise.musicxml", []byte(document), Limits{})
	if err != nil {
		t.Fatal(err)
	}
	to := map[theory.NoteID]theory.Pitch{
		0: theory.MustPitch("Bb4"), // needs an alter and a sign
		1: theory.MustPitch("E4"),  // loses its alter
		2: theory.MustPitch("C5"),  // loses its sharp and needs no natural
	}
	out, err := doc.Repitch(to)
	if err != nil {
		t.Fatal(err)
	}
	again, err := Read("exercise.musicxml", out, Limits{})
	if err != nil {
		t.Fatal(err)
	}
	for id, want := range to {
		if got := again.Score.Notes[id].Pitch; got != want {
			t.Errorf("note %d sounds %v, want %v", id, got, want)
		}
	}
	for _, want := range []string{
		"<step>B</step>\n          <alter>-1</alter>\n          <octave>4</octave>",
		"<type>quarter</type>\n        <accidental>flat</accidental>",
		"<pitch><step>E</step><octave>4</octave></pitch>",
		"<pitch><step>C</step><octave>5</octave></pitch><duration>1</duration><type>quarter</type></note>",
	} {
		if !bytes.Contains(out, []byte(want)) {
			t.Errorf("%q is not in\n%s", want, out)
		}
	}
	back := map[theory.NoteID]theory.Pitch{}
	for id := range to {
		back[id] = doc.Score.Notes[id].Pitch
	}
	if same, err := doc.Repitch(back); err != nil || !bytes.Equal(same, []byte(document)) {
		t.Errorf("the same pitches change the text (%v)", err)
	}
	if _, err := doc.Repitch(map[theory.NoteID]theory.Pitch{3: theory.MustPitch("C4")}); err == nil {
		t.Error("a rest was given a pitch")
	}
}
