package musicxml

import (
	"strings"

	"partwright/musicxml/chordlabel"
	"partwright/musicxml/markup"
	"partwright/theory"
)

// Syllables is what is sung on a note: the text of each of its lyrics, in the order of the
// document, without white space around it.
type Syllables struct {
	Note  theory.NoteID
	Texts []string
}

// Syllables returns the lyrics of a part, by its index, note for note; notes without text
// are left out, and so are lyrics that are numerals (W3C MusicXML 4.0, lyric: its texts may be joined by elisions).
func (d *Document) Syllables(part int) []Syllables {
	d = d.opened()
	var out []Syllables
	for id, element := range d.places {
		if int(d.Score.Notes[id].Part) != part {
			continue
		}
		var texts []string
		for lyric := range named(d.tree, element, markup.NameLyric) {
			if name, _ := d.tree.Attr(lyric, markup.NameName); string(name) == chordlabel.SungName || looksAnnotated(d.tree, lyric) {
				continue
			}
			var whole strings.Builder
			for text := range named(d.tree, lyric, markup.NameText) {
				whole.Write(d.tree.Content(text))
			}
			if text := strings.TrimSpace(whole.String()); text != "" {
				texts = append(texts, text)
			}
		}
		if len(texts) > 0 {
			out = append(out, Syllables{theory.NoteID(id), texts})
		}
	}
	return out
}
