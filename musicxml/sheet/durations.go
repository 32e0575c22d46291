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
	// triplet is set where three stand in the time of two.
	triplet bool
}

// values are the plain and dotted note values, longest first, named as in the
// note-type-value list of W3C MusicXML 4.0.
var values = func() []value {
	kinds := []string{"breve", "whole", "half", "quarter", "eighth", "16th", "32nd", "64th"}
	var all []value
	for i, k := range kinds {
		plain := theory.Frac(8, 1<<i)
		all = append(all,
			value{kind: k, dots: 1, duration: plain.Mul(theory.Frac(3, 2))},
			value{kind: k, duration: plain})
	}
	return all
}()

// DurationError says that there are no note values for a duration, in quarter notes.
type DurationError struct{ Duration theory.Fraction }

// Error says so.
func (e *DurationError) Error() string {
	return fmt.Sprintf("a duration of %v quarter notes cannot be written in note values or triplets", e.Duration)
}

// values cuts an event into the note values that are tied together. A note that begins off
// the beat and lasts longer than a beat is cut at the next one, in compound metres also one
// that is shorter and goes over it, and what begins within the first half of four beats is
// cut at the third unless it is a half note, plain or dotted, on the second: the beats can be seen
// then, and where a suspension is prepared (Gould, Behind Bars, on ties and beats, from
// memory). Everything else is cut longest first. It fails for durations that only another
// tuplet than a triplet could write.
func (e *event) values(work *theory.Work, m *theory.Measure) ([]value, error) {
	first := e.beforeTie(m)
	if first.Sign() == 0 {
		return split(work, e.duration)
	}
	head, err := split(work, first)
	if err != nil {
		return split(work, e.duration)
	}
	tail := *e
	tail.onset, tail.duration = e.onset.Add(first), e.duration.Sub(first)
	rest, err := tail.values(work, m)
	if err != nil {
		return split(work, e.duration)
	}
	return append(head, rest...), nil
}

// beforeTie is how long a note lasts until it is cut to show the beats, 0 for the whole.
func (e *event) beforeTie(m *theory.Measure) theory.Fraction {
	beat := m.Time.Beat()
	at := e.onset.Sub(m.Onset).Add(m.Into)
	beats := at.Div(beat)
	into := at.Sub(beat.Mul(theory.Whole(beats.Num() / beats.Den())))
	left := beat.Sub(into)
	if first, found := e.beforeTriplet(at, into, left); found {
		return first
	}
	if len(e.pitches) == 0 || m.Time.IsSenzaMisura() {
		return theory.Fraction{}
	}
	if into.Sign() != 0 && left.Less(e.duration) && (beat.Less(e.duration) || m.Time.IsCompound()) {
		return left
	}
	if middle := beat.Mul(theory.Whole(2)); m.Time.Beats == 4 && at.Sign() != 0 && at.Less(middle) && middle.Less(at.Add(e.duration)) &&
		(at != beat || e.duration != middle && e.duration != middle.Add(beat)) {
		return middle.Sub(at)
	}
	return theory.Fraction{}
}

// split cuts a duration into note values, longest first, or those of a triplet. It fails
// for durations that only another tuplet could write.
func split(work *theory.Work, d theory.Fraction) ([]value, error) {
	if third(d) {
		return asTriplet(work, d)
	}
	var out []value
	whole := d
	for _, v := range values {
		for !d.Less(v.duration) {
			work.Step(1)
			out = append(out, v)
			d = d.Sub(v.duration)
		}
	}
	if d.Sign() != 0 {
		return nil, &DurationError{whole}
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
