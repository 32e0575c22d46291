package harmony

import (
	"slices"
	"sort"

	"partwright/theory"
)

// findPhrases divides a texture at its points of rest: fermatas, double bars and
// repeats, breath marks, rests of all voices, sentences that end in the words,
// and, in a score without fermatas, places where all voices stand still.
func findPhrases(t *theory.Texture) []Phrase {
	if len(t.Moments) == 0 {
		return nil
	}
	evidence := make([]PhraseEvidence, len(t.Moments)+1)
	evidence[len(t.Moments)] = ByEndOfPiece
	markNotes(t, evidence)
	markBars(t, evidence)
	markRests(t, evidence)
	markSentences(t, evidence)
	markStandstills(t, evidence)
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
	return m + sort.Search(len(t.Moments)-m, func(i int) bool { return !t.Moments[m+i].Onset.Less(onset) })
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

// markSentences finds full stops in the words of the top voice that has them,
// under notes of at least a beat.
func markSentences(t *theory.Texture, evidence []PhraseEvidence) {
	for v := range t.Voices {
		sung := false
		for n := range t.Voices[v].Notes {
			note := &t.Voices[v].Notes[n]
			if !note.Flags.Any(theory.LyricStop | theory.LyricComma) {
				continue
			}
			sung = true
			if note.Flags.Has(theory.LyricStop) && !note.Duration.Less(t.Score.Measures[note.Measure].Time.Beat()) {
				evidence[momentAt(t, 0, note.End())] |= ByLyric
			}
		}
		if sung {
			return
		}
	}
}

// markStandstills finds places where no voice moves for two beats or more and
// three times as long as usual. Common practice, no source.
func markStandstills(t *theory.Texture, evidence []PhraseEvidence) {
	for _, e := range evidence {
		if e.Has(ByFermata) {
			return
		}
	}
	gaps := make([]theory.Fraction, 0, len(t.Moments))
	for m := 1; m < len(t.Moments); m++ {
		gaps = append(gaps, t.Moments[m].Onset.Sub(t.Moments[m-1].Onset))
	}
	if len(gaps) == 0 {
		return
	}
	sorted := slices.Clone(gaps)
	slices.SortFunc(sorted, theory.Fraction.Cmp)
	usual := sorted[len(sorted)/2]
	for i, gap := range gaps {
		beat := t.Score.Measures[t.Moments[i].Measure].Time.Beat()
		if !gap.Less(beat.Mul(theory.Whole(2))) && !gap.Less(usual.Mul(theory.Whole(3))) {
			evidence[i+1] |= ByLongNote
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
