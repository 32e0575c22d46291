package sheet

import (
	"github.com/beevik/etree"

	"partwright/theory"
)

// third reports whether a time divides a quarter note by three.
func third(f theory.Fraction) bool { return f.Den()%3 == 0 }

// asTriplet cuts a duration that divides a quarter by three into the note values of a
// triplet, three in the time of two.
func asTriplet(work *theory.Work, d theory.Fraction) ([]value, error) {
	written := d.Mul(theory.Frac(3, 2))
	if third(written) {
		return nil, &DurationError{d}
	}
	out, err := split(work, written)
	if err != nil {
		return nil, &DurationError{d}
	}
	for i := range out {
		out[i].triplet = true
		out[i].duration = out[i].duration.Mul(theory.Frac(2, 3))
	}
	return out, nil
}

// beforeTriplet is how long a note lasts that begins or ends within a triplet until it is
// cut, so that triplets fill a beat, or two with quarters and halves; found is false where no
// triplet is in the way.
func (e *event) beforeTriplet(at, into, left theory.Fraction) (first theory.Fraction, found bool) {
	if !third(into) && !third(e.duration) {
		return theory.Fraction{}, false
	}
	wide, two := theory.Frac(2, 3), theory.Whole(2)
	within := at.Sub(two.Mul(theory.Whole(at.Div(two).Num() / at.Div(two).Den())))
	switch whole := theory.Whole(e.duration.Num() / e.duration.Den()); {
	case within.Div(wide).Den() == 1 && e.duration.Div(wide).Den() == 1 && !two.Less(within.Add(e.duration)):
		return theory.Fraction{}, true
	case third(into) && left.Less(e.duration):
		return left, true
	case !third(into) && whole.Sign() > 0:
		return whole, true
	}
	return theory.Fraction{}, true
}

// triplets are, by onset, where the brackets of a layer's triplets start and stop, in the
// words of the start-stop list of W3C MusicXML 4.0.
func triplets(work *theory.Work, layer []event, m *theory.Measure) map[theory.Fraction]string {
	out := map[theory.Fraction]string{}
	heads := headsOf(work, layer, m)
	for first := 0; first < len(heads); first++ {
		if !heads[first].triplet {
			continue
		}
		last, sum := first, heads[first].duration
		for third(sum) && last+1 < len(heads) && heads[last+1].triplet {
			last++
			sum = sum.Add(heads[last].duration)
		}
		if last > first {
			out[heads[first].onset], out[heads[last].onset] = "start", "stop"
		}
		first = last
	}
	return out
}

// modification says that a note value is one of three in the time of two.
func modification(n *etree.Element) {
	e := n.CreateElement("time-modification")
	number(e, "actual-notes", 3)
	number(e, "normal-notes", 2)
}
