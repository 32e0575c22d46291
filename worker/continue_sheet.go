package worker

import (
	"fmt"
	"strings"

	"partwright/musicxml/sheet"
	"partwright/theory"
	"partwright/theory/harmony"
	"partwright/theory/voicing"
	"partwright/worker/answer"
	"partwright/worker/report"
)

// addWays adds the sheet of ways to an answer: a measure for each option, the sonority and
// where it goes, with the number of the option and the rules that it breaks over it. Each
// measure stands by itself. Without options there is no sheet.
func addWays(a *answer.Answer, q *voicing.Question, options []voicing.Option, withIDs bool) error {
	if len(options) == 0 {
		return nil
	}
	s := voicing.Solution{}
	layout := voicing.Layout{}
	for i := range options {
		s.Chords = append(s.Chords, q.From, voicing.Chord{Reading: q.To, Pitches: options[i].Pitches, PhraseEnd: q.Ends})
		layout.Durations = append(layout.Durations, theory.Whole(2), theory.Whole(2))
	}
	texture := s.Texture(&q.Style, layout)
	page := sheet.Sheet{Texture: texture, Staves: sheet.Closed(texture), Above: numbered(options, texture.Score)}
	if q.Style.MaxSpan > 0 {
		page.Staves = sheet.Keyboard(texture)
	}
	page.Staves[len(page.Staves)-1].Numerals = inEach(q, texture.Score)
	if withIDs {
		page.IDs = &sheet.IDs{}
	}
	score, err := writeSheet(&page)
	if err != nil {
		return err
	}
	a.AddScore(answer.Ways, 0, score)
	if withIDs {
		nameNotes(a.Report.(*report.Continuation), page.IDs, len(q.Style.Voices))
	}
	return nil
}

// numbered says over each measure which option it shows, and which rules that breaks.
func numbered(options []voicing.Option, s *theory.Score) []sheet.Label {
	labels := make([]sheet.Label, len(options))
	for i := range options {
		words := []string{fmt.Sprint(i + 1)}
		for _, f := range options[i].Findings {
			words = append(words, string(f.Rule))
		}
		labels[i] = sheet.Label{Onset: s.Measures[i].Onset, Text: strings.Join(words, "\n")}
	}
	return labels
}

// inEach names both chords in every measure.
func inEach(q *voicing.Question, s *theory.Score) (all []harmony.Harmony) {
	for i := range s.Measures {
		onset := s.Measures[i].Onset
		middle := onset.Add(theory.Whole(2))
		all = append(all,
			harmony.Harmony{Reading: q.From.Reading, Onset: onset, End: middle},
			harmony.Harmony{Reading: q.To, Onset: middle, End: middle.Add(theory.Whole(2))})
	}
	return all
}

// nameNotes tells each option the ids of its notes.
func nameNotes(r *report.Continuation, ids *sheet.IDs, voices int) {
	for g := range r.Groups {
		for i := range r.Groups[g].Options {
			o := &r.Groups[g].Options[i]
			for v := range voices {
				o.FromIDs = append(o.FromIDs, ids.Note(v, 2*o.Number-2)...)
				o.IDs = append(o.IDs, ids.Note(v, 2*o.Number-1)...)
			}
		}
	}
}
