package worker

import (
	"slices"
	"strings"

	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/voicing"
)

// readSungFigures takes the lyrics under the bass for its figures where the score has no
// others and every syllable is one; it is how figures are typed in programs without figured
// bass, a verse for each row. It says so, and says as well where some syllables only are.
func (t *task) readSungFigures(catalog *partwriting.Catalog) []string {
	voices := t.texture.WithoutExtra().Voices
	if len(voices) == 0 || len(t.doc.Score.Figures) > 0 {
		return nil
	}
	bass := &voices[len(voices)-1]
	var figures []theory.GivenFigures
	var foreign string
	var measure int32
	for _, sung := range t.doc.Syllables(bass.Part) {
		n := &t.doc.Score.Notes[sung.Note]
		text := strings.Join(sung.Texts, "/")
		stacks, err := voicing.ParseStacks(text)
		under := noteAt(bass, n.Onset)
		if err != nil || under == nil {
			if foreign == "" {
				foreign, measure = text, n.Measure
			}
			continue
		}
		onset := n.Onset
		each := under.End().Sub(onset).Mul(theory.Frac(1, int64(len(stacks))))
		for _, s := range stacks {
			f := theory.GivenFigures{Onset: onset, Duration: each, Part: bass.Part, Measure: int(n.Measure), Figures: s.Figures}
			if s.Holds {
				f.Figures = []theory.Figure{{Extends: true}}
			}
			figures, onset = append(figures, f), onset.Add(each)
		}
	}
	switch {
	case len(figures) == 0:
		return nil
	case foreign != "":
		return []string{catalog.Phrase(partwriting.NoSungFigures, "syllable", foreign, "measure", t.doc.Score.Measures[measure].Label)}
	}
	slices.SortStableFunc(figures, func(a, b theory.GivenFigures) int { return a.Onset.Cmp(b.Onset) })
	t.doc.Score.Figures, t.texture.Score.Figures = figures, figures // one score, or two copies of it
	return []string{catalog.Phrase(partwriting.SungFigures)}
}
