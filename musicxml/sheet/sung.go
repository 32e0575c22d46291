package sheet

import (
	"slices"
	"sort"

	"github.com/beevik/etree"

	"partwright/musicxml"
	"partwright/theory"
)

// Sung is what a voice sings on a note that begins at an onset.
type Sung struct {
	Voice  int
	Onset  theory.Fraction
	Lyrics []musicxml.Lyric
}

// sings tells whether something is sung in the voices of the staff.
func (w *staffWriter) sings() bool {
	return !w.staff.Blank && slices.ContainsFunc(w.sheet.Sung, func(s Sung) bool { return slices.Contains(w.staff.Voices, s.Voice) })
}

// sing writes what is sung on the notes of an event as lyrics of their stem.
func (w *staffWriter) sing(note *etree.Element, e *event) {
	all := w.sheet.Sung
	for _, of := range e.sources {
		i := sort.Search(len(all), func(i int) bool { return !all[i].Onset.Less(e.onset) })
		for ; i < len(all) && all[i].Onset == e.onset; i++ {
			if all[i].Voice == of.voice {
				w.lyrics(note, all[i].Lyrics)
			}
		}
	}
}

func (w *staffWriter) lyrics(note *etree.Element, lyrics []musicxml.Lyric) {
	for i := range lyrics {
		l := &lyrics[i]
		if l.Hidden {
			continue
		}
		w.headWritten()
		e := note.CreateElement("lyric")
		for _, a := range [...]struct{ name, value string }{{"number", l.Number}, {"name", l.Name}, {"placement", l.Placement}} {
			if a.value != "" {
				e.CreateAttr(a.name, a.value)
			}
		}
		for _, p := range l.Parts {
			part := e.CreateElement(p.Element)
			part.SetText(p.Text)
			if p.Type != "" {
				part.CreateAttr("type", p.Type)
			}
		}
	}
}
