package musicxml

import (
	"bytes"
	"reflect"
	"strings"
	"testing"

	"partwright/musicxml/markup"
	"partwright/theory"
)

// The ids in the text are those that the document names, no id comes twice (XML 1.0,
// 3.3.1, validity constraint: ID), nothing of the music changes, and cleaning gives
// back every byte.
func TestIdentify(t *testing.T) {
	for _, test := range markDocuments {
		t.Run(test.name, func(t *testing.T) {
			d := mustParse(t, test.data)
			identified, err := d.Identify()
			if err != nil {
				t.Fatal(err)
			}
			again := mustParse(t, identified)
			if !reflect.DeepEqual(musicOf(again), musicOf(d)) {
				t.Error("with ids it reads as other music")
			}
			was, is := d.IDs(), again.IDs()
			seen := map[string]bool{}
			for i := range d.Score.Notes {
				id := theory.NoteID(i)
				own, _ := again.tree.Attr(again.places[i], markup.NameId)
				if string(own) != was.Note(id) || is.Note(id) != was.Note(id) || is.Measure(id) != was.Measure(id) {
					t.Errorf("note %d has the id %q, the document says %q, again %q", i, own, was.Note(id), is.Note(id))
				}
				if found, ok := is.Find(was.Note(id)); !ok || found != id && !seen[was.Note(id)] {
					t.Errorf("note %d is found as %d, %v", i, found, ok)
				}
				seen[was.Note(id)] = true
			}
			if d.encoding.Relabeled() || d.packed != nil {
				return
			}
			clean, err := again.Clean()
			if err != nil || !bytes.Equal(clean, cleaned(t, d)) {
				t.Errorf("cleaned (%v), it differs at %s", err, firstDifference(clean, test.data))
			}
		})
	}
}

func cleaned(t *testing.T, d *Document) []byte {
	t.Helper()
	data, err := d.Clean()
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// The author's ids stay and are used, and ours begin otherwise than any of them.
func TestIdentifyBesideOwnIDs(t *testing.T) {
	const own = `<measure number="1" id="pw-m1-1">` + fourQuarters
	data := partwise("", own+note4("C4", ` id="tenor"`)+note4("D4")+note4("E4", ` id='pw2-x'`)+note4("F4")+`</measure><measure number="2">`+note4("G4")+`</measure>`)
	d := mustParse(t, data)
	identified, err := d.Identify()
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`id="pw-m1-1"`, `id="tenor"`, `id='pw2-x'`, `<note id="pw3-n1-1-2">`, `<note id="pw3-n1-1-4">`, `id="pw3-m1-2"`} {
		if !strings.Contains(string(identified), want) {
			t.Errorf("%s is missing in %s", want, identified)
		}
	}
	if got := cleaned(t, mustParse(t, identified)); !bytes.Equal(got, data) {
		t.Errorf("cleaned it is %s", got)
	}
	ids := mustParse(t, identified).IDs()
	if note, ok := ids.Find("tenor"); !ok || note != 0 || ids.Measure(0) != "pw-m1-1" || ids.Measure(4) != "pw3-m1-2" {
		t.Errorf("note %d, %v, measures %s and %s", note, ok, ids.Measure(0), ids.Measure(4))
	}
}

// A record that somebody wrote by hand takes no ids of the author's off.
func TestRecordOfNoIDs(t *testing.T) {
	for _, content := range []string{"1 ids:", "1 ids:t", "1 ids:pw", "1 ids:pw-x"} {
		if r := parseRecord(content); r.ids != "" {
			t.Errorf("%q: ids begin with %q", content, r.ids)
		}
	}
	if r := parseRecord("1 ids:pw12-"); r.ids != "pw12-" {
		t.Errorf("ids begin with %q", r.ids)
	}
}
