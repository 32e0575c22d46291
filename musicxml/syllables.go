package musicxml

import (
	"strings"

	"partwright/musicxml/chordlabel"
	"partwright/musicxml/markup"
	"partwright/theory"
)

// Sung is what is sung on a note: its lyrics in the order of the document.
type Sung struct {
	Note   theory.NoteID
	Lyrics []Lyric
}

// Lyric is one line of text at a note (W3C MusicXML 4.0, lyric).
type Lyric struct {
	// Number tells the verses apart, Name says what it is, such as "chorus"; Placement is "above",
	// "below" or "".
	Number, Name, Placement string
	// Hidden is set for one that is not to be printed.
	Hidden bool
	// Parts are the syllables with what joins them.
	Parts []LyricPart
}

// LyricPart is one of the elements in a lyric: "syllabic", "text", "elision" or "extend".
type LyricPart struct {
	Element string
	// Text is its content, Type the attribute of that name, which an extend may have.
	Text, Type string
}

// Text is what is sung, without white space around it; its texts may be joined by elisions.
func (l *Lyric) Text() string {
	var whole strings.Builder
	for _, p := range l.Parts {
		if p.Element == "text" {
			whole.WriteString(p.Text)
		}
	}
	return strings.TrimSpace(whole.String())
}

// lyricParts are the elements of a lyric that say what is sung.
var lyricParts = map[markup.Name]string{
	markup.NameSyllabic: "syllabic", markup.NameText: "text", markup.NameElision: "elision", markup.NameExtend: "extend",
}

// Lyrics returns the lyrics of a part, by its index, note for note; numerals that are written
// as lyrics are left out.
func (d *Document) Lyrics(part int) []Sung {
	d = d.opened()
	var out []Sung
	for id, element := range d.places {
		if int(d.Score.Notes[id].Part) != part {
			continue
		}
		sung := Sung{Note: theory.NoteID(id)}
		for lyric := range named(d.tree, element, markup.NameLyric) {
			if l := d.lyric(lyric); l.Name != chordlabel.SungName && !looksAnnotated(d.tree, lyric) {
				sung.Lyrics = append(sung.Lyrics, l)
			}
		}
		if len(sung.Lyrics) > 0 {
			out = append(out, sung)
		}
	}
	return out
}

// lyric reads a lyric.
func (d *Document) lyric(id markup.ID) Lyric {
	attribute := func(of markup.ID, name markup.Name) string {
		value, _ := d.tree.Attr(of, name)
		return string(value)
	}
	l := Lyric{
		Number: attribute(id, markup.NameNumber), Name: attribute(id, markup.NameName), Placement: attribute(id, markup.NamePlacement),
		Hidden: attribute(id, markup.NamePrintObject) == "no",
	}
	for c := d.tree.Elements[id].First; c != markup.None; c = d.tree.Elements[c].Next {
		if element, sung := lyricParts[d.tree.Elements[c].Name]; sung {
			l.Parts = append(l.Parts, LyricPart{element, string(d.tree.Content(c)), attribute(c, markup.NameType)})
		}
	}
	return l
}

// Syllables is the text of each lyric of a note, in the order of the document.
type Syllables struct {
	Note  theory.NoteID
	Texts []string
}

// Syllables returns the texts of the lyrics of a part, by its index, note for note; notes
// without text are left out.
func (d *Document) Syllables(part int) []Syllables {
	var out []Syllables
	for _, sung := range d.Lyrics(part) {
		var texts []string
		for i := range sung.Lyrics {
			if text := sung.Lyrics[i].Text(); text != "" {
				texts = append(texts, text)
			}
		}
		if len(texts) > 0 {
			out = append(out, Syllables{sung.Note, texts})
		}
	}
	return out
}
