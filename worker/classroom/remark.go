package classroom

import (
	"partwright/musicxml"
	"partwright/theory"
)

// Remarked is a marked score with the teacher's own remarks of an outcome above the music,
// each at its place and with what it costs. Without remarks, or without a score, it is the
// score.
func (a *Assignment) Remarked(score []byte, o *Outcome) ([]byte, error) {
	said := o.remarks()
	if len(said) == 0 || len(score) == 0 {
		return score, nil
	}
	w, err := wordsOf(a.Language)
	if err != nil {
		return nil, err
	}
	d, err := musicxml.Read("the marked score", score, musicxml.Limits{})
	if err != nil {
		return nil, err
	}
	all := make([]musicxml.Remark, len(said))
	for i := range said {
		r := &said[i]
		text := w.say("teacher-says", "text", r.Text)
		if r.Points > 0 {
			text += " (−" + r.Points.String() + ")"
		}
		all[i] = musicxml.Remark{Measure: r.Measure, Text: text}
		// Whatever else is written there is no beat, and the start of the measure is meant.
		if beat, err := theory.ParseFraction(r.Beat); err == nil {
			all[i].Beat = beat
		}
	}
	return d.Remark(all)
}
