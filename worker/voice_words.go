package worker

import (
	"slices"

	"partwright/musicxml"
	"partwright/musicxml/sheet"
	"partwright/theory"
)

// words are what is sung in the given outer lines, for the same voices of a style with so many; of
// block chords that of the highest line. Under a bass they may be its figures, which the sheets write as such.
func (t *task) words(figures bool, voices int) []sheet.Sung {
	top := t.top
	if all := t.texture.Voices; top == nil && t.bass == nil && len(all) > 0 {
		top = &all[0]
	}
	out := t.wordsOf(top, 0)
	if t.bass != nil && !figures {
		out = append(out, t.wordsOf(t.bass, voices-1)...)
	}
	slices.SortStableFunc(out, func(a, b sheet.Sung) int { return a.Onset.Cmp(b.Onset) })
	return out
}

// wordsOf are the words of a line, nil for none.
func (t *task) wordsOf(line *theory.Voice, voice int) (out []sheet.Sung) {
	if line == nil {
		return nil
	}
	lyrics := map[theory.NoteID][]musicxml.Lyric{}
	for _, sung := range t.doc.Lyrics(line.Part) {
		lyrics[sung.Note] = sung.Lyrics
	}
	for i := range line.Notes {
		n := &line.Notes[i]
		for _, id := range n.IDs {
			if len(lyrics[id]) > 0 {
				out = append(out, sheet.Sung{Voice: voice, Onset: n.Onset, Lyrics: lyrics[id]})
			}
		}
	}
	return out
}
