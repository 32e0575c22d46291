package sheet

import (
	"fmt"

	"partwright/theory"
)

// value is a note value that can be written with one note head.
type value struct {
	kind     string
	dots     int
	duration theory.Fraction
}

// values are the plain and dotted note values, longest first, named as in the
// note-type-value list of W3C MusicXML 4.0.
var values = func() []value {
	kinds := []string{"breve", "whole", "half", "quarter", "eighth", "16th", "32nd", "64th"}
	var all []value
	for i, k := range kinds {
		plain := theory.Frac(8, 1<<i)
		all = append(all,
			value{k, 1, plain.Mul(theory.Frac(3, 2))},
			value{k, 0, plain})
	}
	return all
}()

// DurationError says that there are no note values for a duration, of which Rest is left
// over, in quarter notes.
type DurationError struct{ Rest theory.Fraction }

// Error says so.
func (e *DurationError) Error() string {
	return fmt.Sprintf("a duration of %v quarter notes cannot be written without tuplets", e.Rest)
}

// values cuts an event into the note values that are tied together. A note that begins off
// the beat and lasts longer than a beat is cut at the next one, in compound metres also one
// that is shorter and goes over it, so that the beats can be seen (Gould, Behind Bars, on ties
// and beats, from memory). Everything else is cut longest first. It fails for durations that
// only a tuplet could write.
func (e *event) values(work *theory.Work, m *theory.Measure) ([]value, error) {
	beat := m.Time.Beat()
	into := e.onset.Sub(m.Onset).Add(m.Into)
	into = into.Sub(beat.Mul(theory.Whole(into.Div(beat).Num() / into.Div(beat).Den())))
	left := beat.Sub(into)
	if into.Sign() == 0 || len(e.pitches) == 0 || !left.Less(e.duration) || !beat.Less(e.duration) && !m.Time.IsCompound() {
		return split(work, e.duration)
	}
	first, err := split(work, left)
	if err != nil {
		return split(work, e.duration)
	}
	rest, err := split(work, e.duration.Sub(left))
	if err != nil {
		return split(work, e.duration)
	}
	return append(first, rest...), nil
}

// split cuts a duration into note values, longest first. It fails for durations
// that only a tuplet could write.
func split(work *theory.Work, d theory.Fraction) ([]value, error) {
	var out []value
	for _, v := range values {
		for !d.Less(v.duration) {
			work.Step(1)
			out = append(out, v)
			d = d.Sub(v.duration)
		}
	}
	if d.Sign() != 0 {
		return nil, &DurationError{d}
	}
	return out, nil
}

// divisions returns how many parts a quarter note needs for all onsets and ends
// to fall on whole ones.
func divisions(textures ...*theory.Texture) int64 {
	common := int64(16) // a 64th note is written with divisions of 16
	grow := func(f theory.Fraction) {
		a, b := common, f.Den()
		for b != 0 {
			a, b = b, a%b
		}
		common *= f.Den() / a
	}
	for _, t := range textures {
		for v := range t.Voices {
			for i := range t.Voices[v].Notes {
				grow(t.Voices[v].Notes[i].Onset)
				grow(t.Voices[v].Notes[i].Duration)
			}
		}
		for i := range t.Score.Measures {
			grow(t.Score.Measures[i].Length)
		}
	}
	return common
}
