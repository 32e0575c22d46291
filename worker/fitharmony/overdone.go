package main

import (
	"fmt"
	"io"
	"math"

	"partwright/theory/harmony"
	"partwright/theory/harmony/tune"
)

// overdone counts what harmonizations easily have more of than people have, in the key of the
// phrase, for each beat that they chose a chord for.
type overdone struct {
	times map[string]int
	beats int
}

// beatLine is the chord of a phrase at each beat; chords are those that are not the one before.
type beatLine struct {
	phrase        *tune.Example
	beats, chords []harmony.Numeral
}

func newBeatLine(p *tune.Example, readings []harmony.Reading) *beatLine {
	l := &beatLine{phrase: p}
	for i, r := range readings {
		n := tune.In(p.Key, r)
		n.Cadential = false
		if l.beats = append(l.beats, n); i == 0 || n != l.beats[i-1] {
			l.chords = append(l.chords, n)
		}
	}
	return l
}

// beatKinds and chordKinds are what is counted at a beat, and at a chord that is not the one before.
var beatKinds = []struct {
	name string
	at   func(l *beatLine, i int) bool
}{
	{"tonic stays before the end", func(l *beatLine, i int) bool {
		return i > 0 && i < len(l.beats)-1 && l.beats[i] == l.beats[i-1] && isTonic(l.beats[i])
	}},
	{"third tonic in a row", func(l *beatLine, i int) bool {
		return i > 1 && isTonic(l.beats[i]) && isTonic(l.beats[i-1]) && isTonic(l.beats[i-2])
	}},
	{"chord stays, the tune moves", func(l *beatLine, i int) bool {
		return i > 0 && l.beats[i] == l.beats[i-1] && l.phrase.Notes[i].Pitch != l.phrase.Notes[i-1].Pitch
	}},
	{"note in five beats, three roots", (*beatLine).stands},
}

var chordKinds = []struct {
	name string
	at   func(l *beatLine, i int) bool
}{
	{"I in root position", func(l *beatLine, i int) bool { return isTonic(l.chords[i]) && l.chords[i].Inversion == 0 }},
	{"IV6", func(l *beatLine, i int) bool { return is(l.chords[i], 4, 1) }},
	{"I, IV6", func(l *beatLine, i int) bool { return l.after(i, 1, isTonic) && is(l.chords[i], 4, 1) }},
	{"V, IV6", func(l *beatLine, i int) bool { return l.after(i, 1, leads) && is(l.chords[i], 4, 1) }},
	{"IV6, I", func(l *beatLine, i int) bool { return l.after(i, 1, on(4, 1)) && isTonic(l.chords[i]) }},
	{"I, IV, I", func(l *beatLine, i int) bool {
		return l.after(i, 2, isTonic) && l.after(i, 1, on(4)) && isTonic(l.chords[i])
	}},
	{"I, V, I", func(l *beatLine, i int) bool {
		return l.after(i, 2, isTonic) && l.after(i, 1, leads) && isTonic(l.chords[i])
	}},
	{"I, vi, V", func(l *beatLine, i int) bool {
		return l.after(i, 2, isTonic) && l.after(i, 1, on(6)) && leads(l.chords[i])
	}},
	{"vi, V6", func(l *beatLine, i int) bool { return l.after(i, 1, on(6)) && is(l.chords[i], 5, 1) }},
	{"V, IV or ii", func(l *beatLine, i int) bool {
		return l.after(i, 1, on(5)) && (is(l.chords[i], 4, 0) || is(l.chords[i], 2))
	}},
	{"V/IV, IV, I", func(l *beatLine, i int) bool {
		return l.after(i, 2, func(n harmony.Numeral) bool { return n.IsApplied() && n.Of.Degree == 4 }) && l.after(i, 1, on(4)) && isTonic(l.chords[i])
	}},
	{"chord returns after one other", func(l *beatLine, i int) bool { return i > 1 && l.chords[i] == l.chords[i-2] }},
	{"root position again within five", func(l *beatLine, i int) bool { return l.chords[i].Inversion == 0 && l.again(i) }},
	{"inversion again within five", func(l *beatLine, i int) bool { return l.chords[i].Inversion > 0 && l.again(i) }},
}

func (o *overdone) add(p *tune.Example, readings []harmony.Reading) {
	l := newBeatLine(p, readings)
	o.beats += len(l.beats)
	for i := range l.beats {
		for _, kind := range beatKinds {
			if kind.at(l, i) {
				o.times[kind.name]++
			}
		}
	}
	for i := range l.chords {
		for _, kind := range chordKinds {
			if kind.at(l, i) {
				o.times[kind.name]++
			}
		}
	}
}

// compare prints how often each is in 100 beats, beside those of published analyses.
func (o *overdone) compare(w io.Writer, published *overdone) {
	row := func(name string) {
		a, b := float64(published.times[name]), float64(o.times[name])
		fmt.Fprintf(w, "in 100 beats: %-32s published %5.2f, ours %5.2f, factor %.1f\n", name,
			100*a/float64(max(published.beats, 1)), 100*b/float64(max(o.beats, 1)), b*float64(published.beats)/math.Max(a*float64(o.beats), 1))
	}
	for _, kind := range beatKinds {
		row(kind.name)
	}
	for _, kind := range chordKinds {
		row(kind.name)
	}
}

func is(n harmony.Numeral, degree int, inversions ...int) bool {
	if n.IsApplied() || int(n.Degree) != degree || n.Alter != 0 {
		return false
	}
	return len(inversions) == 0 || int(n.Inversion) == inversions[0]
}

func on(degree int, inversions ...int) func(harmony.Numeral) bool {
	return func(n harmony.Numeral) bool { return is(n, degree, inversions...) }
}

// isTonic leaves out the six-four, which stands for the dominant.
func isTonic(n harmony.Numeral) bool { return n.IsTonic() && n.Inversion != 2 }

// leads reports whether a chord is a dominant of the key.
func leads(n harmony.Numeral) bool { return (is(n, 5) || is(n, 7)) && n.IsDominant() }

// after reports whether the chord so many before another is of a kind.
func (l *beatLine) after(i, back int, kind func(harmony.Numeral) bool) bool {
	return i >= back && kind(l.chords[i-back])
}

// again reports whether a chord was one of the four before the last.
func (l *beatLine) again(i int) bool {
	for k := max(0, i-5); k < i-1; k++ {
		if l.chords[k] == l.chords[i] {
			return true
		}
	}
	return false
}

// stands reports whether five chords have a note in common while roots change three times.
func (l *beatLine) stands(i int) bool {
	if i < 4 {
		return false
	}
	common, changes := ^uint64(0), 0
	for k := i - 4; k <= i; k++ {
		r := harmony.Reading{Key: l.phrase.Key, Numeral: l.beats[k]}
		notes := uint64(0)
		for m := range r.Size() {
			notes |= 1 << ((r.Member(m).Fifths() + 32) & 63)
		}
		common &= notes
		if k > i-4 && l.beats[k].Root(l.phrase.Key) != l.beats[k-1].Root(l.phrase.Key) {
			changes++
		}
	}
	return common != 0 && changes >= 3
}
