package voicing

import (
	"fmt"
	"slices"

	"partwright/theory"
)

// bar is a bar line of a text: behind so many words that stand for chords or notes, at an onset.
type bar struct {
	words int
	at    theory.Fraction
	line  int
	// double is set for the end of a phrase, which may stand within a measure.
	double bool
}

// bar takes in a bar line. One before everything says nothing.
func (r *rowReader) bar(double bool) {
	if r.words > 0 {
		r.bars = append(r.bars, bar{r.words, r.at, r.line, double})
	}
}

// last reports whether nothing stands behind a bar line: the last measure may be short.
func (r *rowReader) last(b bar) bool { return b.words == r.words }

// measures finds out what the bar lines of a text say, once all of it is read. As a rule they
// stand where the measures end that its durations make, the first perhaps behind a pickup. In a text
// that writes no durations they may tell them instead, as in chord charts: what stands between two of them
// fills a measure in equal parts. Then lengths has the duration of each word.
func (r *rowReader) measures() (pickup theory.Fraction, lengths []theory.Fraction, err error) {
	first := slices.IndexFunc(r.bars, func(b bar) bool { return !b.double })
	if first < 0 {
		return theory.Fraction{}, nil, nil
	}
	full := r.progression.Layout.time().Measure()
	if at := r.bars[first].at; at.Less(full) {
		pickup = at
	}
	wrong := r.misplaced(pickup)
	if !r.timed && (wrong != nil || pickup.Sign() > 0 && r.at.Sub(pickup).Less(full)) {
		if lengths, err = r.spread(full); err == nil || wrong != nil {
			return theory.Fraction{}, lengths, err
		}
	}
	return pickup, nil, wrong
}

// misplaced is the error of the first bar line that does not stand where a measure ends.
func (r *rowReader) misplaced(pickup theory.Fraction) error {
	time := r.progression.Layout.time()
	from := theory.Fraction{}
	for i, b := range r.bars {
		length := b.at.Sub(from)
		whole := length == time.Measure() || from.Sign() == 0 && length == pickup
		switch {
		case b.double && !whole:
			continue
		case !whole && !(r.last(b) && length.Less(time.Measure())):
			return &ProgressionError{b.line, fmt.Sprintf("bar line %d comes %s beats after the one before or the beginning, where a measure of %v has %s; "+
				"write durations that fill the measures, such as *2 for two beats, or leave the bar lines out",
				i+1, length.Div(time.Beat()), time, time.Measure().Div(time.Beat()))}
		}
		from = b.at
	}
	return nil
}

// spread are the durations of words that fill the measures between bar lines in equal parts.
func (r *rowReader) spread(full theory.Fraction) ([]theory.Fraction, error) {
	time := r.progression.Layout.time()
	bars := r.bars
	if !r.last(bars[len(bars)-1]) {
		bars = append(slices.Clip(bars), bar{words: r.words, at: r.at, line: r.line})
	}
	var lengths []theory.Fraction
	for i, b := range bars {
		words := b.words - len(lengths)
		if words == 0 {
			continue // two bar lines in a row
		}
		each := full.Mul(theory.Frac(1, int64(words)))
		if beats := each.Div(time.Beat()); beats.Den() != 1 {
			return nil, &ProgressionError{b.line, fmt.Sprintf("measure %d has %d chords or notes for its %s beats of %v; write how long they last, such as *2 for two beats",
				i+1, words, full.Div(time.Beat()), time)}
		}
		for range words {
			lengths = append(lengths, each)
		}
	}
	return lengths, nil
}
