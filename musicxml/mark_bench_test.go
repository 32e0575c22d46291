package musicxml

import (
	"strconv"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
)

// longScore is a score of our own with four parts and n measures of quarter
// notes, laid out as programs lay scores out.
func longScore(n int) []byte {
	var b strings.Builder
	b.WriteString("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<score-partwise version=\"4.0\">\n  <part-list>\n")
	for p := range 4 {
		b.WriteString("    <score-part id=\"P" + strconv.Itoa(p) + "\"><part-name>V</part-name></score-part>\n")
	}
	b.WriteString("  </part-list>\n")
	for p := range 4 {
		b.WriteString("  <part id=\"P" + strconv.Itoa(p) + "\">\n")
		for m := range n {
			b.WriteString("    <measure number=\"" + strconv.Itoa(m+1) + "\">\n")
			if m == 0 {
				b.WriteString("      <attributes>\n        <divisions>1</divisions>\n      </attributes>\n")
			}
			for q := range 4 {
				b.WriteString("      <note>\n        <pitch>\n          <step>" + string("CDEFGAB"[(p+m+q)%7]) + "</step>\n          <octave>" +
					strconv.Itoa(5-p) + "</octave>\n        </pitch>\n        <duration>1</duration>\n        <voice>1</voice>\n" +
					"        <type>quarter</type>\n        <stem>up</stem>\n      </note>\n")
			}
			b.WriteString("    </measure>\n")
		}
		b.WriteString("  </part>\n")
	}
	b.WriteString("</score-partwise>\n")
	return []byte(b.String())
}

// fewMarks are as many marks as a chorale usually gets.
func fewMarks(d *Document, count int) Marks {
	m := Marks{Heading: "Key to the numbers"}
	n := len(d.Score.Notes)
	for i := range count {
		at := i * n / count
		m.Items = append(m.Items, Mark{
			Number: i + 1, Family: partwriting.Families[i%3], Severity: partwriting.Fault,
			Notes:    []theory.NoteID{theory.NoteID(at), theory.NoteID(at + 1), theory.NoteID((at + n/4) % n), theory.NoteID((at + n/4 + 1) % n)},
			Sentence: "measure 3, beat 2: parallel fifths between tenor and bass, C3–G3 to D3–A3",
		})
	}
	return m
}

func BenchmarkMark(b *testing.B) {
	for _, bench := range []struct {
		name            string
		measures, marks int
		annotated       bool
	}{{"chorale", 14, 10, false}, {"chorale of faults", 14, 40, false}, {"annotated chorale", 14, 10, true}, {"long", 1000, 100, false}} {
		d := mustParse(b, longScore(bench.measures))
		m := fewMarks(d, bench.marks)
		if bench.annotated {
			m.Annotations = sampleAnnotations(d, 0)
		}
		marked, err := d.Mark(m)
		if err != nil {
			b.Fatal(err)
		}
		again := mustParse(b, marked)
		run := func(name string, size int, do func() ([]byte, error)) {
			b.Run(bench.name+"/"+name, func(b *testing.B) {
				b.ReportAllocs()
				b.SetBytes(int64(size))
				for b.Loop() {
					if _, err := do(); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
		run("mark", len(d.data), func() ([]byte, error) { return d.Mark(m) })
		run("mark anew", len(marked), func() ([]byte, error) { return again.Mark(m) })
		run("clean", len(marked), again.Clean)
	}
}
