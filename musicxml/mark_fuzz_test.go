package musicxml

import (
	"bytes"
	"reflect"
	"testing"
)

// FuzzMarkClean: whatever reads can be marked; the marked score reads as the same
// music; the marks come off to the bytes that came in.
func FuzzMarkClean(f *testing.F) {
	for _, d := range markDocuments {
		f.Add(d.data, uint8(0))
	}
	for _, d := range markDocuments[:6] {
		read := mustParse(f, d.data)
		if marked, err := read.Mark(sampleMarks(read, 0)); err == nil {
			f.Add(marked, uint8(3))
		}
	}
	f.Fuzz(func(t *testing.T, data []byte, seed uint8) {
		d, err := Read("fuzz", data, Limits{})
		if err != nil {
			return
		}
		bare, err := d.Clean()
		if err != nil {
			t.Fatalf("cleaning: %v", err)
		}
		if !bytes.Equal(bare, data) {
			// The text may have been marked by anyone in any way; what Clean
			// leaves is what has to come back.
			if d, err = Read("fuzz", bare, Limits{}); err != nil {
				t.Fatalf("the cleaned score is not read: %v", err)
			}
		}
		if d.encoding.Relabeled() || d.packed != nil {
			return // the first writing changes a wrong declaration, or packs anew
		}
		if again, err := d.Clean(); err != nil || !bytes.Equal(again, bare) {
			t.Skip("cleaning once has uncovered more that looks like marks")
		}
		marked, err := d.Mark(sampleMarks(d, int(seed)))
		if err != nil {
			t.Fatalf("marking: %v", err)
		}
		m, err := Read("fuzz", marked, Limits{})
		if err != nil {
			t.Fatalf("the marked score is not read: %v", err)
		}
		if !reflect.DeepEqual(musicOf(m), musicOf(d)) {
			t.Error("the marked score reads as other music")
		}
		cleaned, err := m.Clean()
		if err != nil || !bytes.Equal(cleaned, bare) {
			t.Errorf("cleaned (%v), it differs at %s", err, firstDifference(cleaned, bare))
		}
		if twice, err := m.Mark(sampleMarks(m, int(seed))); err != nil || !bytes.Equal(twice, marked) {
			t.Errorf("marked twice (%v), it differs at %s", err, firstDifference(twice, marked))
		}
	})
}
