package musicxml

import (
	"bytes"
	"strings"
	"testing"

	"partwright/theory"
)

const remarkedScore = `<?xml version="1.0"?>
<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>S</part-name></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>2</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>
<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration><voice>1</voice><type>half</type></note>
<note><pitch><step>D</step><octave>5</octave></pitch><duration>4</duration><voice>1</voice><type>half</type></note></measure>
<measure number="2"><note><pitch><step>E</step><octave>5</octave></pitch><duration>2</duration><voice>1</voice><type>quarter</type></note>
<note><pitch><step>F</step><octave>5</octave></pitch><duration>6</duration><voice>1</voice><type>half</type><dot/></note></measure></part></score-partwise>`

// A remark stands directly before the note that it is about, and taking the words out gives
// the document that came in.
func TestRemark(t *testing.T) {
	for _, c := range []struct{ measure, beat, before, text string }{
		{"1", "", "C", "a < b"}, {"1", "1", "C", "x"}, {"1", "2", "D", "x"}, {"1", "3", "D", "x"}, {"1", "4", "D", "x"},
		{"2", "", "E", "x"}, {"2", "3/2", "F", "x"}, {"2", "2", "F", "x"}, {"2", "9", "F", "x"}, {"77", "2", "C", "x"},
	} {
		d, err := Read("score", []byte(remarkedScore), Limits{})
		if err != nil {
			t.Fatal(err)
		}
		r := Remark{Measure: c.measure, Text: c.text}
		if c.beat != "" {
			if r.Beat, err = theory.ParseFraction(c.beat); err != nil {
				t.Fatal(err)
			}
		}
		out, err := d.Remark([]Remark{r})
		if err != nil {
			t.Fatal(err)
		}
		head, rest, _ := strings.Cut(string(out), "<direction ")
		direction, tail, found := strings.Cut(rest, "</direction>")
		_, next, _ := strings.Cut(tail, "<step>")
		want := strings.ReplaceAll(c.text, "<", "&lt;")
		if c.measure == "77" {
			want = "77: " + want
		}
		if !found || next[:1] != c.before || !strings.Contains(direction, ">"+want+"</words>") {
			t.Errorf("measure %s, beat %q: %q before %s", c.measure, c.beat, direction, next[:1])
		}
		if got := strings.Join(strings.Fields(head+tail), ""); got != strings.Join(strings.Fields(remarkedScore), "") {
			t.Errorf("measure %s: something else has changed: %s", c.measure, out)
		}
	}
}

// On a marked score a remark is in no mark's way: cleaning takes the marks and leaves what
// a person wrote, also where the author's own words look like marks.
func TestRemarkOnAMarkedScore(t *testing.T) {
	const own = `<direction><direction-type><words color="#282CC4">[3=]</words></direction-type></direction>`
	for _, text := range []string{remarkedScore, strings.Replace(remarkedScore, "<note>", own+"<note>", 1)} {
		d, err := Read("score", []byte(text), Limits{})
		if err != nil {
			t.Fatal(err)
		}
		marks := Marks{Heading: "Remarks", Items: []Mark{{Number: 1, Severity: 3, Notes: []theory.NoteID{1}, Sentence: "a sentence"}}}
		marked, err := d.Mark(marks)
		if err != nil {
			t.Fatal(err)
		}
		said := []Remark{{Measure: "1", Text: "see me"}}
		if d, err = Read("marked", marked, Limits{}); err != nil {
			t.Fatal(err)
		}
		both, err := d.Remark(said)
		if err != nil {
			t.Fatal(err)
		}
		if d, err = Read("both", both, Limits{}); err != nil {
			t.Fatal(err)
		}
		clean, err := d.Clean()
		if err != nil || !bytes.Contains(clean, []byte("see me")) || bytes.Contains(clean, []byte("a sentence")) || strings.Count(string(clean), "[3=]") != strings.Count(text, "[3=]") || bytes.Contains(clean, []byte("[1=]")) {
			t.Errorf("cleaned it is %s, %v", clean, err)
		}
	}
}
