package worker

import (
	"slices"
	"strings"

	"partwright/musicxml"
	"partwright/theory"
	"partwright/theory/partwriting"
	"partwright/theory/voicing"
)

// sungFigures are figures that stand as lyrics under a bass.
type sungFigures struct {
	figures []theory.GivenFigures
	// foreign is the first syllable that is no figure, "" for none, measure where it stands.
	foreign string
	measure int32
}

// all reports whether there are figures and every syllable is one.
func (s *sungFigures) all() bool { return len(s.figures) > 0 && s.foreign == "" }

// readSungFigures takes the lyrics under the bass for its figures where the score has no
// others and every syllable is one; it is how figures are typed in programs without figured
// bass, a verse for each row.
func readSungFigures(doc *musicxml.Document, t *theory.Texture) *sungFigures {
	s := &sungFigures{}
	voices := t.WithoutExtra().Voices
	if len(voices) == 0 || len(doc.Score.Figures) > 0 {
		return s
	}
	bass := &voices[len(voices)-1]
	for _, sung := range doc.Syllables(bass.Part) {
		n := &doc.Score.Notes[sung.Note]
		text := strings.Join(sung.Texts, "/")
		stacks, err := voicing.ParseStacks(text)
		under := noteAt(bass, n.Onset)
		if err != nil || under == nil {
			if s.foreign == "" {
				s.foreign, s.measure = text, n.Measure
			}
			continue
		}
		onset := n.Onset
		each := under.End().Sub(onset).Mul(theory.Frac(1, int64(len(stacks))))
		for _, stack := range stacks {
			f := theory.GivenFigures{Onset: onset, Duration: each, Part: bass.Part, Measure: int(n.Measure), Figures: stack.Figures}
			if stack.Holds {
				f.Figures = []theory.Figure{{Extends: true}}
			}
			s.figures, onset = append(s.figures, f), onset.Add(each)
		}
	}
	if s.all() {
		slices.SortStableFunc(s.figures, func(a, b theory.GivenFigures) int { return a.Onset.Cmp(b.Onset) })
		doc.Score.Figures, t.Score.Figures = s.figures, s.figures // one score, or two copies of it
	}
	return s
}

// say says that lyrics were read as figures, or that some syllables only are.
func (s *sungFigures) say(score *theory.Score, catalog *partwriting.Catalog) []string {
	switch {
	case s.all():
		return []string{catalog.Phrase(partwriting.SungFigures)}
	case len(s.figures) > 0:
		return []string{catalog.Phrase(partwriting.NoSungFigures, "syllable", s.foreign, "measure", score.Measures[s.measure].Label)}
	}
	return nil
}
