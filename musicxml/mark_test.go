package musicxml

import (
	"archive/zip"
	"bytes"
	"io"
	"reflect"
	"slices"
	"strings"
	"testing"

	"partwright/theory"
	"partwright/theory/partwriting"
)

// sampleMarks makes marks all over a score: every family and severity, several on
// one note, chord members, tied notes, rests.
func sampleMarks(d *Document, seed int) Marks {
	m := Marks{Heading: "Key to the <numbers> & signs", Annotations: sampleAnnotations(d, seed), IDs: seed%4 == 3}
	n := len(d.Score.Notes)
	for i := range min(n, 40) {
		at := (i*7 + seed) % n
		notes := []theory.NoteID{theory.NoteID(at)}
		for k := 1; k <= i%3; k++ {
			notes = append(notes, theory.NoteID((at+k*3)%n))
		}
		m.Items = append(m.Items, Mark{
			Number: i + 1, Family: partwriting.Families[(i+seed)%8], Severity: partwriting.Severity(1 + (i+seed)%3),
			Notes: notes, Sentence: "measure 1, beat 2: “fifths” – C3–G3 to D3–A3 ♯",
		})
	}
	return m
}

// checkLaws is what marking promises of every document.
func checkLaws(t *testing.T, name string, data []byte) (marked []byte) {
	t.Helper()
	d, err := Read(name, data, Limits{})
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if original, err := d.Clean(); err != nil || !bytes.Equal(original, data) {
		t.Fatalf("%s: cleaning a score without marks: %v", name, err)
	}
	if marked, err = d.Mark(sampleMarks(d, 0)); err != nil {
		t.Fatalf("%s: marking: %v", name, err)
	}
	if bytes.Equal(marked, data) && d.Counts.Measures > 0 {
		t.Errorf("%s: nothing was marked", name)
	}
	again, err := Read(name, marked, Limits{})
	if err != nil {
		t.Fatalf("%s: the marked score is not read: %v", name, err)
	}
	if !reflect.DeepEqual(musicOf(again), musicOf(d)) || again.Counts != d.Counts {
		t.Errorf("%s: the marked score reads as other music", name)
	}
	cleaned, err := again.Clean()
	if err != nil {
		t.Fatalf("%s: cleaning: %v", name, err)
	}
	checkSameScore(t, name+", cleaned", cleaned, data)
	twice, err := again.Mark(sampleMarks(again, 0))
	if err != nil || !bytes.Equal(twice, marked) {
		t.Errorf("%s: marking twice differs from marking once (%v) at %s", name, err, firstDifference(twice, marked))
	}
	other, err := again.Mark(sampleMarks(again, 5))
	if err != nil {
		t.Fatalf("%s: marking anew: %v", name, err)
	}
	d2, err := Read(name, other, Limits{})
	if err != nil {
		t.Fatalf("%s: marked anew: %v", name, err)
	}
	if back, err := d2.Mark(sampleMarks(d2, 0)); err != nil || !bytes.Equal(back, marked) {
		t.Errorf("%s: old marks are not replaced (%v) at %s", name, err, firstDifference(back, marked))
	}
	return marked
}

// musicOf is the score without the places of labels in the document.
func musicOf(d *Document) theory.Score {
	s := *d.Score
	s.Chords, s.Figures = slices.Clone(s.Chords), slices.Clone(s.Figures)
	for i := range s.Chords {
		s.Chords[i].ID = 0
	}
	for i := range s.Figures {
		s.Figures[i].ID = 0
	}
	return s
}

// checkSameScore compares bytes; of containers, those of every entry.
func checkSameScore(t *testing.T, name string, got, want []byte) {
	t.Helper()
	if bytes.HasPrefix(want, []byte("PK")) {
		gotFiles, wantFiles := entries(t, got), entries(t, want)
		if !reflect.DeepEqual(gotFiles, wantFiles) {
			t.Errorf("%s: the container differs", name)
		}
		return
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s: differs at %s", name, firstDifference(got, want))
	}
}

func firstDifference(got, want []byte) string {
	i := 0
	for i < len(got) && i < len(want) && got[i] == want[i] {
		i++
	}
	around := func(b []byte) string { return string(b[max(0, min(i, len(b))-40):min(len(b), i+60)]) }
	return "\n…" + around(got) + "…\nwant\n…" + around(want) + "…"
}

func entries(t *testing.T, data []byte) (all [][2]string) {
	t.Helper()
	r, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range r.File {
		body, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(body)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, [2]string{f.Name, string(text)})
	}
	return all
}

func TestMarksComeOffAgain(t *testing.T) {
	for _, tt := range markDocuments {
		t.Run(tt.name, func(t *testing.T) {
			checkLaws(t, tt.name, tt.data)
			if t.Failed() {
				t.Log(tt.why)
			}
		})
		t.Run(tt.name+", packed", func(t *testing.T) { checkLaws(t, tt.name, packed(t, tt.data)) })
	}
}

func TestMarkWithoutItems(t *testing.T) {
	for _, tt := range markDocuments {
		d := mustParse(t, tt.data)
		marked, err := d.Mark(Marks{Heading: "Nothing to say"})
		if err != nil {
			t.Fatal(err)
		}
		again := mustParse(t, marked)
		if d.Counts.Measures > 0 && !strings.Contains(string(again.tree.Text), "[*] Nothing to say") {
			t.Errorf("%s: no heading", tt.name)
		}
		cleaned, err := again.Clean()
		if err != nil || !bytes.Equal(cleaned, tt.data) {
			t.Errorf("%s: %v, differs at %s", tt.name, err, firstDifference(cleaned, tt.data))
		}
	}
}

func mustParse(t testing.TB, data []byte) *Document {
	t.Helper()
	d, err := Read("test", data, Limits{})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestMarkRefusesForeignNotes(t *testing.T) {
	d := mustParse(t, []byte(indented))
	_, err := d.Mark(Marks{Items: []Mark{{Number: 3, Notes: []theory.NoteID{99}}}})
	if err == nil || !strings.Contains(err.Error(), "mark 3 names note 99") {
		t.Errorf("got %v", err)
	}
}

// TestUpgrade: an older document declares MusicXML 4.0 and has colors; cleaning
// takes both back.
func TestUpgrade(t *testing.T) {
	const comment = "<!-- <!DOCTYPE x PUBLIC '-//Recordare//DTD MusicXML 0.9 Partwise//EN'> -->\n"
	body := partList + `<part id="P1"><measure number="1">` + note4("C4") + `</measure></part></score-partwise>`
	tests := []struct{ name, head, want string }{
		{"DOCTYPE 1.0", comment + `<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 1.0 Partwise//EN" "x.dtd"><score-partwise>`,
			comment + `<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "x.dtd"><score-partwise version="4.0">`},
		{"both", `<!DOCTYPE score-partwise PUBLIC '-//Recordare//DTD MusicXML 2.0 Partwise//EN' ''><score-partwise version = '2.0' >`,
			`<!DOCTYPE score-partwise PUBLIC '-//Recordare//DTD MusicXML 4.0 Partwise//EN' ''><score-partwise version = '4.0' >`},
		{"attribute alone", `<score-partwise version="1.0">`, `<score-partwise version="4.0">`},
		{"neither", `<score-partwise>`, `<score-partwise version="4.0">`},
		{"current", `<score-partwise version="4.0">`, `<score-partwise version="4.0">`},
		{"later", `<score-partwise version="4.1">`, `<score-partwise version="4.1">`},
		{"not a version", `<score-partwise version="new">`, `<score-partwise version="new">`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			data := []byte(tt.head + body)
			d := mustParse(t, data)
			m := sampleMarks(d, 0)
			m.Upgrade = true
			marked, err := d.Mark(m)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.HasPrefix(marked, []byte(tt.want)) || !bytes.Contains(marked, []byte("<note color=")) {
				t.Errorf("got %s", marked)
			}
			again := mustParse(t, marked)
			if cleaned, err := again.Clean(); err != nil || !bytes.Equal(cleaned, data) {
				t.Errorf("cleaned (%v), it differs at %s", err, firstDifference(cleaned, data))
			}
			if twice, err := again.Mark(m); err != nil || !bytes.Equal(twice, marked) {
				t.Errorf("marked twice (%v), it differs at %s", err, firstDifference(twice, marked))
			}
		})
	}
}
