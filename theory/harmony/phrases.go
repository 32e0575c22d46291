package harmony

import "partwright/theory"

// findPhrases divides a texture at its points of rest: fermatas, double bars and
// repeats, breath marks, rests of all voices.
func findPhrases(t *theory.Texture) []Phrase {
	if len(t.Moments) == 0 {
		return nil
	}
	evidence := make([]PhraseEvidence, len(t.Moments)+1)
	evidence[len(t.Moments)] = ByEndOfPiece
	markNotes(t, evidence)
	markBars(t, evidence)
	markRests(t, evidence)
	var out []Phrase
	first := 0
	for end := 1; end <= len(t.Moments); end++ {
		if evidence[end] == 0 {
			continue
		}
		p := Phrase{Onset: t.Moments[first].Onset, FirstMoment: first, EndMoment: end, Evidence: evidence[end]}
		if end < len(t.Moments) {
			p.End = t.Moments[end].Onset
		} else {
			p.End = soundingEnd(t)
		}
		out = append(out, p)
		first = end
	}
	return out
}

// soundingEnd is where the last note ends.
func soundingEnd(t *theory.Texture) theory.Fraction {
	end := theory.Fraction{}
	for v := range t.Voices {
		if notes := t.Voices[v].Notes; len(notes) > 0 {
			if e := notes[len(notes)-1].End(); end.Less(e) {
				end = e
			}
		}
	}
	return end
}

// markNotes follows fermatas and breath marks, from the top voice that has one:
// the phrase ends with that note.
func markNotes(t *theory.Texture, evidence []PhraseEvidence) {
	ended := theory.Fraction{}
	for m := range t.Moments {
		for v := range t.Voices {
			note := t.Sounding(m, v)
			if note == nil || !t.IsStruck(m, v) || !note.Flags.Any(theory.Fermata|theory.Breath) {
				continue
			}
			if note.Onset.Less(ended) {
				continue // another voice under the same fermata
			}
			ended = note.End()
			mark := ByBreath
			if note.Flags.Has(theory.Fermata) {
				mark = ByFermata
			}
			evidence[momentAt(t, m, ended)] |= mark
		}
	}
}

// momentAt returns the first moment from m on at or after an onset.
func momentAt(t *theory.Texture, m int, onset theory.Fraction) int {
	for m < len(t.Moments) && t.Moments[m].Onset.Less(onset) {
		m++
	}
	return m
}

func markBars(t *theory.Texture, evidence []PhraseEvidence) {
	m := 0
	for i := range t.Score.Measures {
		measure := &t.Score.Measures[i]
		m = momentAt(t, m, measure.Onset.Add(measure.Length))
		if measure.PhraseBar && m > 0 {
			evidence[m] |= ByBarLine
		}
	}
}

// markRests finds silences of at least a beat in all voices.
func markRests(t *theory.Texture, evidence []PhraseEvidence) {
	sounding := theory.Fraction{}
	for m := range t.Moments {
		moment := &t.Moments[m]
		if m > 0 && !moment.Onset.Sub(sounding).Less(t.Score.Measures[moment.Measure].Time.Beat()) {
			evidence[m] |= ByRest
		}
		for v := range t.Voices {
			if note := t.Sounding(m, v); note != nil && sounding.Less(note.End()) {
				sounding = note.End()
			}
		}
	}
}

// evidenceWords name the marks in the order of their bits.
var evidenceWords = []string{"fermata", "bar-line", "breath", "rest", "lyric", "long-note", "end"}

// Words lists the marks in kebab case: fermata, bar-line, breath, rest, lyric,
// long-note, end.
func (e PhraseEvidence) Words() []string {
	var out []string
	for i, word := range evidenceWords {
		if e>>uint(i)&1 == 1 {
			out = append(out, word)
		}
	}
	return out
}
